/**
 * The target orbit as residuals of the insertion state. As a rule insertion is at the target's perigee: radius, radial and
 * horizontal speed; with an inclination also the polar part of the angular momentum. No angles, which are undefined
 * somewhere; and not energy and angular momentum, which are parallel near the perigee of a nearly circular orbit and make
 * the solve ill-conditioned. Insertion elsewhere on the ellipse is worth little: 0.03 kg of 440 for a 220 × 510 km target, 21 kg
 * of 33 537 for a 150 × 400 km target of a vehicle that climbs steeply.
 *
 * Where the study allows insertion anywhere, size and shape are instead the angular momentum h and the length of the
 * eccentricity vector e: near perigee d|e| = (1 + e)(2 dv/v + dr/r) and dh/h = dv/v + dr/r, which are never parallel.
 *
 * With a node the plane is met as the two parts of ĥ that lie in the target's plane, over 1 + its part along the target's
 * normal: zero only where the planes agree in sense too. With an argument of perigee the direction of perigee (at perigee:
 * of the vehicle) is met likewise within the flown plane, from the target's node or, without one, the flown plane's own.
 *
 * Where the apogee alone counts, there is one condition: the apogee is at radius r where 2(E + GM/r) = h²/r², smooth also
 * for a flight straight up. Insertion may be at burn-out or, to have the air of the coast in it, at the apogee itself.
 *
 * Scaled so that 1 is 10 km or 100 m/s; directions count by the speed that turns them.
 */
import type { Target } from '../contract/study.ts';
import { WGS84_EARTH, type EarthConstants } from '../earth/earthConstants.ts';
import { orbitVectors } from '../earth/orbit.ts';

const LENGTH_m = 1e4;
const SPEED_mps = 1e2;
const RAD_PER_DEG = Math.PI / 180;

/** Residuals of the target orbit; SI in, dimensionless out. See the top of the file. */
export class OrbitTarget {
  readonly count: number;
  /** Speed at the target's perigee, inertial, or for an apogee alone that at the ground, m/s; the scale of what the ascent must give. */
  readonly speed_mps: number;
  /** Of the target's perigee, or of an apogee that alone counts. */
  readonly radius_m: number;
  readonly gm_m3ps2: number;
  private readonly energy_m2ps2: number;
  private readonly eccentricity: number;
  private readonly cosInclination: number;
  private readonly anywhere: boolean;
  /** The apogee alone counts. */
  private readonly upAndDown: boolean;
  /** The target's node, the direction 90° ahead of it in its plane, and its normal; null without a node. */
  private readonly plane: {
    readonly n: Float64Array;
    readonly m: Float64Array;
    readonly w: Float64Array;
  } | null;
  /** NaN when the perigee may lie anywhere in the plane. */
  private readonly argument_rad: number;
  private readonly vectors = new Float64Array(7);

  constructor(target: Target, earth: EarthConstants = WGS84_EARTH) {
    this.upAndDown = target.kind === 'apogee';
    // Of an apogee alone, what counts is its height and the energy of a flight straight up to it.
    const perigee = this.upAndDown ? 0 : earth.radius_m + target.perigee_m;
    const apogee = earth.radius_m + target.apogee_m;
    const a = 0.5 * (perigee + apogee);
    this.gm_m3ps2 = earth.gm_m3ps2;
    this.radius_m = this.upAndDown ? apogee : perigee;
    this.energy_m2ps2 = -this.gm_m3ps2 / (2 * a);
    const slowest_m = this.upAndDown ? earth.radius_m : perigee;
    this.speed_mps = Math.sqrt(2 * (this.energy_m2ps2 + this.gm_m3ps2 / slowest_m));
    this.eccentricity = (apogee - perigee) / (apogee + perigee);
    this.anywhere = target.insertion === 'anywhere';
    const { inclination_deg, ascendingNode_deg, argumentOfPerigee_deg } = target;
    const inclination = (inclination_deg ?? Number.NaN) * RAD_PER_DEG;
    this.cosInclination = Math.cos(inclination);
    this.plane =
      ascendingNode_deg === undefined ? null : planeAxes(ascendingNode_deg * RAD_PER_DEG, inclination);
    this.argument_rad = (argumentOfPerigee_deg ?? Number.NaN) * RAD_PER_DEG;
    const ofPlane = this.plane !== null ? 2 : Number.isNaN(inclination) ? 0 : 1;
    const ofShape = this.upAndDown ? 1 : this.anywhere ? 2 : 3;
    this.count = ofShape + ofPlane + (Number.isNaN(this.argument_rad) ? 0 : 1);
  }

  /** Writes `count` dimensionless residuals of an inertial state (m, m/s) into `out`; zero on target. */
  residuals(state: Float64Array, out: Float64Array): void {
    const x = state[0]!;
    const y = state[1]!;
    const z = state[2]!;
    const vx = state[3]!;
    const vy = state[4]!;
    const vz = state[5]!;
    const hx = y * vz - z * vy;
    const hy = z * vx - x * vz;
    const hz = x * vy - y * vx;
    const h = Math.sqrt(hx * hx + hy * hy + hz * hz);
    const turning = this.speed_mps / SPEED_mps;
    let next = 0;
    if (this.upAndDown) {
      out[next++] =
        (this.energyMiss_mps(state) * this.speed_mps * this.radius_m ** 2) / (this.gm_m3ps2 * LENGTH_m);
    } else if (this.anywhere) {
      orbitVectors(state, this.gm_m3ps2, this.vectors);
      const { vectors } = this;
      const e = Math.sqrt(vectors[4]! * vectors[4]! + vectors[5]! * vectors[5]! + vectors[6]! * vectors[6]!);
      out[next++] = (h / (this.radius_m * this.speed_mps) - 1) * turning;
      out[next++] = (e - this.eccentricity) * turning;
    } else {
      const r = Math.sqrt(x * x + y * y + z * z);
      const climb = (x * vx + y * vy + z * vz) / r;
      out[next++] = (r - this.radius_m) / LENGTH_m;
      out[next++] = climb / SPEED_mps;
      out[next++] = (h / r - this.speed_mps) / SPEED_mps;
    }
    if (this.plane !== null) {
      const { n, m, w } = this.plane;
      const along = 1 + (hx * w[0]! + hy * w[1]! + hz * w[2]!) / h;
      const share = (2 * turning) / (h * along);
      out[next++] = (hx * n[0]! + hy * n[1]! + hz * n[2]!) * share;
      out[next++] = (hx * m[0]! + hy * m[1]! + hz * m[2]!) * share;
    } else if (!Number.isNaN(this.cosInclination)) {
      out[next++] = ((hz / h - this.cosInclination) * this.speed_mps) / SPEED_mps;
    }
    if (!Number.isNaN(this.argument_rad)) {
      out[next] = this.perigeeMiss(state, hx / h, hy / h, hz / h) * turning;
    }
  }

  /** Twice the tangent of half the angle (dimensionless) from the target's perigee to the flown one, ĥ the flown plane's normal. */
  private perigeeMiss(state: Float64Array, hx: number, hy: number, hz: number): number {
    const from = this.anywhere ? this.vectors : state;
    const offset = this.anywhere ? 4 : 0;
    const px = from[offset]!;
    const py = from[offset + 1]!;
    const pz = from[offset + 2]!;
    // The node, and 90° ahead of it.
    let nx: number;
    let ny: number;
    if (this.plane !== null) {
      nx = this.plane.n[0]!;
      ny = this.plane.n[1]!;
    } else {
      const size = Math.sqrt(hx * hx + hy * hy);
      nx = -hy / size;
      ny = hx / size;
    }
    const along = px * nx + py * ny;
    const ahead = -px * hz * ny + py * hz * nx + pz * (hx * ny - hy * nx);
    const c = Math.cos(this.argument_rad);
    const s = Math.sin(this.argument_rad);
    const sine = ahead * c - along * s;
    const cosine = along * c + ahead * s;
    return (2 * sine) / (Math.sqrt(sine * sine + cosine * cosine) + cosine);
  }

  /**
   * Least ideal velocity (m/s) that reaches the orbital energy from a start (inertial, m, m/s), whatever the path above the
   * radius `lowest_m` (m): thrust a gains energy at a·v at most, so √(2(E + GM/r_lowest)) grows by ∫a at most.
   */
  leastVelocity_mps(start: Float64Array, lowest_m: number): number {
    const r = Math.hypot(start[0]!, start[1]!, start[2]!);
    const v2 = start[3]! ** 2 + start[4]! ** 2 + start[5]! ** 2;
    const reach = (energy: number): number => Math.sqrt(Math.max(0, 2 * (energy + this.gm_m3ps2 / lowest_m)));
    return reach(this.energy_m2ps2) - reach(0.5 * v2 - this.gm_m3ps2 / r);
  }

  /**
   * Orbital energy of an inertial state (m, m/s) less the target's, as a speed error in m/s at the target's radius; for an
   * apogee alone, less what takes the state's angular momentum up there.
   */
  energyMiss_mps(state: Float64Array): number {
    const r = Math.hypot(state[0]!, state[1]!, state[2]!);
    const v2 = state[3]! ** 2 + state[4]! ** 2 + state[5]! ** 2;
    const energy = 0.5 * v2 - this.gm_m3ps2 / r;
    if (!this.upAndDown) return (energy - this.energy_m2ps2) / this.speed_mps;
    const climb = (state[0]! * state[3]! + state[1]! * state[4]! + state[2]! * state[5]!) / r;
    const across = (r / this.radius_m) ** 2 * (v2 - climb * climb);
    return (energy + this.gm_m3ps2 / this.radius_m - 0.5 * across) / this.speed_mps;
  }
}

/** Node, the direction 90° ahead of it, and normal of a plane, from its node and inclination, rad; unit vectors. */
function planeAxes(node: number, inclination: number): { n: Float64Array; m: Float64Array; w: Float64Array } {
  const cn = Math.cos(node);
  const sn = Math.sin(node);
  const ci = Math.cos(inclination);
  const si = Math.sin(inclination);
  return {
    n: Float64Array.of(cn, sn, 0),
    m: Float64Array.of(-ci * sn, ci * cn, si),
    w: Float64Array.of(si * sn, -si * cn, ci),
  };
}
