/**
 * Where the ideal velocity went. Every loss is a quadrature of its own along the flight (see `motion.ts`); that the
 * ideal velocity less the losses is the speed gained against the ground is then a check, not a definition.
 */
import type { Track } from './track.ts';
import { hasLedger } from './motion.ts';
import { EARTH_ROTATION_radps } from '../constants/physical.ts';

/** All in m/s, from release to insertion. A loss is positive when it takes speed away. */
export interface Ledger {
  readonly ideal_mps: number;
  readonly gravity_mps: number;
  readonly drag_mps: number;
  readonly backPressure_mps: number;
  readonly steering_mps: number;
  readonly centrifugal_mps: number;
  /** Speed against the turning ground at the end. */
  readonly speedGained_mps: number;
  /** Ideal less all losses less speed gained: the error of the quadratures. */
  readonly closure_mps: number;
  /** Inertial speed less speed against the ground at the end. */
  readonly relativeToInertial_mps: number;
}

/** Reads the ledger (m/s) off the end of a recorded main track; the ground turns at rotation_radps (rad/s). Throws RangeError when the track kept none. */
export function readLedger(track: Track, rotation_radps: number = EARTH_ROTATION_radps): Ledger {
  if (!hasLedger(track.steps.dimension))
    throw new RangeError(`readLedger: the track "${track.id}" was flown without a ledger`);
  const y = new Float64Array(track.steps.dimension);
  track.steps.sample(track.end_s, y);
  const wx = y[3]! + rotation_radps * y[1]!;
  const wy = y[4]! - rotation_radps * y[0]!;
  const ground = Math.hypot(wx, wy, y[5]!);
  const [ideal, gravity, drag, backPressure, steering, centrifugal] = y.slice(6) as unknown as number[];
  const losses = gravity! + drag! + backPressure! + steering! + centrifugal!;
  return {
    ideal_mps: ideal!,
    gravity_mps: gravity!,
    drag_mps: drag!,
    backPressure_mps: backPressure!,
    steering_mps: steering!,
    centrifugal_mps: centrifugal!,
    speedGained_mps: ground,
    closure_mps: ideal! - losses - ground,
    relativeToInertial_mps: Math.hypot(y[3]!, y[4]!, y[5]!) - ground,
  };
}
