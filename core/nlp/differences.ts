import type { NlpProblem } from './problem.ts';

/** Result of {@link checkDerivatives}. */
export interface DerivativeCheck {
  /** Largest |analytic − difference| / max(1, |analytic|, |difference|) over all entries. */
  readonly worst: number;
  /** Where: −1 for the objective, otherwise the constraint's index; and the variable's index. */
  readonly row: number;
  readonly variable: number;
  readonly analytic: number;
  readonly difference: number;
  /** Entries that could not be compared, because an evaluation beside x failed. */
  readonly skipped: number;
}

/**
 * Compares a problem's derivatives at `x` with central differences (f(x + h) − f(x − h))/(2h).
 *
 * The step for variable j is `relativeStep`·max(1, |x_j|), shortened on a side that would leave the bounds only by giving
 * the entry up as `skipped` when the variable is fixed or a side cannot be evaluated. Error of the differences:
 * h²/6·f‴ + ε|f|/h, least near relativeStep = 6e-6 for functions of order one.
 *
 * @param problem evaluated 2n + 1 times and differentiated once; allocates freely (for tests and users, not inner loops).
 * @param x n, where the problem can be evaluated.
 * @param relativeStep > 0, default 6e-6 (the cube root of the rounding unit).
 * @returns the worst entry and where it is.
 * @throws Error when the problem cannot be evaluated or differentiated at x itself.
 */
export function checkDerivatives(problem: NlpProblem, x: Float64Array, relativeStep = 6e-6): DerivativeCheck {
  const n = problem.variableCount;
  const m = problem.equalityCount + problem.inequalityCount;
  const gradient = new Float64Array(n);
  const jacobian = new Float64Array(m * n);
  const above = new Float64Array(m);
  const below = new Float64Array(m);
  const point = x.slice();
  if (!Number.isFinite(problem.evaluate(point, above)) || !problem.differentiate(point, gradient, jacobian)) {
    throw new Error('checkDerivatives: x: received a point that cannot be evaluated and differentiated');
  }
  let check: DerivativeCheck = { worst: -1, row: -1, variable: -1, analytic: 0, difference: 0, skipped: 0 };
  let skipped = 0;
  for (let j = 0; j < n; j++) {
    const h = relativeStep * Math.max(1, Math.abs(x[j]!));
    if (x[j]! + h > problem.upper[j]! || x[j]! - h < problem.lower[j]!) {
      skipped += m + 1;
      continue;
    }
    point[j] = x[j]! + h;
    const fAbove = problem.evaluate(point, above);
    point[j] = x[j]! - h;
    const fBelow = problem.evaluate(point, below);
    point[j] = x[j]!;
    for (let row = -1; row < m; row++) {
      const difference = (row < 0 ? fAbove - fBelow : above[row]! - below[row]!) / (x[j]! + h - (x[j]! - h));
      const analytic = row < 0 ? gradient[j]! : jacobian[row * n + j]!;
      if (!Number.isFinite(difference)) {
        skipped++;
        continue;
      }
      const error = Math.abs(analytic - difference) / Math.max(1, Math.abs(analytic), Math.abs(difference));
      if (!(error <= check.worst))
        check = { worst: error, row, variable: j, analytic, difference, skipped: 0 };
    }
  }
  return { ...check, skipped };
}

/**
 * Forward differences for a problem that has no derivatives of its own: gradient and Jacobian at x from n evaluations.
 *
 * The step for variable j is `steps[j]` > 0, turned backwards where it would leave the upper bound, and also where the
 * forward side cannot be evaluated. Error: ½ h f″ + 2 noise/h per entry; with noise δ relative to order-one values the best
 * h is about 2√δ. The steps are the caller's so that they can stay fixed from call to call.
 *
 * @param problem what to difference; only `evaluate`, the counts and the bounds are used.
 * @param x n; not changed on return.
 * @param objective and
 * @param constraints values at x, already evaluated.
 * @param steps n, each > 0.
 * @param gradient n, written.
 * @param jacobian m×n row-major, written.
 * @param scratch m, overwritten.
 * @returns false when for some variable neither side can be evaluated (or the bounds leave no room).
 */
export function forwardDifferences(
  problem: Pick<NlpProblem, 'evaluate' | 'lower' | 'upper' | 'variableCount'>,
  x: Float64Array,
  objective: number,
  constraints: Float64Array,
  steps: Float64Array,
  gradient: Float64Array,
  jacobian: Float64Array,
  scratch: Float64Array,
): boolean {
  const n = problem.variableCount;
  const m = constraints.length;
  for (let j = 0; j < n; j++) {
    const origin = x[j]!;
    let done = false;
    for (let side = 1; side >= -1 && !done; side -= 2) {
      const moved = origin + side * steps[j]!;
      if (moved > problem.upper[j]! || moved < problem.lower[j]!) continue;
      x[j] = moved;
      const value = problem.evaluate(x, scratch);
      x[j] = origin;
      const h = moved - origin;
      let finite = Number.isFinite(value);
      gradient[j] = (value - objective) / h;
      for (let i = 0; i < m; i++) {
        jacobian[i * n + j] = (scratch[i]! - constraints[i]!) / h;
        finite &&= Number.isFinite(scratch[i]!);
      }
      done = finite;
    }
    if (!done) return false;
  }
  return true;
}
