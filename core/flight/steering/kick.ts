import type { LaunchFrame, SteeringLaw } from './law.ts';

/**
 * Tilts thrust linearly in time from the launch vertical to an angle toward the launch azimuth, both of the instant of
 * release and fixed in inertial space; then holds it.
 */
export class KickLaw implements SteeringLaw {
  readonly alongAir = false;
  private readonly up = new Float64Array(3);
  private readonly ahead = new Float64Array(3);
  private start_s = 0;
  private angle_rad = 0;

  constructor(
    private readonly angleIndex: number,
    private readonly duration_s: number,
  ) {}

  /** Takes the angle (rad). */
  read(values: Float64Array): void {
    this.angle_rad = values[this.angleIndex]!;
  }

  /** Starts the tilt at mission time t_s (s). */
  start(t_s: number, _y: Float64Array, launch: LaunchFrame): void {
    this.start_s = t_s;
    this.up.set(launch.up);
    this.ahead.set(launch.ahead);
  }

  /** Writes the tilted direction as a unit vector; t_s in seconds of mission time. */
  point(t_s: number, aim: Float64Array): void {
    const part = (t_s - this.start_s) / this.duration_s;
    const angle = this.angle_rad * (part < 0 ? 0 : part > 1 ? 1 : part);
    const c = Math.cos(angle);
    const s = Math.sin(angle);
    aim[0] = c * this.up[0]! + s * this.ahead[0]!;
    aim[1] = c * this.up[1]! + s * this.ahead[1]!;
    aim[2] = c * this.up[2]! + s * this.ahead[2]!;
  }
}
