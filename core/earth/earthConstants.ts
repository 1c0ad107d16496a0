/** The three constants of the Earth that flight and orbit share; published benchmarks come with values of their own. */
import { EARTH_EQUATORIAL_RADIUS_m, EARTH_GM_m3ps2, EARTH_ROTATION_radps } from '../constants/physical.ts';
import type { Study } from '../contract/study.ts';

export interface EarthConstants {
  readonly gm_m3ps2: number;
  /** Of the sphere that heights are counted from, and of apsis heights on every figure. */
  readonly radius_m: number;
  readonly rotation_radps: number;
}

/** The WGS 84 values. */
export const WGS84_EARTH: EarthConstants = {
  gm_m3ps2: EARTH_GM_m3ps2,
  radius_m: EARTH_EQUATORIAL_RADIUS_m,
  rotation_radps: EARTH_ROTATION_radps,
};

/** The constants that a study states, WGS 84's where it states none; SI. */
export function earthConstants({ constants }: Study['earth']): EarthConstants {
  if (constants === undefined) return WGS84_EARTH;
  return {
    gm_m3ps2: constants.gravitationalParameter_m3ps2,
    radius_m: constants.equatorialRadius_m,
    rotation_radps: constants.rotationRate_radps,
  };
}
