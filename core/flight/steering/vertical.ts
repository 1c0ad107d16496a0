import type { LaunchFrame, SteeringLaw } from './law.ts';

/** Thrust along the site's vertical of the instant of release, fixed in inertial space. */
export class VerticalLaw implements SteeringLaw {
  readonly alongAir = false;
  private readonly up = new Float64Array(3);

  /** Has no numbers of its own. Unitless. */
  read(): void {
    // Nothing to read.
  }

  /** Keeps the launch vertical (unit vector). */
  start(_t_s: number, _y: Float64Array, launch: LaunchFrame): void {
    this.up.set(launch.up);
  }

  /** Writes the vertical as a unit vector. */
  point(_t_s: number, aim: Float64Array): void {
    aim[0] = this.up[0]!;
    aim[1] = this.up[1]!;
    aim[2] = this.up[2]!;
  }
}
