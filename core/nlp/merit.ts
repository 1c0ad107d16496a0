/**
 * The ℓ1 exact penalty function that steps are judged by,
 *
 *   φ(x) = ω f(x) + Σ ρᵢ |cᵢ(x)| + Σ ρⱼ max(0, −gⱼ(x)),
 *
 * with one weight per constraint. Source: S. P. Han, "A globally convergent method for nonlinear programming", JOTA 22
 * (1977) 297–309; M. J. D. Powell, Lecture Notes in Mathematics 630 (1978) 144–157 (the weights' rule). Scaled quantities
 * throughout, dimensionless.
 */

/** Σ ρᵢ·violationᵢ of `constraints` (equalities first); ≥ 0. */
export function weightedViolation(
  constraints: Float64Array,
  penalties: Float64Array,
  equalityCount: number,
): number {
  let sum = 0;
  for (let i = 0; i < constraints.length; i++) {
    const value = constraints[i]!;
    if (i < equalityCount) sum += penalties[i]! * Math.abs(value);
    else if (value < 0) sum -= penalties[i]! * value;
  }
  return sum;
}

/**
 * Powell's rule: ρ ← max(|λ|, (ρ + |λ|)/2, floor). A weight never falls below its multiplier, so the step of the quadratic
 * programme goes downhill, and comes down slowly from a value that one early step made large. The floor keeps a constraint
 * that is not active now from being forgotten by the line search.
 */
export function updatePenalties(penalties: Float64Array, multipliers: Float64Array, floor: number): void {
  for (let i = 0; i < penalties.length; i++) {
    const size = Math.abs(multipliers[i]!);
    penalties[i] = Math.max(size, 0.5 * (penalties[i]! + size), floor);
  }
}

/** Linearised constraints c + A d into `out` (m), for the Jacobian A (m×n row-major). */
export function linearise(
  constraints: Float64Array,
  jacobian: Float64Array,
  step: Float64Array,
  out: Float64Array,
): void {
  const n = step.length;
  for (let i = 0, at = 0; i < constraints.length; i++) {
    let sum = constraints[i]!;
    for (let j = 0; j < n; j++, at++) sum += jacobian[at]! * step[j]!;
    out[i] = sum;
  }
}
