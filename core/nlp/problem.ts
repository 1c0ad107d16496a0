/**
 * What the nonlinear programming solver is given and what it hands back. Nothing here knows what the numbers mean.
 *
 *   minimise f(x)   subject to   c(x) = 0,   g(x) ≥ 0,   l ≤ x ≤ u,
 *
 * Lagrangian and signs, everywhere in this folder: L = f − λᵀc − μᵀg − νᵀx, with μ ≥ 0, and ν ≥ 0 where a lower bound
 * holds a variable, ν ≤ 0 where an upper bound does. So λ and μ are the rates of change of the least f when a right-hand
 * side is raised: with c(x) = ε the least f changes by λ per unit of ε, with g(x) ≥ ε by μ.
 */
export interface NlpProblem {
  /** n ≥ 1. */
  readonly variableCount: number;
  /** Number of equalities c. */
  readonly equalityCount: number;
  /** Number of inequalities g(x) ≥ 0. */
  readonly inequalityCount: number;
  /** Bounds, n each; −Infinity and Infinity for none. The solver never evaluates outside them. */
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  /**
   * Objective at x, and the constraints (equalities, then inequalities) into `constraints`. NaN, an infinite value, or a
   * constraint that is not finite means that x cannot be evaluated: the solver then shortens its step.
   */
  evaluate(x: Float64Array, constraints: Float64Array): number;
  /**
   * Gradient (n) and Jacobian (m×n row-major) at x, which is always the x of the evaluation just before. False, or an
   * entry that is not finite, means that it cannot be done: the solver then shortens its step.
   */
  differentiate(x: Float64Array, gradient: Float64Array, jacobian: Float64Array): boolean;
}

/** What a neighbouring solve passes on; in the caller's units, whatever the scaling was. */
export interface WarmStart {
  /** λ then μ, m. */
  readonly multipliers: Float64Array;
  /** Penalty weights of the merit function, m. */
  readonly penalties: Float64Array;
  /** Approximate Hessian of the Lagrangian, n×n row-major, positive definite. */
  readonly hessian: Float64Array;
}

/** Internal scaling; see `evaluator.ts`. */
export interface NlpScaling {
  /** Typical size of each variable, n, all > 0: the solver works with x / typicalSize. Default: ones. */
  typicalSize?: Float64Array;
  /** Divide objective and constraints by the largest entry of their scaled gradient at the start. Default: false. */
  rows?: boolean;
}

export interface NlpIteration {
  /** 0 at the start point. */
  readonly iteration: number;
  /** The solver's own array, in the caller's units: copy it to keep it. */
  readonly x: Float64Array;
  readonly objective: number;
  readonly feasibility: number;
  readonly kktResidual: number;
  /** Share of the step that was taken to come here (1 = the whole step). */
  readonly stepShare: number;
  readonly evaluations: number;
  /** What the solver is working on: the problem, or (after it got stuck) feasibility alone. */
  readonly phase: 'optimise' | 'restore';
  /** Constraints whose linearisation could not be met at an acceptable price in this iteration. */
  readonly relaxed: number;
}

export interface NlpOptions {
  /** Largest violation of any constraint at a converged point, > 0, in the (scaled) constraints' units. */
  feasibilityTolerance: number;
  /** Largest scaled KKT residual at a converged point, > 0 (see `kkt.ts`). */
  optimalityTolerance: number;
  /** Most steps, ≥ 0. */
  maxIterations: number;
  /** Multipliers and Hessian of a neighbouring solve. */
  start?: WarmStart;
  scaling?: NlpScaling;
  /**
   * Length of the first step of a cold start in a direction that no constraint fixes, > 0, in (scaled) x. Default 1.
   * A warm start does not use it.
   */
  firstStep?: number;
  /** Relative noise of objective and constraints, ≥ 0: a merit that rises by less than this is not held against a step. Default 1e-14. */
  precision?: number;
  /** Asked before every evaluation and differentiation; true ends the solve with `cancelled`. */
  stop?: () => boolean;
  onIteration?: (iteration: NlpIteration) => void;
}

/**
 * Why the solver stopped: `converged` (feasible and KKT residual within tolerance; nothing else is called so);
 * `infeasible` (a stationary point of the constraint violation, locally); `noProgress` (no acceptable step, or none that
 * changes anything); `iterationLimit`; `evaluationFailed` (no step, however short, could be evaluated); `cancelled`;
 * `startInvalid` (the start point itself could not be evaluated).
 */
export type NlpStop =
  | 'converged'
  | 'infeasible'
  | 'noProgress'
  | 'iterationLimit'
  | 'evaluationFailed'
  | 'cancelled'
  | 'startInvalid';

export interface NlpResult {
  readonly stop: NlpStop;
  /** One sentence for people. */
  readonly message: string;
  readonly x: Float64Array;
  /** NaN only with `startInvalid`, or `cancelled` before the first evaluation. */
  readonly objective: number;
  readonly constraints: Float64Array;
  /** λ. */
  readonly equalityMultipliers: Float64Array;
  /** μ ≥ 0. */
  readonly inequalityMultipliers: Float64Array;
  /** ν: positive at a lower bound, negative at an upper one. */
  readonly boundMultipliers: Float64Array;
  /** Scaled KKT residual and largest violation, as compared with the tolerances (so of the scaled problem, if scaled). */
  readonly kktResidual: number;
  readonly feasibility: number;
  /** Steps taken. */
  readonly iterations: number;
  readonly evaluations: number;
  /** Evaluations that could not be done (part of `evaluations`). */
  readonly failedEvaluations: number;
  readonly derivativeEvaluations: number;
  /** For a neighbouring solve. */
  readonly warm: WarmStart;
}

function fail(path: string, received: unknown, allowed: string): never {
  throw new RangeError(`${path}: received ${String(received)}, allowed ${allowed}`);
}

function checkLength(path: string, array: Float64Array, length: number): void {
  if (array.length !== length) fail(`${path}.length`, array.length, String(length));
}

function checkFinite(path: string, array: Float64Array): void {
  for (let i = 0; i < array.length; i++) {
    if (!Number.isFinite(array[i]!)) fail(`${path}[${i}]`, array[i], 'a finite number');
  }
}

function checkSymmetric(path: string, matrix: Float64Array, n: number): void {
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) {
      const a = matrix[i * n + j]!;
      const b = matrix[j * n + i]!;
      // Unscaling and scaling again may cost the last digits of either.
      if (Math.abs(a - b) > 1e-12 * (Math.abs(a) + Math.abs(b))) {
        fail(`${path}[${i * n + j}]`, a, `the same as [${j * n + i}] = ${b} (symmetric)`);
      }
    }
  }
}

function checkCount(path: string, value: number, least: number): void {
  if (!Number.isInteger(value) || value < least) fail(path, value, `an integer ≥ ${least}`);
}

/** Throws a RangeError naming the argument, what was received and what is allowed, when a problem's shape or bounds are wrong. */
export function checkProblem(problem: NlpProblem, start: Float64Array): void {
  const n = problem.variableCount;
  checkCount('problem.variableCount', n, 1);
  checkCount('problem.equalityCount', problem.equalityCount, 0);
  checkCount('problem.inequalityCount', problem.inequalityCount, 0);
  checkLength('problem.lower', problem.lower, n);
  checkLength('problem.upper', problem.upper, n);
  for (let i = 0; i < n; i++) {
    const low = problem.lower[i]!;
    const high = problem.upper[i]!;
    if (!(low < Infinity)) fail(`problem.lower[${i}]`, low, 'a number below Infinity');
    if (!(high > -Infinity)) fail(`problem.upper[${i}]`, high, 'a number above -Infinity');
    if (!(low <= high)) fail(`problem.upper[${i}]`, high, `at least problem.lower[${i}] = ${low}`);
  }
  checkLength('start', start, n);
  checkFinite('start', start);
}

/** Throws a RangeError as {@link checkProblem} does, when options are out of range or a warm start does not fit the problem. */
export function checkOptions(options: NlpOptions, problem: NlpProblem): void {
  const n = problem.variableCount;
  const m = problem.equalityCount + problem.inequalityCount;
  const positive = (path: string, value: number | undefined): void => {
    if (value !== undefined && !(value > 0 && value < Infinity)) fail(path, value, 'a finite number > 0');
  };
  positive('options.feasibilityTolerance', options.feasibilityTolerance);
  positive('options.optimalityTolerance', options.optimalityTolerance);
  positive('options.firstStep', options.firstStep);
  checkCount('options.maxIterations', options.maxIterations, 0);
  const precision = options.precision;
  if (precision !== undefined && !(precision >= 0 && precision < 1)) {
    fail('options.precision', precision, 'a number in [0, 1)');
  }
  const typical = options.scaling?.typicalSize;
  if (typical) {
    checkLength('options.scaling.typicalSize', typical, n);
    for (let i = 0; i < n; i++) positive(`options.scaling.typicalSize[${i}]`, typical[i]);
  }
  if (options.start) {
    checkLength('options.start.multipliers', options.start.multipliers, m);
    checkFinite('options.start.multipliers', options.start.multipliers);
    checkLength('options.start.penalties', options.start.penalties, m);
    checkFinite('options.start.penalties', options.start.penalties);
    checkLength('options.start.hessian', options.start.hessian, n * n);
    checkFinite('options.start.hessian', options.start.hessian);
    checkSymmetric('options.start.hessian', options.start.hessian, n);
  }
}
