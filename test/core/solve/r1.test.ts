import { describe, expect, it } from 'vitest';
import { EARTH_EQUATORIAL_RADIUS_m } from '../../../core/constants/physical.ts';
import { compileStudy, PAYLOAD, startValues } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import type { Study } from '../../../core/contract/study.ts';
import { freeParameters, solvePayload, type PayloadOutcome } from '../../../core/solve/payload.ts';
import reference from '../../published/r1/reference.json' with { type: 'json' };
import { Worst } from '../earth/worst.ts';
import { r1 } from '../flight/studies.ts';

const compiled = compileStudy(r1());
const cold = solvePayload(compiled);
const [, , KICK, A, B] = compiled.parameters.map((_, index) => index) as [
  number,
  number,
  number,
  number,
  number,
];

/** Kick (deg), a, b (1/s) and payload (kg), far apart: from next to nothing to far too much, shallow to steep. */
const STARTS: readonly (readonly [number, number, number, number])[] = [
  [2.27, 0.865, -0.002469, 33_000],
  [1, 0.5, -0.002, 10_000],
  [4, 0.5, -0.002, 10_000],
  [1.5, 1.4, -0.004, 50_000],
  [3, 0.3, -0.001, 20_000],
  [0.6, 0.2, -0.0005, 5000],
  [6, 1.2, -0.003, 1000],
  [2, 2, -0.006, 60_000],
  [5, 0.8, -0.0015, 80_000],
  [0.3, 0, 0, 0],
  [10, 1.5, -0.003, 40_000],
  [2.5, -0.3, 0.001, 120_000],
];

function valuesOf([kick_deg, a, b, payload_kg]: readonly [number, number, number, number]): Float64Array {
  const values = startValues(compiled);
  values[PAYLOAD] = payload_kg;
  values[KICK] = (kick_deg * Math.PI) / 180;
  values[A] = a;
  values[B] = b;
  return values;
}

/** Least height of the recorded answer after release, m, looked for 16 times a step. */
function leastHeight_m(study: Study, values: Float64Array): number {
  const fresh = compileStudy(study);
  const record = recordFlight(fresh, values);
  expect(record.status.code).toBe('flown');
  const { steps } = record.tracks[0]!;
  const y = new Float64Array(steps.dimension);
  let least = Infinity;
  for (let i = 0; i < steps.count; i++) {
    for (let k = 0; k <= 16; k++) {
      steps.sampleStep(i, steps.timeOf(i) + (k / 16) * steps.lengthOf(i), y);
      least = Math.min(least, Math.hypot(y[0]!, y[1]!, y[2]!) - EARTH_EQUATORIAL_RADIUS_m);
    }
  }
  return least;
}

describe('the payload of R1', () => {
  it('is found from no guess at all, with the steering of the independent optimum', () => {
    const { kick_deg, a, b_per_s } = reference.optimum_gap0;
    expect(cold.status, cold.message).toBe('converged');
    console.log(
      `R1 payload ${cold.payload_kg.toFixed(3)} kg; ` +
        `${cold.counts.flights} flights, ${cold.counts.reflights} reflights, ${cold.counts.iterations} steps`,
    );
    // The payload, and what a tonne elsewhere costs of it: core/evidence/independentAscent.ts.
    // Near an optimum the payload hardly depends on the steering, so that is known less well: both solvers stop when the
    // last grams do not matter, which leaves about the root of 1 g / 33 t, 2e-4 of each number's natural size.
    expect((cold.values[KICK]! * 180) / Math.PI).toBeCloseTo(kick_deg, 2);
    expect(cold.values[A]!).toBeCloseTo(a, 2);
    expect(cold.values[B]! * 1e3).toBeCloseTo(b_per_s * 1e3, 2);
  });

  it('is decided by feasibility and KKT residual, and flown through no ground', () => {
    expect(cold.kktResidual).toBeLessThan(1e-6);
    expect(cold.feasibility).toBeLessThan(1e-8);
    expect(cold.free).toEqual(freeParameters(compiled));
    // Released at height zero: it may only climb. The bound is the slack of the flight's own guard.
    expect(leastHeight_m(r1(), cold.values)).toBeGreaterThan(-1);
  });

  it('comes out the same from twelve starts far apart and from none', () => {
    let direct = 0;
    const answers = STARTS.map((start, i): PayloadOutcome => {
      const values = valuesOf(start);
      const tried = solvePayload(compiled, { values, fromValues: true });
      if (tried.status === 'converged') {
        direct += 1;
        return tried;
      }
      // What has not converged is no answer: no number, and a sentence that says why.
      expect(tried.status).toBe('notSolved');
      expect(tried.payload_kg, `start ${i}`).toBeNaN();
      expect(tried.memory).toBeNull();
      expect(tried.message).toMatch(/^[A-Z].*\.$/);
      return solvePayload(compiled, { values });
    });
    const spread = new Worst('R1 payload from twelve starts against the cold one', 'kg', 1);
    answers.forEach((answer, i) => {
      expect(answer.status, `start ${i}: ${answer.message}`).toBe('converged');
      expect(answer.kktResidual, `start ${i}`).toBeLessThan(1e-6);
      expect(answer.feasibility, `start ${i}`).toBeLessThan(1e-8);
      spread.add(`start ${i}`, answer.payload_kg - cold.payload_kg);
    });
    console.log(
      `R1: ${direct} of ${STARTS.length} starts converged directly, the others from the cold start`,
    );
    // Between any two, so half of the kilogram to either side of the cold answer.
    expect(spread.report()).toBeLessThan(0.5);
    expect(direct).toBeGreaterThan(0);
    for (const answer of answers) expect(leastHeight_m(r1(), answer.values)).toBeGreaterThan(-1);
  });
});
