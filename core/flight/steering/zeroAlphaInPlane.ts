import type { LaunchFrame, SteeringLaw } from './law.ts';
import { writeInPlane } from './plane.ts';

/**
 * Zero angle of attack within the inertial plane of the launch: thrust along the air-relative velocity less its part
 * normal to the plane of launch vertical and azimuth at release. The turning Earth carries the velocity out of that plane,
 * thrust stays in it.
 */
export class ZeroAlphaInPlaneLaw implements SteeringLaw {
  readonly alongAir = false;
  private up: Float64Array = new Float64Array(3);
  private ahead: Float64Array = new Float64Array(3);

  /** Has no numbers of its own. Unitless. */
  read(): void {
    // Nothing to read.
  }

  /** Takes the plane (unit vectors) of the launch. */
  start(_t_s: number, _y: Float64Array, launch: LaunchFrame): void {
    this.up = launch.up;
    this.ahead = launch.ahead;
  }

  /** Writes the direction of the air-relative velocity within the plane as a unit vector. */
  point(_t_s: number, aim: Float64Array): void {
    writeInPlane(this.up, this.ahead, aim, 0, aim);
  }
}
