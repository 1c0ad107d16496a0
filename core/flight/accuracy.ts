/** How finely flights are integrated, for solving and for what is shown. */

/** How finely a flight is integrated: relative error a step, and the absolute errors of position (m) and speed (m/s). */
export interface Accuracy {
  readonly relative: number;
  readonly position_m: number;
  readonly speed_mps: number;
}

/** For solving: the steps are short enough that the payload is good to about a gram. */
export const SOLVE_ACCURACY: Accuracy = { relative: 1e-9, position_m: 1e-3, speed_mps: 1e-6 };
/** For the flight that is shown, stored and checked. */
export const RECORD_ACCURACY: Accuracy = { relative: 1e-11, position_m: 1e-4, speed_mps: 1e-8 };
