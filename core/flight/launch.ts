/** The site at the instant of release, in the inertial frame: where the flight starts from. */
import type { Site } from '../contract/study.ts';
import { eastNorthUp, geodeticToCartesian } from '../earth/ellipsoid.ts';
import { WGS84_EARTH, type EarthConstants } from '../earth/earthConstants.ts';
import { azimuthDirection } from '../earth/frames.ts';
import type { LaunchFrame } from './steering/law.ts';

export interface SiteState {
  /** Inertial position (m) and velocity (m/s) at release, at rest on the turning Earth. */
  readonly state: Float64Array;
  /** Unit vectors east, north and up at release, inertial, three numbers each. */
  readonly basis: Float64Array;
}

/**
 * Site position, velocity and local axes at mission time release_s (s), inertial frame (Earth-fixed at time 0).
 * On the sphere the latitude is geocentric and the vertical radial; on the ellipsoid both are geodetic (WGS 84).
 */
export function siteAtRelease(
  site: Site,
  figure: 'sphere' | 'ellipsoid',
  release_s: number,
  earth: EarthConstants = WGS84_EARTH,
): SiteState {
  const latitude = (site.latitude_deg * Math.PI) / 180;
  const longitude = (site.longitude_deg * Math.PI) / 180 + earth.rotation_radps * release_s;
  const state = new Float64Array(6);
  const basis = new Float64Array(9);
  eastNorthUp(latitude, longitude, basis);
  if (figure === 'ellipsoid') {
    geodeticToCartesian(latitude, longitude, site.height_m, state);
  } else {
    const r = earth.radius_m + site.height_m;
    for (let i = 0; i < 3; i++) state[i] = r * basis[6 + i]!;
  }
  state[3] = -earth.rotation_radps * state[1]!;
  state[4] = earth.rotation_radps * state[0]!;
  return { state, basis };
}

/** The launch frame for an azimuth (rad, clockwise from north): vertical and horizontal ahead, unit vectors. */
export function launchFrame(site: SiteState, azimuth_rad: number): LaunchFrame {
  const ahead = new Float64Array(3);
  azimuthDirection(site.basis, azimuth_rad, ahead);
  return { up: site.basis.slice(6, 9), ahead };
}
