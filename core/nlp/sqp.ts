import { checkOptions, checkProblem } from './problem.ts';
import type { NlpOptions, NlpProblem, NlpResult } from './problem.ts';
import { SqpRun } from './sqpRun.ts';
import { SqpWorkspace } from './workspace.ts';

/**
 * Sequential quadratic programming for small dense problems with expensive evaluations that may fail.
 *
 * Each iteration solves a quadratic programme with a damped BFGS matrix for the Lagrangian and the linearised constraints,
 * and searches along its solution with the ℓ1 merit function and a second-order correction. Constraint multipliers are
 * capped (the elastic form of `qp.ts`), so a linearisation that cannot be met is charged for instead of stopping the
 * solve; when that gets stuck short of feasibility, the violation alone is minimised ("restore") until the problem can go
 * on or a stationary point of the violation is found. With as many equalities as variables the step is Newton's, with
 * the same safeguard.
 *
 * Source: J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed., algorithm 18.3; P. E. Gill, W. Murray, M. A. Saunders,
 * "SNOPT: an SQP algorithm for large-scale constrained optimization", SIAM Review 47 (2005) 99–131 (elastic mode).
 *
 * Storage is allocated once in the constructor and used again by each `solve` (not reentrant); a solve itself allocates
 * only its result, whose largest part is one n×n matrix. Units are the caller's; with scaled problems dimensionless.
 */
export class SqpSolver {
  private readonly w: SqpWorkspace;
  private readonly inequalityCount: number;

  /** A solver for problems of exactly these sizes: n ≥ 1 variables, and numbers of equalities and inequalities ≥ 0. */
  constructor(variableCount: number, equalityCount: number, inequalityCount: number) {
    this.w = new SqpWorkspace(variableCount, equalityCount, inequalityCount);
    this.inequalityCount = inequalityCount;
  }

  /** Whether `problem` has this solver's sizes. */
  fits(problem: NlpProblem): boolean {
    return (
      problem.variableCount === this.w.variableCount &&
      problem.equalityCount === this.w.equalityCount &&
      problem.inequalityCount === this.inequalityCount
    );
  }

  /**
   * Minimises from `start` (n; moved into the bounds first). The last point that the problem saw need not be the result's:
   * evaluate again if the problem keeps state.
   *
   * @throws RangeError for a caller's error: sizes, bounds, options or a warm start that do not fit, naming what was received
   * and what is allowed. What the problem's own functions throw passes through.
   * @returns always a result; every numerical failure is a named {@link NlpStop}, with the best point known.
   */
  solve(problem: NlpProblem, start: Float64Array, options: NlpOptions): NlpResult {
    if (!this.fits(problem)) {
      const { variableCount: n, equalityCount: e } = this.w;
      throw new RangeError(
        `problem: received ${problem.variableCount} variables, ${problem.equalityCount} equalities, ` +
          `${problem.inequalityCount} inequalities, allowed ${n}, ${e}, ${this.inequalityCount} (the solver's sizes)`,
      );
    }
    checkProblem(problem, start);
    checkOptions(options, problem);
    return new SqpRun(this.w, options).solve(problem, start);
  }
}

/** Solves once with a solver of its own, in the caller's units. See {@link SqpSolver.solve}. */
export function solveNlp(problem: NlpProblem, start: Float64Array, options: NlpOptions): NlpResult {
  checkProblem(problem, start);
  return new SqpSolver(problem.variableCount, problem.equalityCount, problem.inequalityCount).solve(
    problem,
    start,
    options,
  );
}
