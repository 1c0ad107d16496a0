import { linearise, weightedViolation } from './merit.ts';
import type { SqpWorkspace } from './workspace.ts';

/** Share of the violation that a first-order step must take off for the point not to count as stationary. */
const noticeable = 1e-3;

/** Sum of the violations that the linearised constraints c + A d leave after a step d from the current point; ≥ 0. Overwrites `linearised`. */
export function violationAfter(w: SqpWorkspace, step: Float64Array): number {
  linearise(w.current.constraints, w.current.jacobian, step, w.linearised);
  return weightedViolation(w.linearised, w.unitPenalties, w.equalityCount);
}

/**
 * Whether the current point is stationary for the sum of violations v(x) = Σ|c| + Σ max(0, −g) within the bounds: its
 * proximal step, min ½‖d‖² + v(linearised at d), is within `tolerance` in every component and takes off less than a
 * thousandth of v. (The first alone would call a point stationary that merely is nearly feasible; the second alone one
 * whose constraints are flat but not yet least.)
 *
 * Source: R. Fletcher, Practical Methods of Optimization, 2nd ed., section 14.3 (first-order conditions for ℓ1 sums: there
 * are weights in [−1, 1] with Aᵀ weights = 0, which is d = 0 here).
 *
 * @param w the workspace at the current point, with step bounds prepared; `aux` and `linearised` are overwritten.
 * @param tolerance > 0, in (scaled) x for Jacobian rows of order one.
 */
export function violationIsStationary(w: SqpWorkspace, tolerance: number): boolean {
  if (!w.solveAux(w.identity, w.zeros, w.current.constraints, 1)) return false;
  for (let i = 0; i < w.variableCount; i++) {
    if (Math.abs(w.aux.x[i]!) > tolerance) return false;
  }
  const now = weightedViolation(w.current.constraints, w.unitPenalties, w.equalityCount);
  return now - violationAfter(w, w.aux.x) <= noticeable * now;
}
