/**
 * The target orbit as residuals of the insertion state, which is the target's perigee: radius, radial and horizontal speed;
 * with an inclination also the polar part of the angular momentum. No angles, which are undefined somewhere; and not energy
 * and angular momentum, which are parallel near the perigee of a nearly circular orbit and make the solve ill-conditioned.
 * Insertion elsewhere on the ellipse is worth little: 0.03 kg of 440 for a 220 × 510 km target.
 *
 * Scaled so that 1 is 10 km or 100 m/s.
 */
import { EARTH_EQUATORIAL_RADIUS_m, EARTH_GM_m3ps2 } from '../constants/physical.ts';
import type { Target } from '../contract/study.ts';

const LENGTH_m = 1e4;
const SPEED_mps = 1e2;

/** Residuals of the target orbit; SI in, dimensionless out. See the top of the file. */
export class OrbitTarget {
  readonly count: number;
  /** Speed at insertion into the target's perigee, inertial, m/s; the scale of what the ascent must give. */
  readonly speed_mps: number;
  readonly radius_m: number;
  private readonly energy_m2ps2: number;
  private readonly cosInclination: number;

  constructor(target: Target) {
    const perigee = EARTH_EQUATORIAL_RADIUS_m + target.perigee_m;
    const apogee = EARTH_EQUATORIAL_RADIUS_m + target.apogee_m;
    const a = 0.5 * (perigee + apogee);
    this.radius_m = perigee;
    this.energy_m2ps2 = -EARTH_GM_m3ps2 / (2 * a);
    this.speed_mps = Math.sqrt(2 * (this.energy_m2ps2 + EARTH_GM_m3ps2 / this.radius_m));
    this.cosInclination =
      target.inclination_deg === undefined ? Number.NaN : Math.cos((target.inclination_deg * Math.PI) / 180);
    this.count = Number.isNaN(this.cosInclination) ? 3 : 4;
  }

  /** Writes `count` dimensionless residuals of an inertial state (m, m/s) into `out`; zero on target. */
  residuals(state: Float64Array, out: Float64Array): void {
    const x = state[0]!;
    const y = state[1]!;
    const z = state[2]!;
    const vx = state[3]!;
    const vy = state[4]!;
    const vz = state[5]!;
    const r = Math.sqrt(x * x + y * y + z * z);
    const climb = (x * vx + y * vy + z * vz) / r;
    const hx = y * vz - z * vy;
    const hy = z * vx - x * vz;
    const hz = x * vy - y * vx;
    const h = Math.sqrt(hx * hx + hy * hy + hz * hz);
    out[0] = (r - this.radius_m) / LENGTH_m;
    out[1] = climb / SPEED_mps;
    out[2] = (h / r - this.speed_mps) / SPEED_mps;
    if (this.count > 3) out[3] = ((hz / h - this.cosInclination) * this.speed_mps) / SPEED_mps;
  }

  /**
   * Least ideal velocity (m/s) that reaches the orbital energy from a start (inertial, m, m/s), whatever the path above the
   * radius `lowest_m` (m): thrust a gains energy at a·v at most, so √(2(E + GM/r_lowest)) grows by ∫a at most.
   */
  leastVelocity_mps(start: Float64Array, lowest_m: number): number {
    const r = Math.hypot(start[0]!, start[1]!, start[2]!);
    const v2 = start[3]! ** 2 + start[4]! ** 2 + start[5]! ** 2;
    const reach = (energy: number): number =>
      Math.sqrt(Math.max(0, 2 * (energy + EARTH_GM_m3ps2 / lowest_m)));
    return reach(this.energy_m2ps2) - reach(0.5 * v2 - EARTH_GM_m3ps2 / r);
  }

  /** Orbital energy of an inertial state (m, m/s) less the target's, as a speed error in m/s at the target's radius. */
  energyMiss_mps(state: Float64Array): number {
    const r = Math.hypot(state[0]!, state[1]!, state[2]!);
    const v2 = state[3]! ** 2 + state[4]! ** 2 + state[5]! ** 2;
    return (0.5 * v2 - EARTH_GM_m3ps2 / r - this.energy_m2ps2) / this.speed_mps;
  }
}
