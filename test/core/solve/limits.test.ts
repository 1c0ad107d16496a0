import { describe, expect, it } from 'vitest';
import { validateStudy } from '../../../core/contract/load.ts';
import type { Study } from '../../../core/contract/study.ts';
import { compileStudy, PAYLOAD, type CompiledStudy } from '../../../core/flight/compile.ts';
import { SOLVE_ACCURACY } from '../../../core/flight/accuracy.ts';
import { FlightEngine } from '../../../core/flight/engine.ts';
import { launchFrame } from '../../../core/flight/launch.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { TrackReader, type Observation } from '../../../core/flight/track.ts';
import { readLimits } from '../../../core/solve/limitedSolve.ts';
import { FlightLimits, limitsOf } from '../../../core/solve/limits.ts';
import { freeParameters, solvePayload, type PayloadOutcome } from '../../../core/solve/payload.ts';
import { Worst } from '../earth/worst.ts';
import { event, r1 } from '../flight/studies.ts';

type Limits = NonNullable<Study['limits']>;
const limited = (limits: Limits, change: (study: Study) => void = () => undefined): CompiledStudy =>
  compileStudy(
    r1((study) => {
      study.limits = limits;
      change(study);
    }),
  );
const plain = compileStudy(r1());
const open = solvePayload(plain);

/** The greatest of a quantity on the finely recorded flight of an answer, to 10 µs in time. */
function greatest(
  compiled: CompiledStudy,
  values: Float64Array,
  quantity: (now: Observation) => number,
): { value: number; time_s: number } {
  const record = recordFlight(compiled, values);
  const reader = new TrackReader(compiled, record.tracks[0]!, values, launchFrame(compiled.site, values[1]!));
  let best = { value: -Infinity, time_s: Number.NaN };
  for (let t = record.tracks[0]!.start_s; t <= record.tracks[0]!.end_s; t += 0.01) {
    const value = quantity(reader.at(t));
    if (value > best.value) best = { value, time_s: t };
  }
  // Closer by, so that a peak at a kink is not missed by what changes in 10 ms.
  for (let t = best.time_s - 0.02, i = 0; i < 4000; i++, t += 1e-5) {
    const value = quantity(reader.at(t));
    if (value > best.value) best = { value, time_s: t };
  }
  return best;
}

describe('reading limits on a flight', () => {
  const all: Limits = {
    dynamicPressure_Pa: 1e5,
    pressureAngle_Parad: 1e4,
    sensedAcceleration_mps2: 100,
    heatFluxAt: [{ event: 'separation', heatFlux_Wpm2: 1135 }],
    altitudeAt: [{ event: 'meco', least_m: 10_000 }],
  };
  const compiled = limited(all);

  it('finds the same peaks and values at events as the finely recorded flight', () => {
    const readings = readLimits(compiled, open.values, limitsOf(compiled));
    expect(readings.map(({ limit }) => limit.kind)).toEqual([
      'dynamicPressure',
      'pressureAngle',
      'sensedAcceleration',
      'heatFlux',
      'altitude',
    ]);
    const [q, , felt, flux, height] = readings;
    const most = greatest(compiled, open.values, (now) => now.dynamicPressure_Pa);
    // The solve's steps are good to 1e-7.
    expect(q!.value / most.value).toBeCloseTo(1, 6);
    // Flat as a peak is, 1e-7 of it is as much as its place is known to a few hundredths of a second.
    expect(Math.abs(q!.time_s - most.time_s)).toBeLessThan(0.05);
    const pull = greatest(compiled, open.values, (now) => now.sensed_mps2);
    expect(felt!.value / pull.value).toBeCloseTo(1, 5);
    const record = recordFlight(compiled, open.values);
    const entry = (id: string) => record.log.find((each) => each.id === id)!;
    expect(height!.value).toBeCloseTo(entry('meco').height_m, 0);
    const parting = entry('separation');
    expect(flux!.time_s).toBeCloseTo(parting.time_s, 6);
    const reader = new TrackReader(
      compiled,
      record.tracks[0]!,
      open.values,
      launchFrame(compiled.site, open.values[1]!),
    );
    const now = reader.at(parting.time_s);
    const speed = now.speedRelative_mps;
    expect(flux!.value / (now.dynamicPressure_Pa * speed)).toBeCloseTo(1, 5);
  });

  it('finds the angle of attack where thrust leaves the air behind', () => {
    const reading = readLimits(compiled, open.values, limitsOf(compiled))[1]!;
    const most = greatest(compiled, open.values, (now) => {
      const w = [
        now.state[3]! + compiled.earth.rotation_radps * now.state[1]!,
        now.state[4]! - compiled.earth.rotation_radps * now.state[0]!,
        now.state[5]!,
      ];
      const along = (w[0]! * now.aim[0]! + w[1]! * now.aim[1]! + w[2]! * now.aim[2]!) / Math.hypot(...w);
      return now.dynamicPressure_Pa * Math.acos(Math.min(1, along));
    });
    expect(reading.value).toBeGreaterThan(10);
    // The arc cosine near 1 is good to 1e-8 rad of some 1e-2.
    expect(reading.value / most.value).toBeCloseTo(1, 3);
    // The upper law starts off the path while there is still some air.
    expect(Math.abs(reading.time_s - most.time_s)).toBeLessThan(0.05);
  });

  it('has differences over held steps that hardly depend on the step and agree with flights afresh', () => {
    const held = new Worst('margins of limits, differences at h and h/10', 'relative to the largest', 2e-3);
    const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
    const limits = new FlightLimits(engine, limitsOf(compiled));
    const values = Float64Array.from(open.values);
    expect(engine.fly(values)).toBe('flown');
    expect(limits.locate(values)).toBe(true);
    const base = new Float64Array(limits.count);
    limits.write(base, 0);
    const out = new Float64Array(limits.count);
    for (const p of freeParameters(compiled)) {
      const parameter = compiled.parameters[p]!;
      const difference = (h: number): number[] => {
        const moved = Float64Array.from(values);
        moved[p]! += h * parameter.scale;
        limits.begin();
        expect(engine.refly(moved, engine.firstSegmentOf(parameter))).toBe(true);
        limits.write(out, 0);
        return [...out].map((each, k) => (each - base[k]!) / h);
      };
      const coarse = difference(1e-5);
      const fine = difference(1e-6);
      const size = Math.max(...coarse.map(Math.abs));
      if (size === 0) continue;
      coarse.forEach((each, k) => held.add(`${parameter.path}, condition ${k}`, (each - fine[k]!) / size));
      // Flown afresh on either side: the peaks themselves, wherever they have moved to.
      const afresh = (h: number): number[] => {
        const moved = Float64Array.from(values);
        moved[p]! += h * parameter.scale;
        return readLimits(compiled, moved, limitsOf(compiled)).map(({ value }) => value);
      };
      const [after, before] = [afresh(1e-2), afresh(-1e-2)];
      const slopeOfPeak = -(after[0]! - before[0]!) / 2e-2 / 1e5;
      const spans = (limits.count - 2) / 3;
      const readings = limits.readings();
      const span = [...base.subarray(0, spans)].findIndex(
        (margin) => Math.abs(1 - margin - readings[0]!.value / 1e5) < 1e-12,
      );
      // Second differences over a hundredth of a scale, and the error of fresh steps over it.
      expect(Math.abs(slopeOfPeak - fine[span]!), parameter.path).toBeLessThan(
        1e-3 * Math.max(1e-2, Math.abs(slopeOfPeak)),
      );
    }
    held.report();
  });
});

describe('a solve under limits', () => {
  const readOpen = readLimits(
    limited({ dynamicPressure_Pa: 1e5 }),
    open.values,
    limitsOf(limited({ dynamicPressure_Pa: 1e5 })),
  );
  const openPeak_Pa = readOpen[0]!.value;
  const bound = (share: number): CompiledStudy => limited({ dynamicPressure_Pa: share * openPeak_Pa });
  const compiled = bound(0.97);
  const answer = solvePayload(compiled);

  it('meets a limit that the best flight would break, at a price, and says that it binds', () => {
    expect(answer.status, answer.message).toBe('converged');
    expect(answer.payload_kg).toBeLessThan(open.payload_kg - 0.1);
    const most = greatest(compiled, answer.values, (now) => now.dynamicPressure_Pa);
    // 1e-6 of the limit, and what sampling and the solve's steps miss.
    expect(Math.abs(most.value / (0.97 * openPeak_Pa) - 1)).toBeLessThan(1e-6);
    const [limit] = answer.limits;
    expect(limit!.binds).toBe(true);
    expect(limit!.words).toMatch(/^dynamic pressure, \d+\.\d kPa at \d+ s$/);
    console.log(
      `R1 without limit ${open.payload_kg.toFixed(2)} kg at ${(openPeak_Pa / 1000).toFixed(2)} kPa; with ${limit!.words}: ` +
        `${answer.payload_kg.toFixed(2)} kg, worth ${(limit!.worth_kg * 1000).toFixed(2)} kg/kPa, ${answer.counts.iterations} steps`,
    );
    expect(answer.kktResidual).toBeLessThan(1e-6);
  });

  it('has a multiplier of the right sign that is what solving again with a little more gives', () => {
    const worth = answer.limits[0]!.worth_kg;
    expect(worth).toBeGreaterThan(0);
    const moved = (by_Pa: number): PayloadOutcome =>
      solvePayload(limited({ dynamicPressure_Pa: 0.97 * openPeak_Pa + by_Pa }), { memory: answer.memory! });
    const [more, less] = [moved(20), moved(-20)];
    expect([more.status, less.status]).toEqual(['converged', 'converged']);
    const measured = (more.payload_kg - less.payload_kg) / 40;
    // Payloads are good to a gram or less, over a difference of kilograms; the curve's third derivative is far below.
    expect(measured / worth).toBeCloseTo(1, 3);
  });

  it('leaves the answer alone where the limit is wide, and says that it does not bind', () => {
    const wide = solvePayload(bound(1.2));
    expect(wide.status).toBe('converged');
    expect(Math.abs(wide.payload_kg - open.payload_kg)).toBeLessThan(1e-3);
    expect(wide.limits[0]).toMatchObject({ binds: false, worth_kg: 0 });
  });

  it('costs no study without limits a flight', () => {
    const again = solvePayload(plain);
    expect(again.counts).toEqual(open.counts);
    expect(again.limits).toEqual([]);
  });

  it('names the limit that cannot be met', () => {
    const outcome = solvePayload(limited({ dynamicPressure_Pa: 5000, sensedAcceleration_mps2: 200 }));
    expect(outcome.status).toBe('limitCannotBeMet');
    expect(outcome.message).toContain('dynamic pressure of at most 5.0 kPa (limits.dynamicPressure_Pa)');
    expect(outcome.message).toMatch(/has dynamic pressure, \d+\.\d kPa at \d+ s/);
    expect(outcome.payload_kg).toBeNaN();
  });

  it('holds a least height at a cut-off, and the heat flux at a parting, from either side', () => {
    const height = readLimits(
      limited({ altitudeAt: [{ event: 'meco', least_m: 0 }] }),
      open.values,
      limitsOf(limited({ altitudeAt: [{ event: 'meco', least_m: 0 }] })),
    )[0]!.value;
    const study = limited({ altitudeAt: [{ event: 'meco', least_m: height + 1000 }] });
    const higher = solvePayload(study);
    expect(higher.status, higher.message).toBe('converged');
    const meco = recordFlight(study, higher.values).log.find((entry) => entry.id === 'meco')!;
    // 1e-8 of 10 km, and the error of the solve's steps.
    expect(meco.height_m).toBeCloseTo(height + 1000, 1);
    expect(higher.limits[0]!.worth_kg).toBeLessThan(0);
    expect(higher.payload_kg).toBeLessThan(open.payload_kg);
    const cooler = limited({ heatFluxAt: [{ event: 'separation', heatFlux_Wpm2: 1135 }] });
    const flux = readLimits(cooler, open.values, limitsOf(cooler))[0]!.value;
    const kept = solvePayload(limited({ heatFluxAt: [{ event: 'separation', heatFlux_Wpm2: 0.9 * flux }] }));
    expect(kept.status, kept.message).toBe('converged');
    expect(kept.limits[0]!.value / (0.9 * flux)).toBeCloseTo(1, 6);
    expect(kept.limits[0]!.binds).toBe(true);
    expect(kept.payload_kg).toBeLessThan(open.payload_kg);
  });

  it('is kept by a solve from given values, too', () => {
    const values = Float64Array.from(answer.values);
    values[PAYLOAD]! -= 500;
    const again = solvePayload(compiled, { values, fromValues: true });
    expect(again.status, again.message).toBe('converged');
    expect(again.payload_kg).toBeCloseTo(answer.payload_kg, 2);
  });

  it('is refused where the document contradicts itself', () => {
    const refused = (limits: Limits, change: (study: Study) => void = () => undefined): string => {
      const study = structuredClone(r1());
      study.limits = limits;
      change(study);
      const result = validateStudy(study);
      return result.ok ? 'accepted' : result.problems[0]!.sentence;
    };
    expect(refused({ heatFluxAt: [{ event: 'seperation', heatFlux_Wpm2: 1135 }] })).toContain(
      'limits.heatFluxAt.0.event',
    );
    expect(
      refused({ dynamicPressure_Pa: 1 }, (study) => (study.earth.atmosphere = { kind: 'none' })),
    ).toContain('limits.dynamicPressure_Pa');
    expect(refused({ dynamicPressure_Pa: -1 })).toContain('limits.dynamicPressure_Pa');
    const never = (): CompiledStudy =>
      limited({ altitudeAt: [{ event: 'turn', least_m: 0 }] }, (study) => {
        event(study, 'turn').trigger = { kind: 'time', time_s: 90_000 };
      });
    expect(() => limitsOf(never())).toThrow('limits.altitudeAt.0.event: "turn" never comes about');
  });
});
