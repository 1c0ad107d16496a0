/** A limit on sensed acceleration: against closed forms without air, and against its own definition in air. */
import { describe, expect, it } from 'vitest';
import { G0_mps2 } from '../../../core/constants/physical.ts';
import type { Study } from '../../../core/contract/study.ts';
import { compileStudy, PAYLOAD, startValues } from '../../../core/flight/compile.ts';
import { RECORD_ACCURACY } from '../../../core/flight/accuracy.ts';
import { FlightEngine } from '../../../core/flight/engine.ts';
import { launchFrame } from '../../../core/flight/launch.ts';
import { AZIMUTH } from '../../../core/flight/compile.ts';
import { recordFlight, type FlightRecord } from '../../../core/flight/record.ts';
import { TrackReader } from '../../../core/flight/track.ts';
import { solvePayload } from '../../../core/solve/payload.ts';
import { engines, event, happening, logged, r1, sounding } from './studies.ts';

const A_mps2 = 25;
const hold = (body: string, acceleration_mps2 = A_mps2): Study['sequence']['events'][number] =>
  happening(
    `cap-${body}`,
    { kind: 'time', time_s: 1 },
    { kind: 'hold', body, limit: { kind: 'sensedAcceleration', acceleration_mps2 } },
  );

/** One body without air, 20 t with 14 t of propellant and 300 kN, limited from 1 s on. */
function capped(change: (study: Study) => void = () => undefined): Study {
  return sounding({ kind: 'vertical' }, (study) => {
    study.sequence.events.splice(3, 0, hold('body'));
    change(study);
  });
}

function fly(study: Study): FlightRecord {
  const compiled = compileStudy(study);
  return recordFlight(compiled, startValues(compiled));
}

const THRUST_N = 3e5;
const EXHAUST_mps = 300 * G0_mps2;
const FLOW_kgps = THRUST_N / EXHAUST_mps;

/** R1 whose engines may throttle, limited to 25 m/s² on the booster and 20 on the upper stage. */
function cappedR1(least = 0.3, change: (study: Study) => void = () => undefined): Study {
  return r1((study) => {
    for (const body of Object.values(study.vehicle.bodies)) {
      for (const group of Object.values(body.engineGroups)) group.throttle = { least, most: 1 };
    }
    study.sequence.events.splice(3, 0, hold('booster'));
    study.sequence.events.push({
      ...hold('upper', 20),
      trigger: { kind: 'after', events: ['ignition'], delay_s: 5 },
    });
    change(study);
  });
}

function observeAll(study: Study): {
  record: FlightRecord;
  seen: { mode: string; sensed_mps2: number; limit_mps2: number }[];
} {
  const compiled = compileStudy(study);
  const record = recordFlight(compiled, startValues(compiled));
  const frame = launchFrame(compiled.site, record.values[AZIMUTH]!);
  const flown = { ...compiled, plan: record.plan };
  const reader = new TrackReader(flown, record.tracks[0]!, record.values, frame);
  const seen = record.tracks[0]!.segments.flatMap((segment) => {
    const { hold: span } = segment;
    if (span === undefined) return [];
    return Array.from({ length: 50 }, (_, i) => {
      const t = segment.start_s + ((i + 0.5) / 50) * (segment.end_s - segment.start_s);
      return { mode: span.mode, sensed_mps2: reader.at(t).sensed_mps2, limit_mps2: span.limit_mps2 };
    });
  });
  return { record, seen };
}

describe('a limit on acceleration without air', () => {
  it('lets mass decay exponentially from where the limit is reached, and burn out when it must', () => {
    const record = fly(capped());
    const begins_kg = THRUST_N / A_mps2;
    const begins_s = (20_000 - begins_kg) / FLOW_kgps;
    const ends_s = begins_s + (EXHAUST_mps / A_mps2) * Math.log(begins_kg / 6000);
    const begin = logged(record, 'cap-body-turn-1');
    const end = logged(record, 'off');
    const worst = [
      begin.time_s - begins_s,
      begin.after.mass_kg - begins_kg,
      end.time_s - ends_s,
      end.before.mass_kg - 6000,
    ].map(Math.abs);
    console.log(`hold without air: worst deviation ${Math.max(...worst).toExponential(1)} (s, kg)`);
    // Saved propellant is integrated to 1e-4 kg a step at worst, and comes out a hundred times better.
    expect(Math.max(...worst)).toBeLessThan(1e-5);
    expect(end.before.thrust_N).toBeCloseTo(6000 * A_mps2, 3);
    // Ideal velocity: at full thrust by the rocket equation, then the limit times time.
    const ideal = EXHAUST_mps * Math.log(20_000 / begins_kg) + A_mps2 * (ends_s - begins_s);
    expect(record.ledger!.ideal_mps).toBeCloseTo(ideal, 4);
    expect(Math.abs(record.ledger!.closure_mps)).toBeLessThan(1e-6);
  });

  it('leaves just the reserves after a tail-off at the throttle that it came to', () => {
    const record = fly(
      capped((study) => {
        const { body } = study.vehicle.bodies;
        body!.engineGroups['main']!.shutDown = { delay_s: 0.2, ramp_s: 0.8 };
        body!.propellant!.flightReserve_kg = 500;
      }),
    );
    const insertion = logged(record, 'insertion');
    expect(insertion.before.mass_kg).toBeCloseTo(6500, 6);
    const cut = logged(record, 'off');
    // Cut at share φ: φ · flow · (delay + ramp / 2) is still burned.
    const share = cut.before.thrust_N / THRUST_N;
    expect(cut.before.mass_kg - insertion.before.mass_kg).toBeCloseTo(share * FLOW_kgps * 0.6, 6);
  });

  it('stays at the lower end of the range, says so, and exceeds the limit from there', () => {
    const record = fly(
      capped((study) => (study.vehicle.bodies['body']!.engineGroups['main']!.throttle.least = 0.8)),
    );
    const lowest = logged(record, 'cap-body-turn-2');
    expect(lowest.trigger).toMatch(/less than the range/);
    expect(lowest.after.mass_kg).toBeCloseTo((0.8 * THRUST_N) / A_mps2, 4);
    const end = logged(record, 'off');
    expect(end.time_s).toBeCloseTo(lowest.time_s + (lowest.after.mass_kg - 6000) / (0.8 * FLOW_kgps), 6);
    expect(end.before.sensed_mps2).toBeCloseTo((0.8 * THRUST_N) / 6000, 6);
  });

  it('cannot hold with engines that cannot throttle', () => {
    const record = fly(
      capped(
        (study) => (study.vehicle.bodies['body']!.engineGroups['main']!.throttle = { least: 1, most: 1 }),
      ),
    );
    expect(logged(record, 'off').time_s).toBeCloseTo(14_000 / FLOW_kgps, 9);
    expect(logged(record, 'cap-body-turn-1').name).toMatch(/lower end/);
  });

  it('throttles at once when it is put in force too late, and goes back to full when it ends', () => {
    const record = fly(
      capped((study) => {
        event(study, 'cap-body').trigger = { kind: 'time', time_s: 100 };
        study.sequence.events.push(
          happening('free', { kind: 'time', time_s: 110 }, { kind: 'endHold', hold: 'cap-body' }),
        );
      }),
    );
    const put = logged(record, 'cap-body');
    expect(put.before.sensed_mps2).toBeGreaterThan(A_mps2);
    expect(put.after.sensed_mps2).toBeCloseTo(A_mps2, 9);
    const free = logged(record, 'free');
    expect(free.before.sensed_mps2).toBeCloseTo(A_mps2, 9);
    expect(free.after.thrust_N).toBeCloseTo(THRUST_N, 6);
    const mass_kg = (20_000 - 100 * FLOW_kgps) * Math.exp((-10 * A_mps2) / EXHAUST_mps);
    expect(free.after.mass_kg).toBeCloseTo(mass_kg, 6);
  });

  it('throttles one group for all, within the narrowest range', () => {
    const record = fly(
      capped((study) => {
        const { body } = study.vehicle.bodies;
        body!.engineGroups = {
          main: engines({ thrustVacuum_N: 2e5 }),
          steady: engines({ thrustVacuum_N: 1e5, throttle: { least: 1, most: 1 } }),
        };
        study.sequence.events.unshift(
          happening(
            'too',
            { kind: 'time', time_s: 0 },
            { kind: 'light', body: 'body', group: 'steady', throttle: 1 },
          ),
        );
        const { action } = event(study, 'cap-body');
        if (action.kind === 'hold') action.groups = ['main'];
      }),
    );
    const end = logged(record, 'off');
    expect(end.before.sensed_mps2).toBeCloseTo(A_mps2, 9);
    expect(end.before.mass_kg).toBeCloseTo(6000, 4);
  });
});

describe('limits in air', () => {
  it('are met all along, on both stages', () => {
    const { record, seen } = observeAll(cappedR1());
    expect(record.status.code).toBe('flown');
    const held = seen.filter(({ mode }) => mode === 'holding');
    expect(held.length).toBeGreaterThan(99);
    const worst = Math.max(...held.map((now) => Math.abs(now.sensed_mps2 - now.limit_mps2)));
    console.log(`hold in air: worst ${worst.toExponential(1)} m/s² off the limit`);
    // Algebra alone: rounding, and the interpolant's mass in between the steps.
    expect(worst).toBeLessThan(1e-7);
    for (const now of seen) {
      if (now.mode === 'idle') expect(now.sensed_mps2).toBeLessThan(now.limit_mps2);
    }
    expect(Math.abs(record.ledger!.closure_mps)).toBeLessThan(1e-6);
    expect(logged(record, 'meco').before.mass_kg - logged(record, 'meco').after.mass_kg).toBeCloseTo(
      236_000,
      3,
    );
  });

  it('give the same derivatives over held steps as flights flown anew', () => {
    const compiled = compileStudy(cappedR1(0.6));
    const engine = new FlightEngine(compiled, RECORD_ACCURACY);
    const values = startValues(compiled);
    expect(engine.fly(values)).toBe('flown');
    const worst: number[] = [];
    compiled.parameters.forEach((parameter, p) => {
      if (!parameter.free) return;
      const h = 1e-4 * parameter.scale;
      const end = (sign: number, held: boolean): Float64Array => {
        const near = Float64Array.from(values);
        near[p] = near[p]! + sign * h;
        if (held) expect(engine.refly(near, engine.firstSegmentOf(parameter))).toBe(true);
        else expect(engine.fly(near)).toBe('flown');
        return Float64Array.from(engine.end);
      };
      const anew = [end(1, false), end(-1, false)] as const;
      expect(engine.fly(values)).toBe('flown');
      const again = [end(1, true), end(-1, true)] as const;
      for (let i = 0; i < 6; i++) {
        const d = (pair: readonly [Float64Array, Float64Array]): number => (pair[0][i]! - pair[1][i]!) / 2e-4;
        // In km or 10 m/s for a change that matters.
        worst.push(Math.abs(d(anew) - d(again)) / (i < 3 ? 1e3 : 10));
      }
    });
    console.log(`hold: derivatives differ by ${Math.max(...worst).toExponential(1)} km or 10 m/s a scale`);
    // Flights flown anew have steps of their own, good to 1e-11: millimetres over 2e-4 of a scale.
    expect(Math.max(...worst)).toBeLessThan(1e-4);
  });

  it('let the solve converge, for less payload than without', { timeout: 60_000 }, () => {
    const free = solvePayload(compileStudy(r1()));
    const limited = solvePayload(compileStudy(cappedR1()));
    const floored = solvePayload(compileStudy(cappedR1(0.8)));
    for (const each of [limited, floored]) {
      expect(each.status).toBe('converged');
      console.log(`hold: ${each.payload_kg.toFixed(3)} kg, ${JSON.stringify(each.counts)}`);
      expect(each.counts.iterations).toBeLessThan(20);
    }
    expect(limited.payload_kg).toBeLessThan(free.payload_kg);
    const compiled = compileStudy(cappedR1());
    const record = recordFlight(compiled, limited.values);
    // The flight that is shown is finer than the one that was solved: metres.
    expect(record.orbit!.perigeeHeight_m).toBeGreaterThan(cappedR1().target.perigee_m - 20);
    expect(limited.values[PAYLOAD]).toBe(limited.payload_kg);
  });
});
