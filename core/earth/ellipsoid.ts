import {
  EARTH_ECCENTRICITY_SQUARED,
  EARTH_EQUATORIAL_RADIUS_m,
  EARTH_FLATTENING,
  EARTH_POLAR_RADIUS_m,
} from '../constants/physical.ts';

/**
 * Geometry of the WGS 84 ellipsoid. Earth-fixed axes: origin at the centre, x through the equator at longitude
 * zero, z through the north pole. Latitudes north and longitudes east positive, radians.
 */

const a = EARTH_EQUATORIAL_RADIUS_m;
const b = EARTH_POLAR_RADIUS_m;
const e2 = EARTH_ECCENTRICITY_SQUARED;
/** Square of the second eccentricity. */
const secondE2 = e2 / (1 - e2);
/** Inside this radius the normals of the ellipsoid cross (its evolute reaches 43 km from the centre). */
const INVERSE_MINIMUM_m = 1e5;
const INVERSE_MAXIMUM_ITERATIONS = 12;

/** A point by geodetic coordinates. */
export interface Geodetic {
  latitude_rad: number;
  longitude_rad: number;
  /** Height along the normal of the ellipsoid. */
  height_m: number;
}

/**
 * Earth-fixed Cartesian position of a geodetic point; exact (closed form: B. Hofmann-Wellenhof and H. Moritz,
 * Physical Geodesy, 2nd ed., 2006, eq. 5-27).
 *
 * @param latitude_rad geodetic latitude, from -pi/2 to pi/2.
 * @param out receives x, y, z, m, at indices 0 to 2.
 */
export function geodeticToCartesian(
  latitude_rad: number,
  longitude_rad: number,
  height_m: number,
  out: Float64Array,
): void {
  const sine = Math.sin(latitude_rad);
  const cosine = Math.cos(latitude_rad);
  const primeVertical = a / Math.sqrt(1 - e2 * sine * sine);
  const axial = (primeVertical + height_m) * cosine;
  out[0] = axial * Math.cos(longitude_rad);
  out[1] = axial * Math.sin(longitude_rad);
  out[2] = (primeVertical * (1 - e2) + height_m) * sine;
}

/**
 * Geodetic coordinates of an Earth-fixed position, by Bowring's iteration on the reduced latitude (B. R.
 * Bowring, Survey Review 23(181), 1976) until it stands still to a unit in the last place, three rounds or
 * four. The result, put back through {@link geodeticToCartesian}, gives the position to 4e-9 m near the Earth
 * and to two units in the last place of the coordinates (3e-8 m) at 1e8 m.
 *
 * @param out receives the result. On the polar axis the longitude is zero.
 * @throws RangeError when a component is not finite or the position is within 100 km of the centre, where
 *   normals of the ellipsoid cross and the latitude is ambiguous.
 */
export function cartesianToGeodetic(x_m: number, y_m: number, z_m: number, out: Geodetic): void {
  const axial = Math.hypot(x_m, y_m);
  const radius = Math.hypot(axial, z_m);
  if (!(radius >= INVERSE_MINIMUM_m && radius < Infinity))
    throw new RangeError(
      `position: received (${x_m}, ${y_m}, ${z_m}) m; it must be finite and at least ${INVERSE_MINIMUM_m} m from the centre`,
    );
  // Sine and cosine of the reduced latitude, which at great height tends to that of a sphere.
  let sine = z_m * (1 + (secondE2 * b) / radius) * b;
  let cosine = axial * a;
  let tangentUp = 0;
  let tangentSide = 0;
  for (let i = 0; i < INVERSE_MAXIMUM_ITERATIONS; i++) {
    const length = Math.hypot(sine, cosine);
    sine /= length;
    cosine /= length;
    tangentUp = z_m + secondE2 * b * sine * sine * sine;
    tangentSide = axial - e2 * a * cosine * cosine * cosine;
    const nextSine = (1 - EARTH_FLATTENING) * tangentUp;
    const turn = nextSine * cosine - tangentSide * sine;
    sine = nextSine;
    cosine = tangentSide;
    if (Math.abs(turn) <= 1e-16 * Math.hypot(nextSine, tangentSide)) break;
  }
  const length = Math.hypot(tangentUp, tangentSide);
  const sinLatitude = tangentUp / length;
  const cosLatitude = tangentSide / length;
  out.latitude_rad = Math.atan2(tangentUp, tangentSide);
  out.longitude_rad = axial === 0 ? 0 : Math.atan2(y_m, x_m);
  // Stationary in the latitude, so that its rounding does not enter.
  out.height_m = axial * cosLatitude + z_m * sinLatitude - a * Math.sqrt(1 - e2 * sinLatitude * sinLatitude);
}

/**
 * Outward unit normal of the ellipsoid at a geodetic latitude and longitude, Earth-fixed axes.
 *
 * @param out receives x, y, z at indices 0 to 2.
 */
export function surfaceNormal(latitude_rad: number, longitude_rad: number, out: Float64Array): void {
  const cosine = Math.cos(latitude_rad);
  out[0] = cosine * Math.cos(longitude_rad);
  out[1] = cosine * Math.sin(longitude_rad);
  out[2] = Math.sin(latitude_rad);
}

/**
 * Unit vectors east, north and up at a latitude and longitude, in the axes that the longitude is counted in.
 * With the geodetic latitude up is the ellipsoid's normal; with the geocentric one it is the radius.
 *
 * @param out receives east at indices 0 to 2, north at 3 to 5, up at 6 to 8.
 */
export function eastNorthUp(latitude_rad: number, longitude_rad: number, out: Float64Array): void {
  const sinLatitude = Math.sin(latitude_rad);
  const cosLatitude = Math.cos(latitude_rad);
  const sinLongitude = Math.sin(longitude_rad);
  const cosLongitude = Math.cos(longitude_rad);
  out[0] = -sinLongitude;
  out[1] = cosLongitude;
  out[2] = 0;
  out[3] = -sinLatitude * cosLongitude;
  out[4] = -sinLatitude * sinLongitude;
  out[5] = cosLatitude;
  out[6] = cosLatitude * cosLongitude;
  out[7] = cosLatitude * sinLongitude;
  out[8] = sinLatitude;
}

/**
 * Geocentric latitude of the point at geodetic latitude and height: atan of (N (1 - e2) + h) / (N + h) times
 * the tangent.
 *
 * @returns radians.
 */
export function geocentricLatitude_rad(geodeticLatitude_rad: number, height_m: number): number {
  const sine = Math.sin(geodeticLatitude_rad);
  const primeVertical = a / Math.sqrt(1 - e2 * sine * sine);
  return Math.atan2(
    (primeVertical * (1 - e2) + height_m) * sine,
    (primeVertical + height_m) * Math.cos(geodeticLatitude_rad),
  );
}

/**
 * Geodetic latitude of the point at a geocentric latitude and distance from the centre.
 *
 * @param radius_m distance from the centre, at least 100 km.
 * @returns radians. Throws as {@link cartesianToGeodetic} does.
 */
export function geodeticLatitude_rad(geocentric_rad: number, radius_m: number): number {
  const point: Geodetic = { latitude_rad: 0, longitude_rad: 0, height_m: 0 };
  cartesianToGeodetic(radius_m * Math.cos(geocentric_rad), 0, radius_m * Math.sin(geocentric_rad), point);
  return point.latitude_rad;
}
