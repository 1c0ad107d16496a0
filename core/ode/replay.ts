/** A flight over a held step sequence. */
import type { StepStore } from './dense.ts';
import type { DormandPrinceStepper } from './stepper.ts';
import type { OdeSystem } from './system.ts';

/** Sees each step of a flight over held steps while the stepper still has its slopes, so that it can be interpolated. */
export interface StepObserver {
  /** Step `step` of the held sequence has been tried from (t, y) with length h, in the system's units. */
  taken(step: number, t: number, h: number, y: Float64Array): void;
}

/**
 * Takes the steps `from` (inclusive) to `to` (exclusive) of a held sequence again, with their lengths and pieces, from
 * (t, y) in place. No step-size control, no event location: the result is a smooth function of the state and of the
 * system's parameters, fit for differencing. Units are the system's own. A NaN runs through to the result.
 */
export function replaySteps(
  system: OdeSystem,
  stepper: DormandPrinceStepper,
  steps: StepStore,
  from: number,
  to: number,
  y: Float64Array,
  observer: StepObserver | null = null,
): void {
  let piece = Number.NaN;
  for (let i = from; i < to; i++) {
    const t = steps.timeOf(i);
    const code = steps.pieceOf(i);
    if (code !== piece) {
      system.setPiece(code);
      stepper.begin(system, t, y);
      piece = code;
    }
    const h = steps.lengthOf(i);
    stepper.step(system, t, y, h);
    observer?.taken(i, t, h, y);
    stepper.accept(y);
  }
}
