/**
 * Largest violation of the constraints: max over |c| (the first `equalityCount` entries) and max(0, −g) (the rest). Bounds
 * need no term: the solver never leaves them. In the constraints' own units.
 */
export function largestViolation(constraints: Float64Array, equalityCount: number): number {
  let largest = 0;
  for (let i = 0; i < constraints.length; i++) {
    const value = constraints[i]!;
    largest = Math.max(largest, i < equalityCount ? Math.abs(value) : -value);
  }
  return largest;
}

/** What the KKT residual is made of; shapes as in `problem.ts`. */
export interface KktPoint {
  equalityCount: number;
  x: Float64Array;
  lower: Float64Array;
  upper: Float64Array;
  gradient: Float64Array;
  /** m×n row-major. */
  jacobian: Float64Array;
  constraints: Float64Array;
  /** λ then μ. */
  multipliers: Float64Array;
  /** ν. */
  boundMultipliers: Float64Array;
}

/**
 * Scaled residual of the first-order conditions at a point with given multipliers, feasibility apart:
 *
 *   max( ‖∇f − Aᵀ[λ; μ] − ν‖∞, |μᵢ gᵢ| where gᵢ ≥ 0, |νᵢ|·(distance to that bound) ) / max(1, ‖∇f‖∞, |λᵢ|·‖aᵢ‖∞, |νᵢ|).
 *
 * The divisor is the size of the terms that have to cancel: a residual of 1e-8 then means eight digits of cancellation for
 * a large objective, and an absolute 1e-8 for one whose gradient vanishes at the solution. Violated inequalities are left
 * out of complementarity, since feasibility judges them.
 *
 * Source: J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed., theorem 12.1 (conditions).
 *
 * @param kkt see {@link KktPoint}; the signs of μ and ν are taken to be right.
 * @returns the residual, dimensionless, ≥ 0.
 */
export function kktResidual(kkt: KktPoint): number {
  const { gradient, jacobian, constraints, multipliers, boundMultipliers, x, lower, upper } = kkt;
  const n = gradient.length;
  const m = constraints.length;
  let scale = 1;
  let residual = 0;
  for (let j = 0; j < n; j++) {
    const nu = boundMultipliers[j]!;
    let sum = gradient[j]! - nu;
    scale = Math.max(scale, Math.abs(gradient[j]!), Math.abs(nu));
    for (let i = 0; i < m; i++) {
      const term = multipliers[i]! * jacobian[i * n + j]!;
      sum -= term;
      scale = Math.max(scale, Math.abs(term));
    }
    residual = Math.max(residual, Math.abs(sum));
    if (nu > 0) residual = Math.max(residual, nu * (x[j]! - lower[j]!));
    if (nu < 0) residual = Math.max(residual, -nu * (upper[j]! - x[j]!));
  }
  for (let i = kkt.equalityCount; i < m; i++) {
    residual = Math.max(residual, multipliers[i]! * constraints[i]!);
  }
  return residual / scale;
}
