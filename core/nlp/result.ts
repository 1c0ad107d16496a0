import type { NlpResult, NlpStop } from './problem.ts';
import type { SqpWorkspace } from './workspace.ts';

function digits(value: number): string {
  return Number.isFinite(value) ? value.toExponential(1) : 'unknown';
}

function sentence(
  stop: NlpStop,
  feasibility: number,
  kkt: number,
  iterations: number,
  failures: number,
): string {
  const steps = iterations === 1 ? '1 step' : `${iterations} steps`;
  const where = `largest violation ${digits(feasibility)}, KKT residual ${digits(kkt)}`;
  switch (stop) {
    case 'converged':
      return `Converged after ${steps}: ${where}.`;
    case 'infeasible':
      return `The constraints cannot all be met near here: after ${steps} no small change lowers the violation any further (${where}).`;
    case 'noProgress':
      return `No step improves the point any further, yet it does not meet the tolerances (after ${steps}: ${where}).`;
    case 'iterationLimit':
      return `The limit of ${steps} was reached before the tolerances were met (${where}).`;
    case 'evaluationFailed':
      return `Nothing along the next step could be evaluated, however short the step (after ${steps}, ${failures} failed evaluations: ${where}).`;
    case 'cancelled':
      return `Cancelled after ${steps} (${where}).`;
    case 'startInvalid':
      return 'The functions or their derivatives could not be evaluated at the start point.';
  }
}

/** The result of a solve in the caller's units, copied out of the workspace's current point. */
export function buildResult(
  w: SqpWorkspace,
  stop: NlpStop,
  feasibility: number,
  kkt: number,
  iterations: number,
): NlpResult {
  const { evaluator, current, equalityCount } = w;
  const multipliers = evaluator.callerMultipliers(w.multipliers);
  return {
    stop,
    message: sentence(stop, feasibility, kkt, iterations, evaluator.failedEvaluations),
    x: evaluator.leave(current.x).slice(),
    objective: evaluator.callerObjective(current.objective),
    constraints: evaluator.callerConstraints(current.constraints),
    equalityMultipliers: multipliers.slice(0, equalityCount),
    inequalityMultipliers: multipliers.slice(equalityCount),
    boundMultipliers: evaluator.callerBoundMultipliers(w.boundMultipliers),
    kktResidual: kkt,
    feasibility,
    iterations,
    evaluations: evaluator.evaluations,
    failedEvaluations: evaluator.failedEvaluations,
    derivativeEvaluations: evaluator.derivativeEvaluations,
    warm: {
      multipliers,
      penalties: evaluator.callerMultipliers(w.penalties),
      hessian: evaluator.callerHessian(w.hessian.matrix),
    },
  };
}
