import type { NlpOptions, NlpProblem, WarmStart } from './problem.ts';

/**
 * The only door from the solver to the caller's problem: counts calls, turns every kind of failure into NaN or false, and
 * scales.
 *
 * Scaling: the solver works with x̃ = x / typicalSize, f̃ = f · objectiveScale, c̃ᵢ = cᵢ · rowScaleᵢ. Without scaling options
 * all factors are one. With `rows`, objectiveScale and rowScale are the reciprocals of the largest entry of the gradient
 * and of each Jacobian row with respect to x̃ at the start point (1 where that is below 1e-8: nothing to go by).
 * Multipliers go back as λ = λ̃ · rowScale / objectiveScale, the Hessian as B = T⁻¹ B̃ T⁻¹ / objectiveScale.
 * Scaled quantities are dimensionless; the caller's have the caller's units.
 */
export class Evaluator {
  evaluations = 0;
  failedEvaluations = 0;
  derivativeEvaluations = 0;
  /** Scaled bounds, n each. */
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  /** Caller's x of the last call. */
  readonly callerX: Float64Array;
  private readonly typicalSize: Float64Array;
  private readonly rowScale: Float64Array;
  private objectiveScale = 1;
  private problem!: NlpProblem;

  constructor(variableCount: number, constraintCount: number) {
    this.lower = new Float64Array(variableCount);
    this.upper = new Float64Array(variableCount);
    this.callerX = new Float64Array(variableCount);
    this.typicalSize = new Float64Array(variableCount);
    this.rowScale = new Float64Array(constraintCount);
  }

  /** Starts a new solve: counts at zero, row scales at one. */
  begin(problem: NlpProblem, options: NlpOptions): void {
    this.problem = problem;
    this.evaluations = 0;
    this.failedEvaluations = 0;
    this.derivativeEvaluations = 0;
    this.objectiveScale = 1;
    this.rowScale.fill(1);
    this.typicalSize.fill(1);
    if (options.scaling?.typicalSize) this.typicalSize.set(options.scaling.typicalSize);
    for (let i = 0; i < this.lower.length; i++) {
      this.lower[i] = problem.lower[i]! / this.typicalSize[i]!;
      this.upper[i] = problem.upper[i]! / this.typicalSize[i]!;
    }
  }

  /** Scaled x of the caller's `start`, moved into the bounds. */
  enter(start: Float64Array, x: Float64Array): void {
    for (let i = 0; i < x.length; i++) {
      x[i] = Math.min(Math.max(start[i]! / this.typicalSize[i]!, this.lower[i]!), this.upper[i]!);
    }
  }

  /** Writes the caller's x into `callerX`; never outside the caller's bounds, whatever rounding says. */
  leave(x: Float64Array): Float64Array {
    const { lower, upper } = this.problem;
    for (let i = 0; i < x.length; i++) {
      this.callerX[i] = Math.min(Math.max(x[i]! * this.typicalSize[i]!, lower[i]!), upper[i]!);
    }
    return this.callerX;
  }

  /** Scaled objective, scaled constraints into `constraints`; NaN when x cannot be evaluated. */
  evaluate(x: Float64Array, constraints: Float64Array): number {
    this.evaluations++;
    const objective = this.problem.evaluate(this.leave(x), constraints) * this.objectiveScale;
    let usable = Number.isFinite(objective);
    for (let i = 0; usable && i < constraints.length; i++) {
      constraints[i]! *= this.rowScale[i]!;
      usable = Number.isFinite(constraints[i]!);
    }
    if (usable) return objective;
    this.failedEvaluations++;
    return NaN;
  }

  /** Scaled derivatives at the x of the evaluation just before; false when they cannot be had. */
  differentiate(x: Float64Array, gradient: Float64Array, jacobian: Float64Array): boolean {
    this.derivativeEvaluations++;
    if (!this.problem.differentiate(this.leave(x), gradient, jacobian)) return false;
    const n = gradient.length;
    let sum = 0;
    for (let j = 0; j < n; j++) {
      gradient[j]! *= this.typicalSize[j]! * this.objectiveScale;
      sum += Math.abs(gradient[j]!);
    }
    for (let i = 0, at = 0; i < this.rowScale.length; i++) {
      for (let j = 0; j < n; j++, at++) {
        jacobian[at]! *= this.typicalSize[j]! * this.rowScale[i]!;
        sum += Math.abs(jacobian[at]!);
      }
    }
    return Number.isFinite(sum);
  }

  /** Chooses row scales from the derivatives at the start and applies them to what has been computed there; returns the scaled objective. */
  scaleRows(
    objective: number,
    constraints: Float64Array,
    gradient: Float64Array,
    jacobian: Float64Array,
  ): number {
    const n = gradient.length;
    const factorOf = (values: Float64Array, offset: number): number => {
      let largest = 0;
      for (let j = 0; j < n; j++) largest = Math.max(largest, Math.abs(values[offset + j]!));
      return largest > 1e-8 ? 1 / largest : 1;
    };
    this.objectiveScale = factorOf(gradient, 0);
    for (let j = 0; j < n; j++) gradient[j]! *= this.objectiveScale;
    for (let i = 0; i < this.rowScale.length; i++) {
      const factor = factorOf(jacobian, i * n);
      this.rowScale[i] = factor;
      constraints[i]! *= factor;
      for (let j = 0; j < n; j++) jacobian[i * n + j]! *= factor;
    }
    return objective * this.objectiveScale;
  }

  /** f in the caller's units. */
  callerObjective(objective: number): number {
    return objective / this.objectiveScale;
  }

  /** c and g in the caller's units. */
  callerConstraints(constraints: Float64Array): Float64Array {
    return constraints.map((value, i) => value / this.rowScale[i]!);
  }

  /** λ and μ in the caller's units. */
  callerMultipliers(multipliers: Float64Array): Float64Array {
    return multipliers.map((value, i) => (value * this.rowScale[i]!) / this.objectiveScale);
  }

  /** ν in the caller's units. */
  callerBoundMultipliers(multipliers: Float64Array): Float64Array {
    return multipliers.map((value, i) => value / (this.typicalSize[i]! * this.objectiveScale));
  }

  /** B in the caller's units. */
  callerHessian(hessian: Float64Array): Float64Array {
    const n = this.lower.length;
    return hessian.map(
      (value, at) =>
        value / (this.typicalSize[Math.floor(at / n)]! * this.typicalSize[at % n]! * this.objectiveScale),
    );
  }

  /** Scaled multipliers, penalties and Hessian of a warm start, into the solver's arrays. */
  enterWarm(
    warm: WarmStart,
    multipliers: Float64Array,
    penalties: Float64Array,
    hessian: Float64Array,
  ): void {
    const n = this.lower.length;
    for (let i = 0; i < multipliers.length; i++) {
      const factor = this.objectiveScale / this.rowScale[i]!;
      multipliers[i] = warm.multipliers[i]! * factor;
      penalties[i] = warm.penalties[i]! * factor;
    }
    for (let i = 0, at = 0; i < n; i++) {
      for (let j = 0; j < n; j++, at++) {
        hessian[at] = warm.hessian[at]! * this.typicalSize[i]! * this.typicalSize[j]! * this.objectiveScale;
      }
    }
  }
}
