/** Held steps flown again with their lengths changed, where the end of a segment depends on the flight itself. */
import type { StepStore } from '../ode/dense.ts';
import type { StepObserver } from '../ode/replay.ts';
import type { Monitor } from '../ode/driver.ts';
import type { DormandPrinceStepper } from '../ode/stepper.ts';
import type { OdeSystem } from '../ode/system.ts';

/** Most repetitions of a step whose length is solved for, and how closely it is to be found, s. */
const MOST_TRIES = 30;
const CLOSE_s = 1e-12;
const GOOD_s = 1e-9;

/**
 * Takes held steps `from` to `to` (exclusive) again from (t_s, y), y in place, each `stretch` times as long; returns the
 * time reached. A smooth function of t_s, y and stretch. Mission time in s, the system's own units.
 */
export function stretchSteps(
  system: OdeSystem,
  stepper: DormandPrinceStepper,
  steps: StepStore,
  from: number,
  to: number,
  t_s: number,
  stretch: number,
  y: Float64Array,
  observer: StepObserver | null = null,
): number {
  let t = t_s;
  for (let i = from; i < to; i++) {
    const h = stretch * steps.lengthOf(i);
    // Each step sees its own right-hand side: a segment's first does not begin where the last one's ended.
    system.setPiece(steps.pieceOf(i));
    stepper.begin(system, t, y);
    stepper.step(system, t, y, h);
    observer?.taken(i, t, h, y);
    stepper.accept(y);
    t += h;
  }
  return t;
}

/**
 * Takes one held step from (t_s, y), y in place, with the length at which the monitor's value is zero, by secants on the
 * step taken again; returns the time there, NaN when it is not found to 1e-9 s. Mission time in s, the system's own units.
 */
export function landStep(
  system: OdeSystem,
  stepper: DormandPrinceStepper,
  steps: StepStore,
  step: number,
  t_s: number,
  y: Float64Array,
  monitor: Monitor,
  observer: StepObserver | null = null,
): number {
  system.setPiece(steps.pieceOf(step));
  stepper.begin(system, t_s, y);
  const miss = (h: number): number => {
    stepper.step(system, t_s, y, h);
    return monitor.value(t_s + h, stepper.yEnd);
  };
  let before = steps.lengthOf(step);
  let missBefore = miss(before);
  let h = before + 1e-6;
  let change = Number.POSITIVE_INFINITY;
  for (let i = 0; i < MOST_TRIES && Math.abs(change) > CLOSE_s; i++) {
    const missHere = miss(h);
    if (missHere === missBefore) break;
    const next = (-missHere * (h - before)) / (missHere - missBefore);
    // Nothing but rounding is left, which secants only make worse.
    if (Math.abs(change) < GOOD_s && Math.abs(next) >= Math.abs(change)) break;
    change = next;
    before = h;
    missBefore = missHere;
    h += change;
  }
  if (!(Math.abs(change) < GOOD_s)) return Number.NaN;
  stepper.step(system, t_s, y, h);
  observer?.taken(step, t_s, h, y);
  stepper.accept(y);
  return t_s + h;
}
