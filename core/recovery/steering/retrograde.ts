import { EARTH_ROTATION_radps } from '../../constants/physical.ts';
import type { SteeringLaw } from '../../flight/steering/law.ts';

/** Below this speed against the ground the law leaves the velocity for the vertical, since a velocity near zero has no direction. m/s */
const BLEND_mps = 20;

/** Thrust against the air-relative velocity, blended to the vertical (the radius) below 20 m/s. */
export class RetrogradeLaw implements SteeringLaw {
  readonly alongAir = false;

  /** Has no numbers. Unitless. */
  read(): void {
    // Nothing to read.
  }

  /** Needs no start. Unitless. */
  start(): void {
    // Nothing to keep.
  }

  /** Turns the air-relative direction round, as a unit vector; y inertial, m and m/s. */
  point(_t_s: number, aim: Float64Array, y: Float64Array): void {
    const x = y[0]!;
    const yy = y[1]!;
    const z = y[2]!;
    const wx = y[3]! + EARTH_ROTATION_radps * yy;
    const wy = y[4]! - EARTH_ROTATION_radps * x;
    const wz = y[5]!;
    const speed = Math.sqrt(wx * wx + wy * wy + wz * wz);
    const s = speed / BLEND_mps;
    // Smooth at both ends: 3 s² − 2 s³.
    const share = s >= 1 ? 1 : s * s * (3 - 2 * s);
    const r = Math.sqrt(x * x + yy * yy + z * z);
    const dx = -share * aim[0]! + ((1 - share) * x) / r;
    const dy = -share * aim[1]! + ((1 - share) * yy) / r;
    const dz = -share * aim[2]! + ((1 - share) * z) / r;
    const d = Math.sqrt(dx * dx + dy * dy + dz * dz);
    if (!(d > 1e-6)) {
      aim[0] = x / r;
      aim[1] = yy / r;
      aim[2] = z / r;
      return;
    }
    aim[0] = dx / d;
    aim[1] = dy / d;
    aim[2] = dz / d;
  }
}
