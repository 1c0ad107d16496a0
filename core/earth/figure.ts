import { EARTH_EQUATORIAL_RADIUS_m, EARTH_FLATTENING } from '../constants/physical.ts';

/**
 * The figure of the Earth as a flight sees it: from an Earth-centred position (Earth-fixed or inertial, z along
 * the polar axis) to height and local vertical, without iteration. A sphere is a figure of flattening zero.
 *
 * The radius is that of the ellipsoid at the position's geocentric latitude, to second order in the flattening:
 *
 *     R = a (1 - f s2 (1 + 1.5 f (1 - s2))),  s2 = (z / r)^2,  height = r - R
 *
 * (the expansion of the ellipse; e.g. R. H. Battin, An Introduction to the Mathematics and Methods of
 * Astrodynamics, 1999). Against the geodetic height of WGS 84 it is off by at most 0.09 m at -5 km, 0.07 m at
 * the surface, 0.6 m at 100 km, 1.7 m at 300 km and 5 m at 1000 km, the more because a radius is not a normal.
 */
export class EarthFigure {
  readonly equatorialRadius_m: number;
  readonly flattening: number;
  private readonly polarScale: number;

  /**
   * @param equatorialRadius_m a, greater than 0.
   * @param flattening f, from 0 to below 0.01, beyond which the expansion does not hold.
   * @throws RangeError that names the argument.
   */
  constructor(equatorialRadius_m: number, flattening: number) {
    if (!(equatorialRadius_m > 0 && equatorialRadius_m < Infinity))
      throw new RangeError(
        `equatorialRadius_m: received ${equatorialRadius_m}; it must be finite and greater than 0`,
      );
    if (!(flattening >= 0 && flattening < 0.01))
      throw new RangeError(`flattening: received ${flattening}; it must lie from 0 to below 0.01`);
    this.equatorialRadius_m = equatorialRadius_m;
    this.flattening = flattening;
    this.polarScale = (1 - flattening) * (1 - flattening);
  }

  /**
   * Radius of the figure at a geocentric latitude.
   *
   * @param s2 square of the sine of the geocentric latitude, (z / r)^2, from 0 to 1.
   * @returns m; for WGS 84 within 0.07 m of the ellipse.
   */
  radius_m(s2: number): number {
    const f = this.flattening;
    return this.equatorialRadius_m * (1 - f * s2 * (1 + 1.5 * f * (1 - s2)));
  }

  /** Height of a position above the figure, m: r - R. Not defined at the centre, where it is NaN. */
  height_m(x_m: number, y_m: number, z_m: number): number {
    const r2 = x_m * x_m + y_m * y_m + z_m * z_m;
    return Math.sqrt(r2) - this.radius_m((z_m * z_m) / r2);
  }

  /**
   * Gradient of {@link height_m} with respect to position (dimensionless): what the rate of change of height is
   * to velocity, used where an event is set off by height.
   *
   * @param out receives the x, y and z components at indices 0 to 2.
   */
  heightGradient(x_m: number, y_m: number, z_m: number, out: Float64Array): void {
    const r2 = x_m * x_m + y_m * y_m + z_m * z_m;
    const r = Math.sqrt(r2);
    const s2 = (z_m * z_m) / r2;
    const f = this.flattening;
    // dR/ds2 times the gradient of s2 = z^2 / r^2.
    const slope = -this.equatorialRadius_m * f * (1 + 1.5 * f * (1 - 2 * s2));
    const radial = 1 / r + (2 * slope * s2) / r2;
    out[0] = x_m * radial;
    out[1] = y_m * radial;
    out[2] = z_m * (radial - (2 * slope) / r2);
  }

  /**
   * Unit vector along the local vertical: the outward normal of the ellipsoid below the position. On the
   * ellipsoid tan(geodetic) = tan(geocentric) / (1 - f)^2; at height h both radii of curvature grow by h, and
   * with the equatorial radius for the first the ratio is (a + h) / (a (1 - f)^2 + h).
   *
   * @param out receives the x, y and z components at indices 0 to 2.
   * The angle to the true normal of WGS 84 stays below 1e-6 rad from -5 to 1000 km.
   */
  up(x_m: number, y_m: number, z_m: number, out: Float64Array): void {
    const h = this.height_m(x_m, y_m, z_m);
    const a = this.equatorialRadius_m;
    const z = (z_m * (a + h)) / (a * this.polarScale + h);
    const scale = 1 / Math.sqrt(x_m * x_m + y_m * y_m + z * z);
    out[0] = x_m * scale;
    out[1] = y_m * scale;
    out[2] = z * scale;
  }
}

/** The WGS 84 ellipsoid as a flight sees it. */
export const WGS84_FIGURE = new EarthFigure(EARTH_EQUATORIAL_RADIUS_m, EARTH_FLATTENING);

/** A sphere, of the WGS 84 equatorial radius unless another radius (m) is given. */
export function sphereFigure(radius_m: number = EARTH_EQUATORIAL_RADIUS_m): EarthFigure {
  return new EarthFigure(radius_m, 0);
}
