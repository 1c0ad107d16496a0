/** What flight reports print of a state: height, range, space-fixed speed, flight-path angle and heading. */
import { cartesianToGeodetic } from '../earth/ellipsoid.ts';
import { sphereFigure } from '../earth/figure.ts';
import { inertialToEarthFixed, localBasis, velocityAngles } from '../earth/frames.ts';
import { geodesicBetween } from '../earth/geodesic.ts';
import { EARTH_ROTATION_radps } from '../constants/physical.ts';

/** Angles in degrees. The local horizontal is the geocentric one, normal to the radius. */
export interface SpaceFixed {
  /** Above the WGS 84 ellipsoid. */
  readonly height_m: number;
  /** Geodesic on the ellipsoid from the site to the point below. */
  readonly range_m: number;
  readonly speed_mps: number;
  readonly flightPathAngle_deg: number;
  /** Of the inertial velocity, from north through east. */
  readonly heading_deg: number;
  readonly latitude_deg: number;
  readonly longitude_deg: number;
}

const DEG = 180 / Math.PI;
const GEOCENTRIC = sphereFigure();

/**
 * A state in the inertial frame (m, m/s; Earth-fixed at mission time 0) at mission time t_s (s), as a flight report gives
 * it, seen from a site (degrees, geodetic). Space-fixed means: of the inertial velocity.
 */
export function spaceFixed(
  state: Float64Array,
  t_s: number,
  site: { readonly latitude_deg: number; readonly longitude_deg: number },
): SpaceFixed {
  const [x = 0, y = 0, z = 0, vx = 0, vy = 0, vz = 0] = state;
  const basis = new Float64Array(9);
  localBasis(GEOCENTRIC, x, y, z, basis);
  const angles = { speed_mps: 0, flightPathAngle_rad: 0, heading_rad: 0 };
  velocityAngles(basis, vx, vy, vz, angles);
  const fixed = new Float64Array(3);
  inertialToEarthFixed(x, y, z, EARTH_ROTATION_radps * t_s, fixed);
  const point = { latitude_rad: 0, longitude_rad: 0, height_m: 0 };
  cartesianToGeodetic(fixed[0]!, fixed[1]!, fixed[2]!, point);
  const path = geodesicBetween(
    site.latitude_deg / DEG,
    site.longitude_deg / DEG,
    point.latitude_rad,
    point.longitude_rad,
  );
  return {
    height_m: point.height_m,
    range_m: path.distance_m,
    speed_mps: angles.speed_mps,
    flightPathAngle_deg: angles.flightPathAngle_rad * DEG,
    heading_deg: angles.heading_rad * DEG,
    latitude_deg: point.latitude_rad * DEG,
    longitude_deg: point.longitude_rad * DEG,
  };
}
