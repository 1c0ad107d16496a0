import { violationAfter, violationIsStationary } from './elastic.ts';
import { kktResidual, largestViolation } from './kkt.ts';
import { searchAlong } from './lineSearch.ts';
import { updatePenalties, weightedViolation } from './merit.ts';
import type { NlpOptions, NlpProblem, NlpResult, NlpStop } from './problem.ts';
import { buildResult } from './result.ts';
import type { SqpWorkspace } from './workspace.ts';

const defaultPrecision = 1e-14;
/** Penalty weights start no lower than this share of the objective's gradient. */
const penaltyFloor = 1e-3;
/** First limit of the multipliers, in units of the objective's gradient. */
const firstCap = 1e3;
const largestCap = 1e12;
const mostRestorations = 3;
/** Steps in a row that change neither the merit beyond its noise nor the KKT residual. */
const mostIdleSteps = 4;
/** Steps in a row that failed evaluations cut down to next to nothing. */
const mostBlockedSteps = 3;

/**
 * One solve with a workspace: the loop and its few numbers (see `sqp.ts` for the method). Made anew for
 * each solve; the arrays are the workspace's. Scaled quantities inside, dimensionless.
 */
export class SqpRun {
  private readonly w: SqpWorkspace;
  private readonly options: NlpOptions;
  private readonly precision: number;
  private readonly stop: () => boolean;
  private started = false;
  private feasibility = Infinity;
  private kkt = Infinity;
  private iteration = 0;
  private restorations = 0;
  private restoreFrom = Infinity;
  private bestKkt = Infinity;
  private idleSteps = 0;
  private blockedSteps = 0;

  constructor(w: SqpWorkspace, options: NlpOptions) {
    this.w = w;
    this.options = options;
    this.precision = options.precision ?? defaultPrecision;
    this.stop = options.stop ?? (() => false);
  }

  /** Runs from `start` (caller's units) until a named reason to stop; see `sqp.ts`. */
  solve(problem: NlpProblem, start: Float64Array): NlpResult {
    const { w, options } = this;
    w.evaluator.begin(problem, options);
    w.evaluator.enter(start, w.current.x);
    w.phase = 'optimise';
    w.stepLimit = Infinity;
    w.stepShare = 0;
    w.multipliers.fill(0);
    w.boundMultipliers.fill(0);
    w.penalties.fill(0);
    w.hessian.reset(1);
    w.current.objective = NaN;
    if (this.stop()) return this.end('cancelled');
    w.current.objective = w.evaluator.evaluate(w.current.x, w.current.constraints);
    if (Number.isNaN(w.current.objective)) return this.end('startInvalid');
    const { x, constraints, gradient, jacobian } = w.current;
    if (this.stop()) return this.end('cancelled');
    if (!w.evaluator.differentiate(x, gradient, jacobian)) return this.end('startInvalid');
    if (options.scaling?.rows) {
      w.current.objective = w.evaluator.scaleRows(w.current.objective, constraints, gradient, jacobian);
    }
    this.begin();
    this.started = true;
    for (;;) {
      const stop = this.iterate();
      if (stop) return this.end(stop);
    }
  }

  /** Matrix, penalties and multiplier cap at the start. */
  private begin(): void {
    const { w, options } = this;
    let size = 1;
    for (let i = 0; i < w.variableCount; i++) size = Math.max(size, Math.abs(w.current.gradient[i]!));
    if (options.start) {
      w.evaluator.enterWarm(options.start, w.multipliers, w.penalties, w.hessian.matrix);
      if (!w.hessian.load(w.hessian.matrix)) {
        throw new RangeError(
          'options.start.hessian: received an indefinite matrix, allowed a positive definite one',
        );
      }
      for (let i = 0; i < w.constraintCount; i++) size = Math.max(size, Math.abs(w.multipliers[i]!));
    }
    w.cap = firstCap * size;
    w.prepare();
    // As many equalities as variables fix the step by themselves: a neighbour's curvature would only blow up multipliers.
    const square = w.equalityCount >= w.variableCount;
    if (!options.start || square) this.resetHessian();
  }

  /** B = σI with σ such that the projected gradient at the current point makes a step of at most `firstStep`. */
  private resetHessian(): void {
    const { w } = this;
    for (let i = 0; i < w.constraintCount; i++) {
      const value = w.current.constraints[i]!;
      w.shiftedOffset[i] = i < w.equalityCount ? 0 : Math.max(0, value);
    }
    let length = 0;
    if (w.solveAux(w.identity, w.objectiveGradient, w.shiftedOffset, Infinity)) {
      for (let i = 0; i < w.variableCount; i++) length += w.aux.x[i]! ** 2;
    }
    w.hessian.reset(Math.max(1, Math.sqrt(length) / (this.options.firstStep ?? 1)));
  }

  /** One iteration; a reason when it is the last. */
  private iterate(): NlpStop | undefined {
    const { w, options } = this;
    w.prepare();
    if (!this.findStep()) return 'noProgress';
    this.measure();
    const feasible = this.feasibility <= options.feasibilityTolerance;
    if (w.phase === 'optimise' && feasible) {
      if (this.kkt > options.optimalityTolerance) this.tryFirstOrderMultipliers();
      if (this.kkt <= options.optimalityTolerance) return 'converged';
    }
    this.report();
    if (this.iteration >= options.maxIterations) return 'iterationLimit';
    if (w.phase === 'restore' && this.leaveRestoration()) return undefined;
    if (!feasible && w.main.relaxedCount > 0) {
      if (violationIsStationary(w, options.optimalityTolerance)) return 'infeasible';
      if (w.phase === 'optimise' && this.kkt <= 1e-3 && !this.raiseCap()) return this.restore();
    }
    return this.move();
  }

  /** Solves for the step; a matrix that has lost definiteness is replaced once. */
  private findStep(): boolean {
    const { w } = this;
    if (!w.solveMain()) {
      this.resetHessian();
      if (!w.solveMain()) return false;
    }
    w.step.set(w.main.x);
    w.multipliers.set(w.main.multipliers);
    w.boundMultipliers.set(w.main.boundMultipliers);
    return true;
  }

  private measure(): void {
    this.feasibility = largestViolation(this.w.current.constraints, this.w.equalityCount);
    this.kkt = this.kktOf(this.w.multipliers, this.w.boundMultipliers);
  }

  private kktOf(multipliers: Float64Array, boundMultipliers: Float64Array): number {
    const { current, evaluator, equalityCount } = this.w;
    const { lower, upper } = evaluator;
    return kktResidual({ ...current, equalityCount, lower, upper, multipliers, boundMultipliers });
  }

  /**
   * At a feasible point the quadratic programme's multipliers carry B·step, which a poor matrix can make large where the
   * gradient itself projects to nothing. The programme with the identity gives multipliers of the least residual.
   */
  private tryFirstOrderMultipliers(): void {
    const { w } = this;
    if (!w.solveAux(w.identity, w.objectiveGradient, w.current.constraints, Infinity)) return;
    const kkt = this.kktOf(w.aux.multipliers, w.aux.boundMultipliers);
    if (kkt > this.options.optimalityTolerance) return;
    this.kkt = kkt;
    w.multipliers.set(w.aux.multipliers);
    w.boundMultipliers.set(w.aux.boundMultipliers);
  }

  /** Raises the multiplier cap while that lets the step meet more of the linearisation; false when it does not. */
  private raiseCap(): boolean {
    const { w } = this;
    const before = violationAfter(w, w.step);
    while (w.cap < largestCap) {
      w.cap *= 10;
      if (!this.findStep()) return false;
      if (w.main.relaxedCount === 0 || violationAfter(w, w.step) < 0.9 * before) return true;
    }
    return false;
  }

  /** Turns to feasibility alone; the last resort short of it. */
  private restore(): NlpStop | undefined {
    const { w } = this;
    if (this.restorations >= mostRestorations) return 'noProgress';
    this.restorations++;
    this.restoreFrom = this.feasibility;
    w.phase = 'restore';
    w.prepare();
    this.resetHessian();
    return undefined;
  }

  /** Back to the problem once the violation has come down far enough and the linearisation can be met. */
  private leaveRestoration(): boolean {
    const { w, options } = this;
    const near = w.main.relaxedCount === 0 && this.feasibility <= 0.1 * this.restoreFrom;
    if (!near && this.feasibility > options.feasibilityTolerance) return false;
    w.phase = 'optimise';
    w.cap = Math.min(w.cap * 10, largestCap);
    w.prepare();
    this.resetHessian();
    return true;
  }

  /** Line search, matrix update, and what to do when there is no way on. */
  private move(): NlpStop | undefined {
    const { w } = this;
    if (w.phase === 'optimise') {
      let size = 1;
      for (let i = 0; i < w.variableCount; i++) size = Math.max(size, Math.abs(w.current.gradient[i]!));
      updatePenalties(w.penalties, w.multipliers, penaltyFloor * size);
    }
    const outcome = searchAlong(w, this.precision, this.stop);
    if (outcome === 'cancelled') return 'cancelled';
    if (outcome !== 'accepted') {
      if (!w.hessian.fresh) {
        this.resetHessian();
        return undefined;
      }
      if (outcome === 'failed') return 'evaluationFailed';
      if (w.phase === 'optimise' && this.feasibility > this.options.feasibilityTolerance)
        return this.restore();
      return 'noProgress';
    }
    const idle = this.isIdle();
    this.updateHessian();
    w.accept();
    this.iteration++;
    this.idleSteps = idle ? this.idleSteps + 1 : 0;
    this.blockedSteps = w.blocked && this.isShort() ? this.blockedSteps + 1 : 0;
    if (this.blockedSteps >= mostBlockedSteps) return 'evaluationFailed';
    return this.idleSteps >= mostIdleSteps ? 'noProgress' : undefined;
  }

  /** Whether the last step went nowhere, as seen in x. */
  private isShort(): boolean {
    const { moved, current } = this.w;
    let longest = 0;
    let size = 1;
    for (let j = 0; j < moved.length; j++) {
      longest = Math.max(longest, Math.abs(moved[j]!));
      size = Math.max(size, Math.abs(current.x[j]!));
    }
    return longest <= 1e-4 * size;
  }

  /** Whether the accepted step changed neither merit nor KKT residual to speak of. */
  private isIdle(): boolean {
    const { w } = this;
    const improved = this.kkt < 0.9 * this.bestKkt;
    if (improved) this.bestKkt = this.kkt;
    const merit = (objective: number, constraints: Float64Array): number =>
      w.objectiveWeight * objective + weightedViolation(constraints, w.weights, w.equalityCount);
    const before = merit(w.current.objective, w.current.constraints);
    const after = merit(w.trial.objective, w.trial.constraints);
    return !improved && before - after <= 10 * this.precision * Math.max(1, Math.abs(before));
  }

  private updateHessian(): void {
    const { w } = this;
    const n = w.variableCount;
    for (let j = 0; j < n; j++) {
      w.moved[j] = w.trial.x[j]! - w.current.x[j]!;
      let change = w.objectiveWeight * (w.trial.gradient[j]! - w.current.gradient[j]!);
      for (let i = 0; i < w.constraintCount; i++) {
        change -= w.multipliers[i]! * (w.trial.jacobian[i * n + j]! - w.current.jacobian[i * n + j]!);
      }
      w.scratch[j] = change;
    }
    w.hessian.update(w.moved, w.scratch);
  }

  private report(): void {
    const { w, options } = this;
    options.onIteration?.({
      iteration: this.iteration,
      x: w.evaluator.leave(w.current.x),
      objective: w.evaluator.callerObjective(w.current.objective),
      feasibility: this.feasibility,
      kktResidual: this.kkt,
      stepShare: w.stepShare,
      evaluations: w.evaluator.evaluations,
      phase: w.phase,
      relaxed: w.main.relaxedCount,
    });
  }

  private end(stop: NlpStop): NlpResult {
    if (this.started) this.measure();
    return buildResult(this.w, stop, this.feasibility, this.kkt, this.iteration);
  }
}
