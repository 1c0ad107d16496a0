import { EARTH_EQUATORIAL_RADIUS_m, EARTH_GM_m3ps2, EARTH_J2 } from '../constants/physical.ts';

/**
 * Gravity of an oblate Earth: a central term and the second zonal harmonic.
 *
 * Specific potential energy (negative, zero at infinity), with s = z / r:
 *
 *     V = -(GM / r) (1 - J2 (a / r)^2 (3 s^2 - 1) / 2)
 *
 * and acceleration -grad V (W. M. Kaula, Theory of Satellite Geodesy, 1966, section 1.1). Positions are
 * Earth-centred with z along the polar axis; since the field is symmetric about that axis, inertial and
 * Earth-fixed axes serve alike and the result is in the axes of the argument. Attraction alone: the centrifugal
 * term belongs to rotating axes and is not in here.
 *
 * Outside the Earth the neglected harmonics amount to at most 2e-5 of g (J3, J4 and the tesserals). Not defined
 * at the centre, where the result is not finite.
 */
export class Gravity {
  readonly gm_m3ps2: number;
  readonly j2: number;
  readonly radius_m: number;
  private readonly oblate: number;

  /**
   * @param gm_m3ps2 gravitational parameter, greater than 0.
   * @param j2 second zonal harmonic, unnormalised, positive for an oblate body; 0 for a central field.
   * @param radius_m the equatorial radius that J2 refers to, greater than 0.
   * @throws RangeError that names the argument.
   */
  constructor(gm_m3ps2: number, j2: number, radius_m: number) {
    for (const [name, value] of Object.entries({ gm_m3ps2, radius_m }))
      if (!(value > 0 && value < Infinity))
        throw new RangeError(`${name}: received ${value}; it must be finite and greater than 0`);
    if (!Number.isFinite(j2)) throw new RangeError(`j2: received ${j2}; it must be finite`);
    this.gm_m3ps2 = gm_m3ps2;
    this.j2 = j2;
    this.radius_m = radius_m;
    this.oblate = 1.5 * j2 * radius_m * radius_m;
  }

  /**
   * Acceleration of gravity, m/s2, towards the Earth.
   *
   * @param out receives the x, y and z components at indices 0 to 2.
   */
  acceleration(x_m: number, y_m: number, z_m: number, out: Float64Array): void {
    const inverse2 = 1 / (x_m * x_m + y_m * y_m + z_m * z_m);
    const central = -this.gm_m3ps2 * inverse2 * Math.sqrt(inverse2);
    const oblate = this.oblate * inverse2;
    const s2 = 5 * z_m * z_m * inverse2;
    const side = central * (1 + oblate * (1 - s2));
    out[0] = side * x_m;
    out[1] = side * y_m;
    out[2] = central * (1 + oblate * (3 - s2)) * z_m;
  }

  /** Specific potential energy, J/kg. */
  potential_Jpkg(x_m: number, y_m: number, z_m: number): number {
    const inverse2 = 1 / (x_m * x_m + y_m * y_m + z_m * z_m);
    const s2 = z_m * z_m * inverse2;
    return -this.gm_m3ps2 * Math.sqrt(inverse2) * (1 - this.oblate * inverse2 * (s2 - 1 / 3));
  }
}

/** WGS 84 gravitational parameter with the J2 of EGM96. */
export const OBLATE_GRAVITY = new Gravity(EARTH_GM_m3ps2, EARTH_J2, EARTH_EQUATORIAL_RADIUS_m);

/** A central field; of the WGS 84 gravitational parameter unless another (m3/s2) is given. */
export function centralGravity(gm_m3ps2: number = EARTH_GM_m3ps2): Gravity {
  return new Gravity(gm_m3ps2, 0, EARTH_EQUATORIAL_RADIUS_m);
}
