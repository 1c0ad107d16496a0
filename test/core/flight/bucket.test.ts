/** A throttle bucket whose peak of dynamic pressure is the limit, and events that lead up to what only a flight can find. */
import { describe, expect, it } from 'vitest';
import type { Study } from '../../../core/contract/study.ts';
import { AZIMUTH, compileStudy, startValues, type CompiledStudy } from '../../../core/flight/compile.ts';
import { RECORD_ACCURACY } from '../../../core/flight/accuracy.ts';
import { FlightEngine } from '../../../core/flight/engine.ts';
import { launchFrame } from '../../../core/flight/launch.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { TrackReader } from '../../../core/flight/track.ts';
import { solvePayload } from '../../../core/solve/payload.ts';
import { event, happening, logged, r1, sounding } from './studies.ts';

/** R1 with engines that throttle, and a bucket from 15 kPa rising to four fifths of the limit falling. */
function bucketed(pressure_Pa: number, change: (study: Study) => void = () => undefined, least = 0.4): Study {
  return r1((study) => {
    study.vehicle.bodies['booster']!.engineGroups['main']!.throttle = { least, most: 1 };
    study.sequence.events.splice(
      5,
      0,
      happening(
        'bucket',
        { kind: 'dynamicPressure', pressure_Pa: 15_000, passing: 'rising' },
        { kind: 'hold', body: 'booster', limit: { kind: 'dynamicPressure', pressure_Pa } },
      ),
      happening(
        'bucket-end',
        { kind: 'dynamicPressure', pressure_Pa: 0.8 * pressure_Pa, passing: 'falling' },
        { kind: 'endHold', hold: 'bucket' },
      ),
    );
    change(study);
  });
}

/** Booster limited to 25 m/s² while the upper stage lights two seconds before its cut-off. */
function overlapping(study: Study): void {
  event(study, 'ignition').trigger = { kind: 'gap', cutoff: 'meco', gap_s: -2 };
  study.sequence.events.splice(
    study.sequence.events.findIndex(({ id }) => id === 'meco'),
    0,
    happening(
      'cap',
      { kind: 'time', time_s: 95 },
      { kind: 'hold', body: 'booster', limit: { kind: 'sensedAcceleration', acceleration_mps2: 25 } },
    ),
  );
}

/** Greatest dynamic pressure of a flight before its first cut-off, Pa, looked for every 5 ms and where segments start. */
function greatest_Pa(compiled: CompiledStudy, values = startValues(compiled)): number {
  const record = recordFlight(compiled, values);
  const frame = launchFrame(compiled.site, record.values[AZIMUTH]!);
  const reader = new TrackReader({ ...compiled, plan: record.plan }, record.tracks[0]!, record.values, frame);
  // On an edge of the air the peak has a corner, and there a segment starts.
  const ends_s = logged(record, 'meco').time_s;
  const starts_s = record.plan.segments.map(({ start_s }) => start_s).filter((t) => t < ends_s);
  let most = Math.max(...starts_s.map((t) => reader.at(t).dynamicPressure_Pa));
  for (let t = 20; t < ends_s; t += 0.005) {
    most = Math.max(most, reader.at(t).dynamicPressure_Pa);
  }
  return most;
}

/** Largest difference of derivatives of the end state, anew and over held steps, in km or 10 m/s a scale of a number. */
function worstDerivative(compiled: CompiledStudy): number {
  const engine = new FlightEngine(compiled, RECORD_ACCURACY);
  const values = startValues(compiled);
  let worst = 0;
  compiled.parameters.forEach((parameter, p) => {
    if (!parameter.free) return;
    const end = (sign: number, held: boolean): Float64Array => {
      const near = Float64Array.from(values);
      near[p] = near[p]! + sign * 1e-4 * parameter.scale;
      if (held) expect(engine.refly(near, engine.firstSegmentOf(parameter))).toBe(true);
      else expect(engine.fly(near)).toBe('flown');
      return Float64Array.from(engine.end);
    };
    const anew = [end(1, false), end(-1, false)] as const;
    expect(engine.fly(values)).toBe('flown');
    const again = [end(1, true), end(-1, true)] as const;
    for (let i = 0; i < 6; i++) {
      const off = anew[0][i]! - anew[1][i]! - again[0][i]! + again[1][i]!;
      worst = Math.max(worst, Math.abs(off) / 2e-4 / (i < 3 ? 1e3 : 10));
    }
  });
  return worst;
}

describe('a bucket', () => {
  it('has its peak of dynamic pressure at the limit', () => {
    for (const limit_Pa of [24_000, 28_000, 31_000]) {
      const compiled = compileStudy(bucketed(limit_Pa));
      const most = greatest_Pa(compiled);
      console.log(`bucket: peak ${most.toFixed(6)} Pa for ${limit_Pa}`);
      // Looked for every 5 ms: a parabola's top is missed by 1e-3 Pa at most. The flight closes it to 1e-7 of itself.
      expect(Math.abs(most / limit_Pa - 1)).toBeLessThan(2e-7);
    }
  });

  it('has it there too where the air has no edges', () => {
    const compiled = compileStudy(
      bucketed(20_000, (study) => {
        study.earth.atmosphere = {
          kind: 'exponential',
          seaLevelDensity_kgpm3: 1.225,
          scaleHeight_m: 7200,
          pressure_Pa: 101_325,
          soundSpeed_mps: 320,
        };
      }),
    );
    // As above.
    expect(Math.abs(greatest_Pa(compiled) / 20_000 - 1)).toBeLessThan(2e-7);
  });

  it('leaves the throttle alone where the limit is kept without', () => {
    const compiled = compileStudy(bucketed(40_000));
    const record = recordFlight(compiled, startValues(compiled));
    const plain = compileStudy(r1());
    const other = recordFlight(plain, startValues(plain));
    expect(logged(record, 'bucket-throttle').name).toMatch(/full throttle/);
    expect(logged(record, 'max-q').time_s).toBeCloseTo(logged(other, 'max-q').time_s, 4);
    expect(record.orbit!.semiMajorAxis_m).toBeCloseTo(other.orbit!.semiMajorAxis_m, 1);
  });

  it('stays at the lower end of the range where that is not enough, and says so', () => {
    const compiled = compileStudy(bucketed(24_000, undefined, 0.95));
    const record = recordFlight(compiled, startValues(compiled));
    expect(logged(record, 'bucket-throttle').name).toMatch(/lower end/);
    expect(greatest_Pa(compiled)).toBeGreaterThan(24_100);
  });

  it('has the same derivatives over held steps as flown anew, at an edge of the air and beside it', () => {
    // The peak of 28 kPa lies on the edge at 11 km, where the rate of dynamic pressure jumps.
    for (const [limit_Pa, kick_deg] of [
      [24_000, 1],
      [28_000, 2.27],
    ] as const) {
      const compiled = compileStudy(
        bucketed(limit_Pa, (study) => {
          const { action } = event(study, 'kick');
          if (action.kind === 'steer' && action.law.kind === 'kick') action.law.angle_deg = kick_deg;
        }),
      );
      const worst = worstDerivative(compiled);
      console.log(`bucket at ${limit_Pa} Pa: derivatives differ by ${worst.toExponential(1)}`);
      // Flights flown anew close to 1e-10 of the limit and have steps of their own: centimetres over 2e-4 of a scale.
      expect(worst).toBeLessThan(1e-3);
    }
  });

  it('lets the solve converge, to what it finds without where the limit is kept', { timeout: 60_000 }, () => {
    const free = solvePayload(compileStudy(r1()));
    const idle = solvePayload(compileStudy(bucketed(40_000)));
    const limited = solvePayload(compileStudy(bucketed(28_000)));
    for (const each of [idle, limited]) expect(each.status).toBe('converged');
    // Another flight, cut into other steps: grams.
    expect(Math.abs(idle.payload_kg - free.payload_kg)).toBeLessThan(0.01);
    expect(limited.payload_kg).toBeLessThan(free.payload_kg - 100);
    console.log(`bucket: ${limited.payload_kg.toFixed(3)} kg, ${JSON.stringify(limited.counts)}`);
    const compiled = compileStudy(bucketed(28_000));
    expect(Math.abs(greatest_Pa(compiled, limited.values) / 28_000 - 1)).toBeLessThan(2e-7);
  });
});

describe('an event that leads up to what only a flight can find', () => {
  it('comes that long before an altitude', () => {
    const study = sounding({ kind: 'vertical' }, (own) => {
      own.sequence.events.push(
        happening(
          'down',
          { kind: 'before', event: 'high', lead_s: 20 },
          { kind: 'throttle', body: 'body', group: 'main', level: 0.5 },
        ),
        happening(
          'high',
          { kind: 'altitude', height_m: 30_000, passing: 'rising' },
          { kind: 'throttle', body: 'body', group: 'main', level: 1 },
        ),
      );
    });
    const compiled = compileStudy(study);
    const record = recordFlight(compiled, startValues(compiled));
    const high = logged(record, 'high');
    // The event is located to 1e-13 of the time.
    expect(high.height_m).toBeCloseTo(30_000, 4);
    // Closed to 1e-10 s or what the integrator's steps allow.
    expect(Math.abs(high.time_s - logged(record, 'down').time_s - 20)).toBeLessThan(1e-7);
    expect(logged(record, 'down').after.thrust_N).toBeCloseTo(1.5e5, 3);
  });

  it('lights an upper stage before the cut-off of a booster whose limit decides when that is', () => {
    const compiled = compileStudy(
      r1((study) => {
        throttled(study);
        overlapping(study);
      }),
    );
    const record = recordFlight(compiled, startValues(compiled));
    expect(Math.abs(logged(record, 'meco').time_s - logged(record, 'ignition').time_s - 2)).toBeLessThan(
      1e-7,
    );
    const worst = worstDerivative(compiled);
    console.log(`lead under a limit: derivatives differ by ${worst.toExponential(1)}`);
    // As for the bucket.
    expect(worst).toBeLessThan(1e-3);
  });

  it('goes with a bucket and a limit in one solve', { timeout: 60_000 }, () => {
    const study = bucketed(28_000, overlapping, 0.3);
    const outcome = solvePayload(compileStudy(study));
    expect(outcome.status).toBe('converged');
    console.log(
      `bucket, limit and lead: ${outcome.payload_kg.toFixed(3)} kg, ${JSON.stringify(outcome.counts)}`,
    );
    expect(outcome.counts.iterations).toBeLessThan(20);
  });

  it('is told when no time fits', () => {
    const study = sounding({ kind: 'vertical' }, (own) => {
      own.sequence.events.push(
        happening(
          'early',
          { kind: 'before', event: 'low', lead_s: 20 },
          { kind: 'cut', body: 'body', keep: 0 },
        ),
        happening(
          'low',
          { kind: 'speed', speed_mps: 3000, passing: 'rising' },
          { kind: 'throttle', body: 'body', group: 'main', level: 0.9 },
        ),
      );
    });
    const compiled = compileStudy(study);
    // Cut 20 s before it would have been fast enough, it never is; so nothing is cut early either.
    const { status } = recordFlight(compiled, startValues(compiled));
    expect(status.code).toBe('cannotGoOn');
    expect(status.message).toMatch(/low: its leads cannot be scheduled: it never comes about/);
  });
});

function throttled(study: Study): void {
  study.vehicle.bodies['booster']!.engineGroups['main']!.throttle = { least: 0.3, most: 1 };
}
