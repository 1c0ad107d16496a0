/**
 * The target orbit as residuals of the insertion state. Vectors of the orbit rather than its angles: they stay smooth
 * where angles are undefined.
 *
 * Circular: radius, radial and horizontal speed (energy and angular momentum alone are degenerate there). Elliptic:
 * energy and angular momentum, so insertion may lie anywhere on the ellipse. With an inclination: the polar part of the
 * angular momentum. Scaled so that 1 is 10 km or 100 m/s.
 */
import { EARTH_EQUATORIAL_RADIUS_m, EARTH_GM_m3ps2 } from '../constants/physical.ts';
import type { Target } from '../contract/study.ts';

const LENGTH_m = 1e4;
const SPEED_mps = 1e2;
/** Apsides closer than this are one circular orbit, m. */
const CIRCULAR_m = 100;

/** Residuals of the target orbit; SI in, dimensionless out. See the top of the file. */
export class OrbitTarget {
  readonly count: number;
  readonly circular: boolean;
  /** Speed at insertion into the target's perigee, inertial, m/s; the scale of what the ascent must give. */
  readonly speed_mps: number;
  readonly radius_m: number;
  private readonly energy_m2ps2: number;
  private readonly momentum_m2ps: number;
  private readonly cosInclination: number;

  constructor(target: Target) {
    const perigee = EARTH_EQUATORIAL_RADIUS_m + target.perigee_m;
    const apogee = EARTH_EQUATORIAL_RADIUS_m + target.apogee_m;
    const a = 0.5 * (perigee + apogee);
    this.circular = apogee - perigee < CIRCULAR_m;
    this.radius_m = this.circular ? a : perigee;
    this.energy_m2ps2 = -EARTH_GM_m3ps2 / (2 * a);
    this.speed_mps = Math.sqrt(2 * (this.energy_m2ps2 + EARTH_GM_m3ps2 / this.radius_m));
    this.momentum_m2ps = this.radius_m * this.speed_mps;
    this.cosInclination =
      target.inclination_deg === undefined ? Number.NaN : Math.cos((target.inclination_deg * Math.PI) / 180);
    this.count = (this.circular ? 3 : 2) + (Number.isNaN(this.cosInclination) ? 0 : 1);
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
    const v2 = vx * vx + vy * vy + vz * vz;
    const climb = (x * vx + y * vy + z * vz) / r;
    const hx = y * vz - z * vy;
    const hy = z * vx - x * vz;
    const hz = x * vy - y * vx;
    const h = Math.sqrt(hx * hx + hy * hy + hz * hz);
    let n = 0;
    if (this.circular) {
      out[n++] = (r - this.radius_m) / LENGTH_m;
      out[n++] = climb / SPEED_mps;
      out[n++] = (h / r - this.speed_mps) / SPEED_mps;
    } else {
      out[n++] = (0.5 * v2 - EARTH_GM_m3ps2 / r - this.energy_m2ps2) / (this.speed_mps * SPEED_mps);
      out[n++] = (h - this.momentum_m2ps) / (this.radius_m * SPEED_mps);
    }
    if (n < this.count) out[n] = ((hz / h - this.cosInclination) * this.speed_mps) / SPEED_mps;
  }

  /** Orbital energy of an inertial state (m, m/s) less the target's, as a speed error in m/s at the target's radius. */
  energyMiss_mps(state: Float64Array): number {
    const r = Math.hypot(state[0]!, state[1]!, state[2]!);
    const v2 = state[3]! ** 2 + state[4]! ** 2 + state[5]! ** 2;
    return (0.5 * v2 - EARTH_GM_m3ps2 / r - this.energy_m2ps2) / this.speed_mps;
  }
}
