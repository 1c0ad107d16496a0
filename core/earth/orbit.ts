import { EARTH_EQUATORIAL_RADIUS_m } from '../constants/physical.ts';

/**
 * Osculating Kepler orbits in the inertial frame: state to elements and back. Equations: R. R. Bate, D. D.
 * Mueller, J. E. White, Fundamentals of Astrodynamics, 1971, chapter 2. States are position (m) and velocity
 * (m/s) at indices 0 to 5 of a Float64Array. Angles are radians from 0 to below 2 pi, inclination 0 to pi.
 */

/** Below this eccentricity the perigee has no direction, and below this sine of inclination the node has none. */
const DEGENERATE = 1e-11;

/**
 * What fixes an orbit and a place on it. The semi-latus rectum, not the semi-major axis, so that parabolas are
 * included.
 */
export interface OrbitElements {
  readonly semiLatusRectum_m: number;
  readonly eccentricity: number;
  readonly inclination_rad: number;
  /** Right ascension of the ascending node: inertial longitude, from the inertial x axis. */
  readonly raan_rad: number;
  readonly argumentOfPerigee_rad: number;
  readonly trueAnomaly_rad: number;
}

/** The osculating orbit of a state. */
export interface Orbit extends OrbitElements {
  /** Specific orbital energy, J/kg; negative on an ellipse. */
  readonly energy_Jpkg: number;
  /** Magnitude of the specific angular momentum, m2/s. */
  readonly angularMomentum_m2ps: number;
  /** Negative on a hyperbola, infinite on a parabola. */
  readonly semiMajorAxis_m: number;
  /** Above the equatorial radius, 6 378 137 m unless told otherwise; infinite on a parabola or hyperbola. */
  readonly apogeeHeight_m: number;
  readonly perigeeHeight_m: number;
  /** False on a circle to within 1e-11 of eccentricity: perigee is then taken at the node. */
  readonly perigeeDefined: boolean;
  /** False where the plane is the equator to within 1e-11: the node is then taken on the inertial x axis. */
  readonly nodeDefined: boolean;
  /** False on a straight line through the centre (no angular momentum): the plane is then taken through the
   * local east. */
  readonly planeDefined: boolean;
}

/**
 * Specific energy, angular momentum vector and eccentricity vector of a state: the smooth quantities that an
 * insertion is solved for. Allocates nothing.
 *
 * @param gm_m3ps2 gravitational parameter.
 * @param out receives the energy (J/kg) at index 0, the angular momentum (m2/s) at 1 to 3 and the eccentricity
 *   vector, which points to perigee, at 4 to 6.
 */
export function orbitVectors(state: Float64Array, gm_m3ps2: number, out: Float64Array): void {
  const x = state[0]!;
  const y = state[1]!;
  const z = state[2]!;
  const vx = state[3]!;
  const vy = state[4]!;
  const vz = state[5]!;
  const inverse = 1 / Math.sqrt(x * x + y * y + z * z);
  const v2 = vx * vx + vy * vy + vz * vz;
  const hx = y * vz - z * vy;
  const hy = z * vx - x * vz;
  const hz = x * vy - y * vx;
  out[0] = v2 / 2 - gm_m3ps2 * inverse;
  out[1] = hx;
  out[2] = hy;
  out[3] = hz;
  out[4] = (vy * hz - vz * hy) / gm_m3ps2 - x * inverse;
  out[5] = (vz * hx - vx * hz) / gm_m3ps2 - y * inverse;
  out[6] = (vx * hy - vy * hx) / gm_m3ps2 - z * inverse;
}

/**
 * The osculating orbit of an inertial state.
 *
 * Degenerate cases give angles that still lead back to the state through {@link stateFromElements}, and say so
 * in `perigeeDefined`, `nodeDefined` and `planeDefined`: on a circle the argument of perigee is 0 and the true
 * anomaly counts from the node; in the equator the node is 0 and the rest counts from the inertial x axis. A
 * straight line (no angular momentum) has its elements with semi-latus rectum 0, from which no state follows.
 *
 * @param state position, m, and velocity, m/s.
 * @param gm_m3ps2 gravitational parameter, greater than 0.
 * @param equatorialRadius_m what apsis heights are counted from; WGS 84's when left out.
 * @throws RangeError when the state is not finite, the position is zero or gm is not positive.
 */
export function orbitFromState(
  state: Float64Array,
  gm_m3ps2: number,
  equatorialRadius_m: number = EARTH_EQUATORIAL_RADIUS_m,
): Orbit {
  for (let i = 0; i < 6; i++)
    if (!Number.isFinite(state[i]))
      throw new RangeError(`state[${i}]: received ${String(state[i])}; it must be finite`);
  if (!(gm_m3ps2 > 0)) throw new RangeError(`gm_m3ps2: received ${gm_m3ps2}; it must be greater than 0`);
  const [x, y, z, vx, vy, vz] = state as unknown as [number, number, number, number, number, number];
  const r = Math.hypot(x, y, z);
  const v = Math.hypot(vx, vy, vz);
  if (r === 0) throw new RangeError('state: received a position at the centre; it must be away from it');

  const vectors = new Float64Array(7);
  orbitVectors(state, gm_m3ps2, vectors);
  const energy = vectors[0]!;
  let hx = vectors[1]!;
  let hy = vectors[2]!;
  let hz = vectors[3]!;
  let h = Math.hypot(hx, hy, hz);
  const planeDefined = h > 1e-14 * r * v && h > 0;
  const semiLatusRectum = planeDefined ? (h * h) / gm_m3ps2 : 0;
  if (!planeDefined) {
    // Radius times east: the plane through the local east, prograde.
    const axial = Math.hypot(x, y);
    const eastX = axial === 0 ? 0 : -y / axial;
    const eastY = axial === 0 ? 1 : x / axial;
    hx = -z * eastY;
    hy = z * eastX;
    hz = x * eastY - y * eastX;
    h = Math.hypot(hx, hy, hz);
  }

  // Node and the direction 90 degrees ahead of it in the plane.
  const sineInclination = Math.hypot(hx, hy) / h;
  const nodeDefined = sineInclination > DEGENERATE;
  const nodeX = nodeDefined ? -hy / (h * sineInclination) : 1;
  const nodeY = nodeDefined ? hx / (h * sineInclination) : 0;
  const aheadX = (-hz * nodeY) / h;
  const aheadY = (hz * nodeX) / h;
  const aheadZ = (hx * nodeY - hy * nodeX) / h;
  const argumentOfLatitude = Math.atan2(x * aheadX + y * aheadY + z * aheadZ, x * nodeX + y * nodeY);

  const ex = vectors[4]!;
  const ey = vectors[5]!;
  const ez = vectors[6]!;
  const eccentricity = Math.hypot(ex, ey, ez);
  const perigeeDefined = eccentricity > DEGENERATE;
  const argumentOfPerigee = perigeeDefined
    ? Math.atan2(ex * aheadX + ey * aheadY + ez * aheadZ, ex * nodeX + ey * nodeY)
    : 0;

  const semiMajorAxis = energy === 0 ? Infinity : -gm_m3ps2 / (2 * energy);
  const open = energy >= 0;
  return {
    semiLatusRectum_m: semiLatusRectum,
    eccentricity,
    inclination_rad: Math.atan2(Math.hypot(hx, hy), hz),
    raan_rad: nodeDefined ? turn(Math.atan2(nodeY, nodeX)) : 0,
    argumentOfPerigee_rad: turn(argumentOfPerigee),
    trueAnomaly_rad: turn(argumentOfLatitude - argumentOfPerigee),
    energy_Jpkg: energy,
    angularMomentum_m2ps: planeDefined ? h : 0,
    semiMajorAxis_m: semiMajorAxis,
    apogeeHeight_m: open ? Infinity : semiMajorAxis * (1 + eccentricity) - equatorialRadius_m,
    perigeeHeight_m: semiLatusRectum / (1 + eccentricity) - equatorialRadius_m,
    perigeeDefined,
    nodeDefined,
    planeDefined,
  };
}

/**
 * Inertial state of a place on an orbit.
 *
 * @param gm_m3ps2 gravitational parameter, greater than 0.
 * @param out receives position, m, at indices 0 to 2 and velocity, m/s, at 3 to 5.
 * @throws RangeError when an element is not finite, the semi-latus rectum is not positive, the eccentricity is
 *   negative, or the true anomaly lies beyond the asymptote of a hyperbola.
 */
export function stateFromElements(elements: OrbitElements, gm_m3ps2: number, out: Float64Array): void {
  const { semiLatusRectum_m: p, eccentricity: e } = elements;
  if (!(gm_m3ps2 > 0)) throw new RangeError(`gm_m3ps2: received ${gm_m3ps2}; it must be greater than 0`);
  if (!(p > 0 && p < Infinity))
    throw new RangeError(`elements.semiLatusRectum_m: received ${p}; it must be finite and greater than 0`);
  if (!(e >= 0 && e < Infinity))
    throw new RangeError(`elements.eccentricity: received ${e}; it must be finite and not negative`);
  for (const name of ['inclination_rad', 'raan_rad', 'argumentOfPerigee_rad', 'trueAnomaly_rad'] as const)
    if (!Number.isFinite(elements[name]))
      throw new RangeError(`elements.${name}: received ${elements[name]}; it must be finite`);

  const nu = elements.trueAnomaly_rad;
  const conic = 1 + e * Math.cos(nu);
  if (!(conic > 0))
    throw new RangeError(
      `elements.trueAnomaly_rad: received ${nu}; at eccentricity ${e} it must stay inside the asymptote, ${Math.acos(-1 / e)}`,
    );
  const r = p / conic;
  const speed = Math.sqrt(gm_m3ps2 / p);
  const cosNode = Math.cos(elements.raan_rad);
  const sinNode = Math.sin(elements.raan_rad);
  const cosTilt = Math.cos(elements.inclination_rad);
  const sinTilt = Math.sin(elements.inclination_rad);
  const omega = elements.argumentOfPerigee_rad;
  const cosU = Math.cos(omega + nu);
  const sinU = Math.sin(omega + nu);
  // Velocity along the node and 90 degrees ahead of it.
  const alongNode = -speed * (sinU + e * Math.sin(omega));
  const ahead = speed * (cosU + e * Math.cos(omega));
  out[0] = r * (cosU * cosNode - sinU * cosTilt * sinNode);
  out[1] = r * (cosU * sinNode + sinU * cosTilt * cosNode);
  out[2] = r * sinU * sinTilt;
  out[3] = alongNode * cosNode - ahead * cosTilt * sinNode;
  out[4] = alongNode * sinNode + ahead * cosTilt * cosNode;
  out[5] = ahead * sinTilt;
}

/** Semi-major axis (m) and eccentricity of the ellipse with these apsis heights above 6 378 137 m, taken in
 * either order.
 *
 * @throws RangeError when a height is not finite or lies at or below the centre.
 */
export function shapeFromApsides(
  firstHeight_m: number,
  secondHeight_m: number,
): { semiMajorAxis_m: number; eccentricity: number } {
  for (const [name, height] of Object.entries({ firstHeight_m, secondHeight_m }))
    if (!(height > -EARTH_EQUATORIAL_RADIUS_m && height < Infinity))
      throw new RangeError(
        `${name}: received ${height}; it must be finite and above -${EARTH_EQUATORIAL_RADIUS_m}`,
      );
  const sum = firstHeight_m + secondHeight_m + 2 * EARTH_EQUATORIAL_RADIUS_m;
  return { semiMajorAxis_m: sum / 2, eccentricity: Math.abs(firstHeight_m - secondHeight_m) / sum };
}

/** Speed of a circular orbit, sqrt(GM / r), m/s. */
export function circularSpeed_mps(radius_m: number, gm_m3ps2: number): number {
  return Math.sqrt(gm_m3ps2 / radius_m);
}

/** Speed at a radius on an orbit of a semi-major axis (negative on a hyperbola), sqrt(GM (2 / r - 1 / a)), m/s.
 * NaN where the orbit does not reach the radius. */
export function orbitalSpeed_mps(radius_m: number, semiMajorAxis_m: number, gm_m3ps2: number): number {
  return Math.sqrt(gm_m3ps2 * (2 / radius_m - 1 / semiMajorAxis_m));
}

/** Period of an ellipse, 2 pi sqrt(a^3 / GM), s. */
export function orbitalPeriod_s(semiMajorAxis_m: number, gm_m3ps2: number): number {
  return 2 * Math.PI * Math.sqrt(semiMajorAxis_m ** 3 / gm_m3ps2);
}

/** An angle brought into 0 to below 2 pi. */
function turn(angle_rad: number): number {
  const rest = angle_rad % (2 * Math.PI);
  const positive = rest < 0 ? rest + 2 * Math.PI : rest;
  return positive < 2 * Math.PI ? positive : 0;
}
