/** The axes that a law counts its angles in: fixed in inertial space from the instant at which the law takes effect. */
import type { LaunchFrame } from './law.ts';

/** Below this horizontal speed the velocity gives no direction and the launch azimuth's is taken, m/s. */
const STILL_mps = 1e-3;

/**
 * `launch`: the site's vertical and the launch azimuth's horizontal, both of the instant of release. `start`: the radius at
 * the law's start, and at right angles to it the direction of the inertial velocity then.
 */
export type AxesKind = 'launch' | 'start';

/** Three unit vectors in the inertial frame, a right-handed set in the order right, ahead, up. */
export class Axes {
  readonly up = new Float64Array(3);
  readonly ahead = new Float64Array(3);
  readonly right = new Float64Array(3);

  constructor(private readonly kind: AxesKind) {}

  /** Fixes the axes for a law that starts with the inertial state y (m, m/s). Allocates nothing. */
  start(y: Float64Array, launch: LaunchFrame): void {
    const { up, ahead, right } = this;
    if (this.kind === 'launch') {
      up.set(launch.up);
      ahead.set(launch.ahead);
    } else {
      const r = Math.sqrt(y[0]! * y[0]! + y[1]! * y[1]! + y[2]! * y[2]!);
      for (let i = 0; i < 3; i++) up[i] = y[i]! / r;
      if (!this.lay(y[3]!, y[4]!, y[5]!, STILL_mps)) {
        this.lay(launch.ahead[0]!, launch.ahead[1]!, launch.ahead[2]!, 0);
      }
    }
    right[0] = ahead[1]! * up[2]! - ahead[2]! * up[1]!;
    right[1] = ahead[2]! * up[0]! - ahead[0]! * up[2]!;
    right[2] = ahead[0]! * up[1]! - ahead[1]! * up[0]!;
  }

  /** Lays `ahead` along the horizontal part of a vector; false when that is no longer than `least`. */
  private lay(x: number, y: number, z: number, least: number): boolean {
    const { up, ahead } = this;
    const along = x * up[0]! + y * up[1]! + z * up[2]!;
    const hx = x - along * up[0]!;
    const hy = y - along * up[1]!;
    const hz = z - along * up[2]!;
    const h = Math.sqrt(hx * hx + hy * hy + hz * hz);
    if (!(h > least)) return false;
    ahead[0] = hx / h;
    ahead[1] = hy / h;
    ahead[2] = hz / h;
    return true;
  }

  /**
   * Writes the unit vector of a pitch (rad, above the horizontal in the plane of `ahead` and `up`) and a yaw (rad, out of
   * that plane toward `right`) into `aim`.
   */
  point(pitch_rad: number, yaw_rad: number, aim: Float64Array): void {
    const { up, ahead, right } = this;
    const level = Math.cos(yaw_rad);
    const a = level * Math.cos(pitch_rad);
    const u = level * Math.sin(pitch_rad);
    const s = Math.sin(yaw_rad);
    for (let i = 0; i < 3; i++) aim[i] = a * ahead[i]! + u * up[i]! + s * right[i]!;
  }
}
