/** A flight over a held step sequence. */
import type { StepStore } from './dense.ts';
import type { DormandPrinceStepper } from './stepper.ts';
import type { OdeSystem } from './system.ts';

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
    stepper.step(system, t, y, steps.lengthOf(i));
    stepper.accept(y);
  }
}
