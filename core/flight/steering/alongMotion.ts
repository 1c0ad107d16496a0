import type { SteeringLaw } from './law.ts';

/** From this speed on the velocity alone gives the direction, m/s; common practice for landings, no source. */
const BLEND_mps = 20;

/**
 * Thrust along the velocity (prograde) or against it (retrograde), inertial or against the turning ground. Below 20 m/s
 * the direction goes over smoothly into the local vertical, along the radius and upward, so that it stands still as the
 * vehicle comes to rest.
 */
export class AlongMotionLaw implements SteeringLaw {
  readonly alongAir = false;

  /** `sense` is 1 for prograde, −1 for retrograde; `rotation_radps` the ground's, 0 for the inertial velocity. */
  constructor(
    private readonly sense: 1 | -1,
    private readonly rotation_radps: number,
  ) {}

  /** Has no numbers of its own. Unitless. */
  read(): void {
    // Nothing to read.
  }

  /** Needs no start. Unitless. */
  start(): void {
    // Nothing to keep.
  }

  /** Writes the direction as a unit vector for the inertial state y (m, m/s). */
  point(_t_s: number, aim: Float64Array, y: Float64Array): void {
    const vx = y[3]! + this.rotation_radps * y[1]!;
    const vy = y[4]! - this.rotation_radps * y[0]!;
    const vz = y[5]!;
    const v = Math.sqrt(vx * vx + vy * vy + vz * vz);
    const share = v < BLEND_mps ? smooth(v / BLEND_mps) : 1;
    const along = v > 0 ? (this.sense * share) / v : 0;
    const r = Math.sqrt(y[0]! * y[0]! + y[1]! * y[1]! + y[2]! * y[2]!);
    const upward = (1 - share) / r;
    const dx = along * vx + upward * y[0]!;
    const dy = along * vy + upward * y[1]!;
    const dz = along * vz + upward * y[2]!;
    const d = Math.sqrt(dx * dx + dy * dy + dz * dz);
    // Straight against the vertical at the middle of the blend neither direction is left; the vertical is as good as any.
    const none = !(d > 1e-9);
    aim[0] = none ? y[0]! / r : dx / d;
    aim[1] = none ? y[1]! / r : dy / d;
    aim[2] = none ? y[2]! / r : dz / d;
  }
}

/** From 0 to 1 with two continuous derivatives. */
function smooth(x: number): number {
  return x * x * x * (10 + x * (6 * x - 15));
}
