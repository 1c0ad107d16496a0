/**
 * What one more second of gap is worth at an optimum, from the multipliers alone: by the envelope theorem only the direct
 * effect of the gap on the target's residuals counts, since to first order the free numbers have nothing left to give.
 * A. V. Fiacco, Introduction to Sensitivity and Stability Analysis in Nonlinear Programming, 1983 (from memory).
 */
import type { Study } from '../contract/study.ts';
import { compileStudy, recompile } from '../flight/compile.ts';
import { RECORD_ACCURACY } from '../flight/accuracy.ts';
import { FlightEngine } from '../flight/engine.ts';
import type { PayloadOutcome } from '../solve/payload.ts';
import { OrbitTarget } from '../solve/target.ts';
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
  answer: PayloadOutcome,
  side: 1 | -1 = 1,
): number {
  if (answer.status !== 'converged' || answer.multipliers_kg.length === 0) return Number.NaN;
  const gap_s = gapOf_s(study, event);
  const base = compileStudy(study);
  const target = new OrbitTarget(study.target, base.earth);
  const residualsAt = (gap: number): Float64Array | null => {
    const engine = new FlightEngine(recompile(base, withGap(study, event, gap)), RECORD_ACCURACY);
    if (engine.fly(answer.values) !== 'flown') return null;
    const out = new Float64Array(target.count);
    target.residuals(engine.end, out);
    return out;
  };
  // Second order to one side near the kink at zero, else central.
  const oneSided = Math.abs(gap_s) < STEP_s;
  const nodes = oneSided ? [0, side, 2 * side] : [-1, 1];
  const weights = oneSided ? [-1.5 * side, 2 * side, -0.5 * side] : [-0.5, 0.5];
  let sum = 0;
  for (let i = 0; i < nodes.length; i++) {
    const residuals = residualsAt(gap_s + nodes[i]! * STEP_s);
    if (residuals === null) return Number.NaN;
    for (let k = 0; k < target.count; k++) {
      sum -= (answer.multipliers_kg[k]! * weights[i]! * residuals[k]!) / STEP_s;
    }
  }
  return sum;
}
