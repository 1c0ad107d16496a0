import { EARTH_ROTATION_radps } from '../../constants/physical.ts';
import type { LaunchFrame, SteeringLaw } from './law.ts';
import { writeInPlane } from './plane.ts';

/**
 * Keeps one direction in inertial space: that of the Earth-relative velocity when the law takes effect, within the plane of
 * launch vertical and azimuth at release. After `ZeroAlphaInPlaneLaw` in still air thrust stays where it pointed.
 */
export class HoldInPlaneLaw implements SteeringLaw {
  readonly alongAir = false;
  private readonly kept = new Float64Array(3);

  /** The ground turns at rotation_radps (rad/s). */
  constructor(private readonly rotation_radps: number = EARTH_ROTATION_radps) {}

  /** Has no numbers of its own. Unitless. */
  read(): void {
    // Nothing to read.
  }

  /** Takes the direction from the inertial state y (m, m/s). */
  start(_t_s: number, y: Float64Array, launch: LaunchFrame): void {
    this.kept[0] = y[3]! + this.rotation_radps * y[1]!;
    this.kept[1] = y[4]! - this.rotation_radps * y[0]!;
    this.kept[2] = y[5]!;
    writeInPlane(launch.up, launch.ahead, this.kept, 0, this.kept);
  }

  /** Writes the direction (unit vector) that it keeps. */
  point(_t_s: number, aim: Float64Array): void {
    aim.set(this.kept);
  }
}
