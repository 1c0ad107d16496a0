import { Evaluator } from './evaluator.ts';
import { QuasiNewtonHessian } from './hessian.ts';
import { QpSolver, type QpProblem } from './qp.ts';

/** A point with all that has been computed at it (scaled quantities). */
export interface Iterate {
  x: Float64Array;
  objective: number;
  constraints: Float64Array;
  gradient: Float64Array;
  jacobian: Float64Array;
}

function makeIterate(n: number, m: number): Iterate {
  return {
    x: new Float64Array(n),
    objective: NaN,
    constraints: new Float64Array(m),
    gradient: new Float64Array(n),
    jacobian: new Float64Array(m * n),
  };
}

/**
 * All storage of one sequential quadratic programming solver, allocated once for its sizes and used again by every solve:
 * the current point and the one being tried, the two quadratic programmes, and the numbers that pass between the parts.
 * Scaled quantities, dimensionless.
 */
export class SqpWorkspace {
  readonly variableCount: number;
  readonly equalityCount: number;
  readonly constraintCount: number;
  readonly evaluator: Evaluator;
  readonly hessian: QuasiNewtonHessian;
  /** The step's quadratic programme; its multipliers are the current estimates. */
  readonly main: QpSolver;
  /** For corrections, first-order multipliers and the infeasibility test. */
  readonly aux: QpSolver;
  current: Iterate;
  trial: Iterate;
  readonly multipliers: Float64Array;
  readonly boundMultipliers: Float64Array;
  /** ω∇f: the gradient, or zeros while only feasibility counts. */
  readonly objectiveGradient: Float64Array;
  readonly penalties: Float64Array;
  readonly unitPenalties: Float64Array;
  readonly step: Float64Array;
  /** c + A·step. */
  readonly linearised: Float64Array;
  readonly stepLower: Float64Array;
  readonly stepUpper: Float64Array;
  readonly shiftedOffset: Float64Array;
  readonly identity: Float64Array;
  readonly zeros: Float64Array;
  readonly scratch: Float64Array;
  readonly moved: Float64Array;
  phase: 'optimise' | 'restore' = 'optimise';
  /** Most that a constraint's multiplier may grow to. */
  cap = 1;
  /** Longest step (Euclidean) that the last failed evaluations leave sensible. */
  stepLimit = Infinity;
  /** Share of the step taken last. */
  stepShare = 0;
  /** Whether failed evaluations, now or just before, kept the last step short. */
  blocked = false;
  private readonly programme: QpProblem;
  private readonly side: QpProblem;

  constructor(variableCount: number, equalityCount: number, inequalityCount: number) {
    const n = variableCount;
    const m = equalityCount + inequalityCount;
    this.variableCount = n;
    this.equalityCount = equalityCount;
    this.constraintCount = m;
    this.evaluator = new Evaluator(n, m);
    this.hessian = new QuasiNewtonHessian(n);
    this.main = new QpSolver(n, equalityCount, inequalityCount);
    this.aux = new QpSolver(n, equalityCount, inequalityCount);
    this.current = makeIterate(n, m);
    this.trial = makeIterate(n, m);
    this.multipliers = new Float64Array(m);
    this.boundMultipliers = new Float64Array(n);
    this.objectiveGradient = new Float64Array(n);
    this.penalties = new Float64Array(m);
    this.unitPenalties = new Float64Array(m).fill(1);
    this.step = new Float64Array(n);
    this.linearised = new Float64Array(m);
    this.stepLower = new Float64Array(n);
    this.stepUpper = new Float64Array(n);
    this.shiftedOffset = new Float64Array(m);
    this.identity = new Float64Array(n * n);
    for (let i = 0; i < n; i++) this.identity[i * n + i] = 1;
    this.zeros = new Float64Array(n);
    this.scratch = new Float64Array(n);
    this.moved = new Float64Array(n);
    const shared = {
      gradient: this.objectiveGradient,
      matrix: this.current.jacobian,
      lower: this.stepLower,
      upper: this.stepUpper,
      cap: Infinity,
    };
    this.programme = { ...shared, hessian: this.hessian.matrix, offset: this.current.constraints };
    this.side = { ...shared, hessian: this.identity, offset: this.shiftedOffset };
  }

  /** Penalty weights of the phase. */
  get weights(): Float64Array {
    return this.phase === 'optimise' ? this.penalties : this.unitPenalties;
  }

  /** Weight ω of the objective in the phase. */
  get objectiveWeight(): number {
    return this.phase === 'optimise' ? 1 : 0;
  }

  /** Bounds of a step from the current point, and the phase's gradient. */
  prepare(): void {
    const { x, gradient } = this.current;
    const { lower, upper } = this.evaluator;
    for (let i = 0; i < this.variableCount; i++) {
      this.stepLower[i] = lower[i]! - x[i]!;
      this.stepUpper[i] = upper[i]! - x[i]!;
      this.objectiveGradient[i] = this.objectiveWeight * gradient[i]!;
    }
  }

  /** The step's programme at the current point with the matrix B; false when B is not positive definite or the programme fails. */
  solveMain(): boolean {
    this.programme.matrix = this.current.jacobian;
    this.programme.offset = this.current.constraints;
    this.programme.cap = this.phase === 'optimise' ? this.cap : 1;
    return this.main.solve(this.programme) === 'solved';
  }

  /** A side programme at the current point with `hessian`, `gradient`, `offset` and multiplier `cap`. */
  solveAux(hessian: Float64Array, gradient: Float64Array, offset: Float64Array, cap: number): boolean {
    this.side.hessian = hessian;
    this.side.gradient = gradient;
    this.side.offset = offset;
    this.side.matrix = this.current.jacobian;
    this.side.cap = cap;
    return this.aux.solve(this.side) === 'solved';
  }

  /** The tried point becomes the current one. */
  accept(): void {
    const previous = this.current;
    this.current = this.trial;
    this.trial = previous;
  }
}
