import { describe, expect, it } from 'vitest';
import { compareModes } from '../../../core/study/modes.ts';
import { coupledModeSteps, coupledSteps } from '../../../core/study/coupled.ts';
import { compileWithReturn } from '../../../core/solve/sequenceReturn.ts';
import { solveTogether } from '../../../core/solve/together.ts';
import { withGap } from '../../../core/study/gap.ts';
import { heavyWith } from '../recovery/studies.ts';

function run<T>(steps: Generator<unknown, T>): T {
  for (;;) {
    const step = steps.next();
    if (step.done === true) return step.value;
  }
}

const { study } = heavyWith('to-site', () => null);

describe('the staging question with the return coupled', () => {
  it('finds that an overlap costs the return more than it brings the ascent', () => {
    const result = run(coupledSteps(study, 'to-site', { gaps_s: [2, -2, 0], reference_s: 0 }));
    expect(result.points.map(({ gap_s }) => gap_s)).toEqual([2, -2, 0]);
    const [late, early, zero] = result.points;
    for (const { outcome } of result.points) expect(outcome.status).toBe('converged');
    // For the ascent by itself sooner is better; the booster is pushed on meanwhile, and has farther to come back.
    expect(early!.alonePayload_kg).toBeGreaterThan(zero!.alonePayload_kg);
    expect(late!.alonePayload_kg).toBeLessThan(zero!.alonePayload_kg);
    expect(early!.outcome.used_kg).toBeGreaterThan(zero!.outcome.used_kg + 500);
    expect(late!.outcome.used_kg).toBeLessThan(zero!.outcome.used_kg - 200);
    expect(early!.outcome.payload_kg).toBeLessThan(zero!.outcome.payload_kg - 50);
    expect(early!.parting!.speed_mps).toBeGreaterThan(late!.parting!.speed_mps);
    // As solved by itself: both stop at the same tolerances.
    const cold = solveTogether(compileWithReturn(withGap(study, 'ignition', -2), 'to-site'), 'to-site');
    expect(Math.abs(cold.payload_kg - early!.outcome.payload_kg)).toBeLessThan(0.05);
  }, 120_000);

  it('solves ways of staging with the return at the gaps that they need', () => {
    const { springs, hot } = study.stagingModes!;
    const two = { ...study, stagingModes: { springs: springs!, hot: hot! } };
    const { rows } = compareModes(two);
    const coupled = run(coupledModeSteps(two, 'to-site', rows));
    expect(coupled.map(({ id }) => id)).toEqual(['springs', 'hot']);
    const [cold, lit] = coupled.map(({ outcome }) => outcome);
    expect(cold!.status).toBe('converged');
    expect(lit!.status).toBe('converged');
    // The ring's 6 t come back too, and the overlap pushes the booster on.
    expect(lit!.used_kg).toBeGreaterThan(cold!.used_kg + 2000);
    expect(lit!.reserve_kg - 1.03 * lit!.used_kg).toBeCloseTo(0, 1);
  }, 120_000);
});
