import geographiclib from 'geographiclib-geodesic';

/**
 * Shortest paths on the WGS 84 ellipsoid, by C. F. F. Karney's algorithms (Algorithms for geodesics, J. Geodesy
 * 87, 2013), to about 15 nm. Latitudes are geodetic. Azimuths count from north through east, 0 to below 2 pi.
 */

/** The path between two points. */
export interface GeodesicPath {
  readonly distance_m: number;
  /** Azimuth of the path at its first point, and at its second, where it points on forward. */
  readonly startAzimuth_rad: number;
  readonly endAzimuth_rad: number;
}

/** Where a path arrives. */
export interface GeodesicEnd {
  readonly latitude_rad: number;
  /** From -pi to pi. */
  readonly longitude_rad: number;
  /** Azimuth of the path there, pointing on forward. */
  readonly azimuth_rad: number;
}

const wgs84 = geographiclib.Geodesic.WGS84;
const DEGREE_rad = Math.PI / 180;

/**
 * Distance over the ellipsoid and azimuths of the shortest path: a vehicle's downrange distance from its pad.
 *
 * Between coincident points the distance is zero and the azimuth says nothing; between antipodal points, where
 * the shortest path is not unique, one of them is returned.
 *
 * @throws RangeError for a coordinate that is not finite or a latitude beyond a pole.
 */
export function geodesicBetween(
  startLatitude_rad: number,
  startLongitude_rad: number,
  endLatitude_rad: number,
  endLongitude_rad: number,
): GeodesicPath {
  const path = wgs84.Inverse(
    latitude_deg('startLatitude_rad', startLatitude_rad),
    finite_deg('startLongitude_rad', startLongitude_rad),
    latitude_deg('endLatitude_rad', endLatitude_rad),
    finite_deg('endLongitude_rad', endLongitude_rad),
  );
  return {
    distance_m: present(path.s12),
    startAzimuth_rad: azimuth_rad(present(path.azi1)),
    endAzimuth_rad: azimuth_rad(present(path.azi2)),
  };
}

/**
 * Where one arrives who follows the geodesic from a point at an azimuth for a distance.
 *
 * @param distance_m may be negative (backwards) and longer than the shortest path.
 * @throws RangeError for an argument that is not finite or a latitude beyond a pole.
 */
export function geodesicFrom(
  latitude_rad: number,
  longitude_rad: number,
  startAzimuth_rad: number,
  distance_m: number,
): GeodesicEnd {
  if (!Number.isFinite(distance_m))
    throw new RangeError(`distance_m: received ${distance_m}; it must be finite`);
  const end = wgs84.Direct(
    latitude_deg('latitude_rad', latitude_rad),
    finite_deg('longitude_rad', longitude_rad),
    finite_deg('startAzimuth_rad', startAzimuth_rad),
    distance_m,
  );
  return {
    latitude_rad: present(end.lat2) * DEGREE_rad,
    longitude_rad: present(end.lon2) * DEGREE_rad,
    azimuth_rad: azimuth_rad(present(end.azi2)),
  };
}

function finite_deg(name: string, angle_rad: number): number {
  if (!Number.isFinite(angle_rad)) throw new RangeError(`${name}: received ${angle_rad}; it must be finite`);
  return angle_rad / DEGREE_rad;
}

function latitude_deg(name: string, angle_rad: number): number {
  const angle = finite_deg(name, angle_rad);
  if (Math.abs(angle) > 90 + 1e-13)
    throw new RangeError(`${name}: received ${angle_rad}; it must lie from -pi/2 to pi/2`);
  return Math.max(-90, Math.min(90, angle));
}

function azimuth_rad(angle_deg: number): number {
  const turned = (angle_deg < 0 ? angle_deg + 360 : angle_deg) * DEGREE_rad;
  return turned < 2 * Math.PI ? turned : 0;
}

/** The library leaves out what it was not asked for; its default is everything used here. */
function present(value: number | undefined): number {
  if (value === undefined) throw new Error('the geodesic library returned no value for a standard quantity');
  return value;
}
