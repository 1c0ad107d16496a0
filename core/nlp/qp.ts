import { WorkingSetFactor } from './qpFactor.ts';

/** How a quadratic programme ended. `infeasible` and `notConvex` are properties of the data; `iterationLimit` is numerical trouble. */
export type QpStatus = 'solved' | 'infeasible' | 'notConvex' | 'iterationLimit';

/** A strictly convex quadratic programme in n variables: see {@link QpSolver.solve}. */
export interface QpProblem {
  /** H, n×n row-major, symmetric positive definite (lower triangle read). */
  hessian: Float64Array;
  /** g, n. */
  gradient: Float64Array;
  /** A, m×n row-major: equalities first, then inequalities. */
  matrix: Float64Array;
  /** b, m. */
  offset: Float64Array;
  /** l and u, n each; ±Infinity for none. */
  lower: Float64Array;
  upper: Float64Array;
  /** Most that a multiplier of A may grow to, > 0; Infinity for hard constraints. Bounds are always hard. */
  cap: number;
}

const outside = 0; // multiplier 0, not in the working set
const working = 1; // holds with equality, multiplier between its limits
const atCap = 2; // multiplier +cap, the row may be violated
const atMinusCap = 3; // multiplier −cap (equalities only)
const redundant = 4; // follows from the working set but for rounding in the data; its multiplier stays where it is

/** Relative residual within which a constraint is met, by the rounding of one residual. */
const rounding = 5e-15;
/** The same for a constraint that cannot be met exactly because its data repeat others' with rounding. */
const dataRounding = 1e-11;

/**
 * Dual active-set solver for
 *
 *   minimise ½ xᵀHx + gᵀx   subject to   A_E x + b_E = 0,   A_I x + b_I ≥ 0,   l ≤ x ≤ u,
 *
 * and, with a finite `cap` γ, for its elastic form, in which the rows of A are instead charged for in the objective:
 * + γ Σ_E |A x + b| + γ Σ_I max(0, −(A x + b)). The ℓ1 charge is the same thing as multipliers limited to [−γ, γ]
 * (equalities) and [0, γ] (inequalities): the dual method just stops a multiplier there and lets its row go. No slack
 * variables are added, and a programme whose rows are consistent with multipliers below γ has the same solution in
 * both forms.
 *
 * Source: D. Goldfarb, A. Idnani, Mathematical Programming 27 (1983) 1–33 (the dual method and its finiteness);
 * R. Fletcher, Practical Methods of Optimization, 2nd ed., section 12.3 and 14.3 (ℓ1 penalty ⇔ bounded multipliers).
 *
 * Every change of the working set either strictly raises the dual objective or only shortens the set, so the method ends
 * on degenerate data too. Storage is allocated once for a size; `solve` allocates nothing.
 */
export class QpSolver {
  readonly variableCount: number;
  readonly equalityCount: number;
  readonly inequalityCount: number;
  /** Solution x, n. */
  readonly x: Float64Array;
  /** Multipliers of the rows of A, m: H x + g = Aᵀ multipliers + boundMultipliers. Inequalities' are ≥ 0. */
  readonly multipliers: Float64Array;
  /** Multipliers of the bounds, n: ≥ 0 where the lower bound holds x, ≤ 0 where the upper one does. */
  readonly boundMultipliers: Float64Array;
  /** Rows whose multiplier stands at the cap and which are violated (elastic form); 0 for a hard solution. */
  relaxedCount = 0;
  /** Changes of the working set in the last solve. */
  iterations = 0;

  private readonly factor: WorkingSetFactor;
  private readonly state: Uint8Array;
  private readonly dual: Float64Array;
  private readonly norms: Float64Array;
  private readonly members: Int32Array;
  private readonly stepX: Float64Array;
  private readonly stepDual: Float64Array;
  private readonly scratch: Float64Array;
  private problem: QpProblem | undefined;
  private largestX = 0;

  constructor(variableCount: number, equalityCount: number, inequalityCount: number) {
    const n = variableCount;
    const m = equalityCount + inequalityCount;
    this.variableCount = n;
    this.equalityCount = equalityCount;
    this.inequalityCount = inequalityCount;
    this.x = new Float64Array(n);
    this.multipliers = new Float64Array(m);
    this.boundMultipliers = new Float64Array(n);
    this.factor = new WorkingSetFactor(n);
    this.state = new Uint8Array(m + 2 * n);
    this.dual = new Float64Array(m + 2 * n);
    this.norms = new Float64Array(m + 2 * n).fill(1);
    this.members = new Int32Array(n);
    this.stepX = new Float64Array(n);
    this.stepDual = new Float64Array(n);
    this.scratch = new Float64Array(n);
  }

  /**
   * Solves `problem`; the answer stands in `x`, `multipliers`, `boundMultipliers` until the next call.
   *
   * Shapes as in {@link QpProblem}; all entries finite except bounds and cap (not checked: this is the inner loop).
   * Rows are taken as met when their residual is within rounding (about 1e-14 of the terms that it is made of).
   *
   * @returns `solved`; `infeasible` when hard rows and bounds contradict each other (with a finite cap: when the bounds
   * alone do); `notConvex` when H is not positive definite; `iterationLimit` after 20 (n + m) + 200 changes of the set.
   */
  solve(problem: QpProblem): QpStatus {
    const n = this.variableCount;
    const m = this.multipliers.length;
    this.problem = problem;
    this.iterations = 0;
    this.relaxedCount = 0;
    if (!this.factor.reset(problem.hessian)) return 'notConvex';
    this.state.fill(outside);
    this.dual.fill(0);
    for (let i = 0; i < m; i++) {
      let sum = 0;
      for (let j = 0; j < n; j++) sum += problem.matrix[i * n + j]! ** 2;
      this.norms[i] = sum > 0 ? Math.sqrt(sum) : 1;
    }
    this.largestX = 0;
    this.refresh();
    const limit = 20 * (n + m) + 200;
    for (let refreshes = 0; ;) {
      const next = this.mostViolated();
      if (next < 0) {
        // The steps' rounding has piled up in x: recompute it from the working set, and look once more.
        this.refresh();
        if (++refreshes < 3 && this.mostViolated() >= 0) continue;
        break;
      }
      const status = this.bringIn(next, limit);
      if (status !== 'solved') return status;
    }
    this.collect();
    return 'solved';
  }

  /** Residual of constraint `index` at x: rows of A, then lower bounds, then upper bounds. */
  private residual(index: number): number {
    const n = this.variableCount;
    const m = this.multipliers.length;
    const { matrix, offset, lower, upper } = this.problem!;
    if (index >= m + n) return upper[index - m - n]! - this.x[index - m - n]!;
    if (index >= m) return this.x[index - m]! - lower[index - m]!;
    let sum = offset[index]!;
    for (let j = 0, at = index * n; j < n; j++, at++) sum += matrix[at]! * this.x[j]!;
    return sum;
  }

  /** Size of a constraint's constant term; Infinity for a bound that is not there. */
  private constant(index: number): number {
    const n = this.variableCount;
    const m = this.multipliers.length;
    const { offset, lower, upper } = this.problem!;
    return Math.abs(index < m ? offset[index]! : index < m + n ? lower[index - m]! : upper[index - m - n]!);
  }

  /** Constraint to work on next (equalities before others, then the most violated), or −1. */
  private mostViolated(): number {
    const n = this.variableCount;
    const m = this.multipliers.length;
    let worst = -1;
    let worstBy = 0;
    for (let i = 0; i < m + 2 * n; i++) {
      if (i === this.equalityCount && worst >= 0) return worst;
      const state = this.state[i]!;
      if (state === working) continue;
      const constant = this.constant(i);
      if (constant === Infinity) continue;
      const r = this.residual(i);
      let by: number;
      if (state === atCap) by = r;
      else if (state === atMinusCap) by = -r;
      else by = i < this.equalityCount ? Math.abs(r) : -r;
      by /= this.norms[i]!;
      const size = constant / this.norms[i]! + this.largestX;
      if (by > (state === redundant ? dataRounding : rounding) * size && by > worstBy) {
        worst = i;
        worstBy = by;
      }
    }
    return worst;
  }

  private upperLimit(index: number): number {
    return index < this.multipliers.length ? this.problem!.cap : Infinity;
  }

  private lowerLimit(index: number): number {
    return index < this.equalityCount ? -this.problem!.cap : 0;
  }

  /** Moves the multiplier of `index` until its constraint is met, the multiplier is at a limit, or neither can be. */
  private bringIn(index: number, limit: number): QpStatus {
    const { factor, members, dual, state, stepX, stepDual, x } = this;
    const n = this.variableCount;
    const m = this.multipliers.length;
    const direction = this.residual(index) < 0 ? 1 : -1;
    for (;;) {
      if (++this.iterations > limit) return 'iterationLimit';
      if (index < m) factor.projectRow(this.problem!.matrix, index * n);
      else factor.projectUnit((index - m) % n, index < m + n ? 1 : -1);
      factor.dualDirection(stepDual);
      const curvature = factor.freeNormSquared();
      // A normal this close to the span of the working set carries no direction that rounding has not made.
      const dependent = curvature <= 1e-22 * factor.normSquared() || factor.count === n;
      const residual = this.residual(index);
      if (dependent && state[index] !== redundant) {
        const size = this.constant(index) + this.norms[index]! * this.largestX;
        if (Math.abs(residual) <= dataRounding * size) {
          state[index] = redundant;
          return 'solved';
        }
      }
      const full = dependent ? Infinity : Math.max(0, (-direction * residual) / curvature);
      const own =
        direction > 0 ? this.upperLimit(index) - dual[index]! : dual[index]! - this.lowerLimit(index);
      let blocked = Infinity;
      let blocker = -1;
      for (let k = 0; k < factor.count; k++) {
        const rate = -direction * stepDual[k]!;
        const member = members[k]!;
        if (rate === 0) continue;
        const room =
          rate > 0 ? this.upperLimit(member) - dual[member]! : dual[member]! - this.lowerLimit(member);
        const reach = Math.max(0, room) / Math.abs(rate);
        if (reach < blocked) {
          blocked = reach;
          blocker = k;
        }
      }
      const step = Math.min(full, own, blocked);
      if (step === Infinity) return 'infeasible';
      dual[index]! += direction * step;
      for (let k = 0; k < factor.count; k++) dual[members[k]!]! -= direction * step * stepDual[k]!;
      if (!dependent && step > 0) {
        factor.primalDirection(stepX);
        for (let i = 0; i < n; i++) x[i]! += direction * step * stepX[i]!;
        this.noteLargest();
      }
      if (step === full) {
        members[factor.count] = index;
        factor.add();
        state[index] = working;
        return 'solved';
      }
      if (step === own) {
        this.settle(index, direction);
        return 'solved';
      }
      const leaving = members[blocker]!;
      this.settle(leaving, -direction * stepDual[blocker]! > 0 ? 1 : -1);
      factor.drop(blocker);
      for (let k = blocker; k < factor.count; k++) members[k] = members[k + 1]!;
    }
  }

  /** Puts a multiplier that has run to a limit exactly there, outside the working set. */
  private settle(index: number, towards: number): void {
    const limit = towards > 0 ? this.upperLimit(index) : this.lowerLimit(index);
    this.dual[index] = limit;
    this.state[index] = limit === 0 ? outside : limit > 0 ? atCap : atMinusCap;
  }

  private noteLargest(): void {
    for (let i = 0; i < this.variableCount; i++)
      this.largestX = Math.max(this.largestX, Math.abs(this.x[i]!));
  }

  /** x and the working multipliers afresh from the working set, without the rounding that the steps have piled up. */
  private refresh(): void {
    const { factor, members, dual, x, scratch, stepX: shifted, stepDual: values } = this;
    const { gradient, matrix, offset, lower, upper } = this.problem!;
    const n = this.variableCount;
    const m = this.multipliers.length;
    shifted.set(gradient);
    for (let i = 0; i < m + 2 * n; i++) {
      if (this.state[i] === working || dual[i] === 0) continue;
      if (i >= m + n) shifted[i - m - n]! += dual[i]!;
      else if (i >= m) shifted[i - m]! -= dual[i]!;
      else for (let j = 0; j < n; j++) shifted[j]! -= dual[i]! * matrix[i * n + j]!;
    }
    for (let k = 0; k < factor.count; k++) {
      const i = members[k]!;
      values[k] = i < m ? -offset[i]! : i < m + n ? lower[i - m]! : -upper[i - m - n]!;
    }
    factor.minimise(shifted, values, scratch, x);
    for (let k = 0; k < factor.count; k++) dual[members[k]!] = values[k]!;
    this.noteLargest();
  }

  private collect(): void {
    const n = this.variableCount;
    const m = this.multipliers.length;
    const { lower, upper } = this.problem!;
    for (let i = 0; i < m; i++) {
      // The refresh can leave −1e-17 on a constraint that holds with multiplier zero.
      this.multipliers[i] = i < this.equalityCount ? this.dual[i]! : Math.max(0, this.dual[i]!);
      if (this.state[i] === atCap || this.state[i] === atMinusCap) this.relaxedCount++;
    }
    for (let i = 0; i < n; i++) {
      const atLower = this.state[m + i] === working;
      const atUpper = this.state[m + n + i] === working;
      this.boundMultipliers[i] = Math.max(0, this.dual[m + i]!) - Math.max(0, this.dual[m + n + i]!);
      if (atLower) this.x[i] = lower[i]!;
      if (atUpper) this.x[i] = upper[i]!;
    }
  }
}
