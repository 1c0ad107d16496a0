/**
 * What one more second of gap is worth at an optimum, from the multipliers alone: by the envelope theorem only the direct
 * effect of the gap on the target's residuals counts, since to first order the free numbers have nothing left to give.
 * A. V. Fiacco, Introduction to Sensitivity and Stability Analysis in Nonlinear Programming, 1983 (from memory).
 */
import type { Study } from '../contract/study.ts';
import { compileStudy } from '../flight/compile.ts';
import { compileAnswer } from '../solve/answer.ts';
import { conditionsUnder, pricesOf } from '../solve/conditions.ts';
import type { PayloadOutcome } from '../solve/payload.ts';
import { gapOf_s, withGap } from './gap.ts';

/** Half-width of the difference, s: residuals bend little over it, and rounding is far below. */
const STEP_s = 0.02;

/**
 * Payload per second of gap, kg/s, at a converged answer of the study with its gap at `event`. A gap of either sign is a
 * different sequence on each side of zero, so near zero the difference looks to `side` (+1 a longer gap, −1 an overlap).
 * NaN when the answer has not converged or a neighbouring flight fails.
 */
export function gapDerivative_kgps(
  study: Study,
  event: string,
  outcome: PayloadOutcome,
  side: 1 | -1 = 1,
): number {
  if (outcome.status !== 'converged') return Number.NaN;
  const asked = outcome.memory?.coupled === undefined ? compileStudy(study) : compileAnswer(study);
  const prices_kg = pricesOf({ outcome, asked });
  if (prices_kg.length === 0) return Number.NaN;
  const gap_s = gapOf_s(study, event);
  // Second order to one side near the kink at zero, else central.
  const oneSided = Math.abs(gap_s) < STEP_s;
  const nodes = oneSided ? [0, side, 2 * side] : [-1, 1];
  const weights = oneSided ? [-1.5 * side, 2 * side, -0.5 * side] : [-0.5, 0.5];
  let sum = 0;
  for (let i = 0; i < nodes.length; i++) {
    const residuals = conditionsUnder({ outcome, asked }, withGap(study, event, gap_s + nodes[i]! * STEP_s));
    if (typeof residuals === 'string') return Number.NaN;
    for (let k = 0; k < prices_kg.length; k++) {
      sum -= (prices_kg[k]! * weights[i]! * residuals[k]!) / STEP_s;
    }
  }
  return sum;
}
