import { geodeticToCartesian } from './ellipsoid.ts';
import type { EarthFigure } from './figure.ts';

/**
 * Frames of a flight. Both have their origin at the Earth's centre and z along the north polar axis.
 *
 * - Earth-fixed: x through longitude zero on the equator; turns with the Earth.
 * - Inertial: coincides with the Earth-fixed axes at mission time zero and does not turn. A site at longitude L
 *   is therefore at inertial longitude L at time zero, and at L + omega t later: longitudes are never dropped.
 *
 * Vectors are written into a passed Float64Array; nothing here allocates. The angle between the frames is
 * omega t, positive eastward.
 */

/** Speed and direction of a velocity against a local horizon. */
export interface VelocityAngles {
  speed_mps: number;
  /** Above the local horizontal, from -pi/2 to pi/2. */
  flightPathAngle_rad: number;
  /** From north through east, from 0 to below 2 pi. */
  heading_rad: number;
}

/**
 * Turns the components of a vector from Earth-fixed to inertial axes.
 *
 * @param angle_rad omega t.
 * @param out receives the three components at indices 0 to 2, in the unit of the arguments.
 */
export function earthFixedToInertial(
  x: number,
  y: number,
  z: number,
  angle_rad: number,
  out: Float64Array,
): void {
  const cosine = Math.cos(angle_rad);
  const sine = Math.sin(angle_rad);
  out[0] = cosine * x - sine * y;
  out[1] = sine * x + cosine * y;
  out[2] = z;
}

/** Turns the components of a vector from inertial to Earth-fixed axes; see {@link earthFixedToInertial}. */
export function inertialToEarthFixed(
  x: number,
  y: number,
  z: number,
  angle_rad: number,
  out: Float64Array,
): void {
  earthFixedToInertial(x, y, z, -angle_rad, out);
}

/**
 * Inertial position and velocity at a mission time of a point at rest on the Earth.
 *
 * @param latitude_rad, longitude_rad, height_m geodetic, WGS 84.
 * @param time_s mission time; zero when the frames coincide.
 * @param rotation_radps rotation rate of the Earth.
 * @param out receives position, m, at indices 0 to 2 and velocity, m/s, at 3 to 5.
 */
export function siteState(
  latitude_rad: number,
  longitude_rad: number,
  height_m: number,
  time_s: number,
  rotation_radps: number,
  out: Float64Array,
): void {
  geodeticToCartesian(latitude_rad, longitude_rad + rotation_radps * time_s, height_m, out);
  out[3] = -rotation_radps * out[1]!;
  out[4] = rotation_radps * out[0]!;
  out[5] = 0;
}

/**
 * Velocity relative to the turning Earth (and so to air at rest on it), v - omega x r, in the inertial axes of
 * the arguments.
 *
 * @param x_m, y_m inertial position.
 * @param rotation_radps rotation rate of the Earth about +z.
 * @param out receives the three components, m/s, at indices 0 to 2.
 */
export function relativeVelocity(
  x_m: number,
  y_m: number,
  vx_mps: number,
  vy_mps: number,
  vz_mps: number,
  rotation_radps: number,
  out: Float64Array,
): void {
  out[0] = vx_mps + rotation_radps * y_m;
  out[1] = vy_mps - rotation_radps * x_m;
  out[2] = vz_mps;
}

/**
 * Takes a horizontal wind off a velocity relative to the Earth, leaving the velocity relative to the air.
 *
 * @param figure decides what horizontal means: at right angles to its `up`.
 * @param x_m, y_m, z_m position in the axes of the velocity.
 * @param eastward_mps, northward_mps where the air moves to (not where it comes from).
 * @param velocity the relative velocity at indices 0 to 2, m/s; changed in place. On the polar axis east is
 *   taken along +y.
 */
export function subtractWind(
  figure: EarthFigure,
  x_m: number,
  y_m: number,
  z_m: number,
  eastward_mps: number,
  northward_mps: number,
  velocity: Float64Array,
): void {
  const vx = velocity[0]!;
  const vy = velocity[1]!;
  const vz = velocity[2]!;
  figure.up(x_m, y_m, z_m, velocity);
  const upX = velocity[0];
  const upY = velocity[1];
  const upZ = velocity[2];
  const axial = Math.sqrt(x_m * x_m + y_m * y_m);
  const eastX = axial === 0 ? 0 : -y_m / axial;
  const eastY = axial === 0 ? 1 : x_m / axial;
  // north = up x east, with east horizontal in z.
  velocity[0] = vx - eastward_mps * eastX + northward_mps * upZ! * eastY;
  velocity[1] = vy - eastward_mps * eastY - northward_mps * upZ! * eastX;
  velocity[2] = vz - northward_mps * (upX! * eastY - upY! * eastX);
}

/**
 * Unit vectors east, north and up at a position, in the axes of the position.
 *
 * @param figure whose `up` is the third vector: an ellipsoid's normal, or for a sphere the radius, which makes
 *   this the geocentric horizon.
 * @param out receives east at indices 0 to 2, north at 3 to 5, up at 6 to 8. On the polar axis east is +y.
 */
export function localBasis(
  figure: EarthFigure,
  x_m: number,
  y_m: number,
  z_m: number,
  out: Float64Array,
): void {
  figure.up(x_m, y_m, z_m, out);
  const upX = out[0]!;
  const upY = out[1]!;
  const upZ = out[2]!;
  const axial = Math.sqrt(x_m * x_m + y_m * y_m);
  const eastX = axial === 0 ? 0 : -y_m / axial;
  const eastY = axial === 0 ? 1 : x_m / axial;
  out[0] = eastX;
  out[1] = eastY;
  out[2] = 0;
  out[3] = -upZ * eastY;
  out[4] = upZ * eastX;
  out[5] = upX * eastY - upY * eastX;
  out[6] = upX;
  out[7] = upY;
  out[8] = upZ;
}

/**
 * Horizontal unit vector at an azimuth, north cos A + east sin A: a launch azimuth's direction at a site, in
 * the axes of the basis.
 *
 * @param basis east, north, up, as {@link localBasis} or eastNorthUp of ellipsoid.ts write them.
 * @param azimuth_rad from north through east.
 * @param out receives the three components at indices 0 to 2; may not be `basis`.
 */
export function azimuthDirection(basis: Float64Array, azimuth_rad: number, out: Float64Array): void {
  const east = Math.sin(azimuth_rad);
  const north = Math.cos(azimuth_rad);
  for (let i = 0; i < 3; i++) out[i] = east * basis[i]! + north * basis[i + 3]!;
}

/**
 * Speed, flight-path angle and heading of a velocity against a local basis. Given the relative velocity they
 * are relative; given the inertial velocity, inertial.
 *
 * @param basis as {@link localBasis} writes it, in the axes of the velocity.
 * @param out receives the result. At rest the flight-path angle is pi/2 (the local vertical, along which a
 *   vehicle at rest will set off); without a horizontal component the heading is 0.
 */
export function velocityAngles(
  basis: Float64Array,
  vx_mps: number,
  vy_mps: number,
  vz_mps: number,
  out: VelocityAngles,
): void {
  const east = basis[0]! * vx_mps + basis[1]! * vy_mps + basis[2]! * vz_mps;
  const north = basis[3]! * vx_mps + basis[4]! * vy_mps + basis[5]! * vz_mps;
  const up = basis[6]! * vx_mps + basis[7]! * vy_mps + basis[8]! * vz_mps;
  const horizontal = Math.hypot(east, north);
  out.speed_mps = Math.hypot(horizontal, up);
  out.flightPathAngle_rad = out.speed_mps === 0 ? Math.PI / 2 : Math.atan2(up, horizontal);
  const heading = horizontal === 0 ? 0 : Math.atan2(east, north);
  // A heading a rounding error west of north plus 2 pi rounds to 2 pi itself: that is north.
  const turned = heading < 0 ? heading + 2 * Math.PI : heading;
  out.heading_rad = turned < 2 * Math.PI ? turned : 0;
}
