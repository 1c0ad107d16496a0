import { linearise, weightedViolation } from './merit.ts';
import type { SqpWorkspace } from './workspace.ts';

/**
 * `accepted`: `trial` holds the new point with its derivatives; `rejected`: no share of the step lowers the merit;
 * `failed`: nothing along the step could be evaluated; `cancelled`.
 */
export type SearchOutcome = 'accepted' | 'rejected' | 'failed' | 'cancelled';

const sufficientDecrease = 1e-4;
const mostTrials = 30;
/** After this many failures in a row the share is below 1e-10 of the step. */
const mostFailures = 20;
const failureShrink = 0.3;
/** Most that the penalty weights may be raised by to accept a step that brings feasibility. */
const mostRaise = 10;

function violationSum(w: SqpWorkspace, constraints: Float64Array): number {
  return weightedViolation(constraints, w.weights, w.equalityCount);
}

function norm(v: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < v.length; i++) sum += v[i]! * v[i]!;
  return Math.sqrt(sum);
}

/**
 * Factor > 1 by which all penalty weights have to rise for the full step just tried to be acceptable, or 1 when that is no
 * way: the step must halve the violation at least, and the factor be moderate. Weights that just match the multipliers
 * make the merit flat between objective and violation, and it then refuses Newton's step for a second-order trifle.
 */
function penaltyRaise(
  w: SqpWorkspace,
  objectiveSlope: number,
  violation: number,
  linearViolation: number,
): number {
  if (w.phase === 'restore') return 1;
  const rise = w.trial.objective - w.current.objective - sufficientDecrease * objectiveSlope;
  const drop = violation - violationSum(w, w.trial.constraints);
  const gain = drop - sufficientDecrease * (violation - linearViolation);
  return gain >= 0.5 * violation && gain > 0 && rise <= mostRaise * gain
    ? Math.max(1, (1.1 * rise) / gain)
    : 1;
}

/** trial.x = current.x + share·step, kept within the bounds; evaluates there. NaN when that fails. */
function tryStep(w: SqpWorkspace, step: Float64Array, share: number): number {
  const { lower, upper } = w.evaluator;
  for (let i = 0; i < step.length; i++) {
    const value = w.current.x[i]! + share * step[i]!;
    w.trial.x[i] = Math.min(Math.max(value, lower[i]!), upper[i]!);
  }
  w.trial.objective = w.evaluator.evaluate(w.trial.x, w.trial.constraints);
  return w.objectiveWeight * w.trial.objective + violationSum(w, w.trial.constraints);
}

function differentiateTrial(w: SqpWorkspace): boolean {
  return w.evaluator.differentiate(w.trial.x, w.trial.gradient, w.trial.jacobian);
}

/**
 * Second-order correction: the step of the same programme with the constraints' values taken at the end of the full step,
 * cᵢ(x + d) − aᵢ·d, into `aux.x`. Against the Maratos effect (the merit refusing good steps because constraints curve).
 * Source: J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed., section 18.3, equations (18.36) and 15.6.
 */
function correct(w: SqpWorkspace): boolean {
  for (let i = 0; i < w.constraintCount; i++) {
    w.shiftedOffset[i] = w.trial.constraints[i]! - (w.linearised[i]! - w.current.constraints[i]!);
  }
  const cap = w.phase === 'optimise' ? w.cap : 1;
  if (!w.solveAux(w.hessian.matrix, w.objectiveGradient, w.shiftedOffset, cap)) return false;
  // A correction is second order in the step; one that is not small beside it corrects nothing.
  let distance = 0;
  for (let i = 0; i < w.variableCount; i++) distance += (w.aux.x[i]! - w.step[i]!) ** 2;
  return Math.sqrt(distance) <= norm(w.step);
}

/**
 * Finds a share of `workspace.step` that lowers the ℓ1 merit (Armijo's condition, with backtracking by the minimum of a
 * parabola), trying a second-order correction before the first backtracking. An evaluation or differentiation that fails
 * shortens the step, and shortens the next iteration's first trial too.
 *
 * Source: J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed., algorithm 18.3 and section 3.5; the slope is bounded
 * by ω∇f·d + Σρ(violation of the linearisation − violation), their theorem 18.2.
 *
 * @param w the workspace: `step` and the current point are read, `trial`, `stepShare`, `stepLimit` written.
 * @param precision relative noise of the functions (see `NlpOptions.precision`).
 * @param stop asked before each evaluation and differentiation.
 */
export function searchAlong(w: SqpWorkspace, precision: number, stop: () => boolean): SearchOutcome {
  const { current, step } = w;
  linearise(current.constraints, current.jacobian, step, w.linearised);
  const violation = violationSum(w, current.constraints);
  const linearViolation = violationSum(w, w.linearised);
  const merit = w.objectiveWeight * current.objective + violation;
  let objectiveSlope = 0;
  for (let i = 0; i < step.length; i++) objectiveSlope += w.objectiveGradient[i]! * step[i]!;
  const slope = objectiveSlope + linearViolation - violation;
  let weightSum = 0;
  for (let i = 0; i < w.weights.length; i++) weightSum += w.weights[i]!;
  const noise = precision * (Math.abs(w.objectiveWeight * current.objective) + violation + weightSum);
  if (slope > noise) return 'rejected';

  const length = norm(step);
  let share = length > w.stepLimit ? w.stepLimit / length : 1;
  const firstShare = share;
  let failures = 0;
  let anyEvaluated = false;
  let corrected = false;
  for (let trial = 0; trial < mostTrials && failures < mostFailures; trial++) {
    if (stop()) return 'cancelled';
    const value = tryStep(w, step, share);
    if (Number.isNaN(value)) {
      failures++;
      share *= failureShrink;
      continue;
    }
    anyEvaluated = true;
    const allowed = merit + sufficientDecrease * share * slope + noise;
    const raise =
      value > allowed && share === 1 ? penaltyRaise(w, objectiveSlope, violation, linearViolation) : 1;
    if (value <= allowed || raise > 1) {
      if (stop()) return 'cancelled';
      if (differentiateTrial(w)) {
        for (let i = 0; i < w.penalties.length; i++)
          w.penalties[i] = Math.min(w.penalties[i]! * raise, w.cap);
        return finish(w, share, length, failures, firstShare);
      }
      failures++;
      share *= failureShrink;
      continue;
    }
    if (share === 1 && !corrected && violationSum(w, w.trial.constraints) > violation) {
      corrected = true;
      if (correct(w)) {
        if (stop()) return 'cancelled';
        const second = tryStep(w, w.aux.x, 1);
        if (second <= allowed && stop()) return 'cancelled';
        if (second <= allowed && differentiateTrial(w)) return finish(w, 1, length, failures, firstShare);
      }
    }
    const curvature = value - merit - share * slope;
    const parabola = (-0.5 * slope * share * share) / curvature;
    share = Math.min(Math.max(parabola, 0.1 * share), 0.5 * share);
  }
  return anyEvaluated ? 'rejected' : 'failed';
}

function finish(
  w: SqpWorkspace,
  share: number,
  length: number,
  failures: number,
  firstShare: number,
): SearchOutcome {
  w.stepShare = share;
  w.blocked = failures > 0 || (share === firstShare && share < 1);
  if (failures > 0) w.stepLimit = 2 * share * length;
  // The limit opens again, faster than it closed, once steps of its length can be evaluated.
  else if (share === firstShare) w.stepLimit *= 4;
  return 'accepted';
}
