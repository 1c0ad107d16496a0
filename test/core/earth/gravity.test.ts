import { describe, expect, test } from 'vitest';
import { EARTH_ROTATION_radps } from '../../../core/constants/physical.ts';
import { geodeticToCartesian, surfaceNormal } from '../../../core/earth/ellipsoid.ts';
import { Gravity, OBLATE_GRAVITY, centralGravity } from '../../../core/earth/gravity.ts';
import geodesy from '../../published/earth/geodesy.json' with { type: 'json' };
import { Worst } from './worst.ts';

const DEGREE = Math.PI / 180;
const positions = [
  [6.4e6, 0, 0],
  [3e6, -4e6, 4.2e6],
  [-1e6, 2e6, -6.2e6],
  [1, 2, 6.36e6],
  [2e7, 1e7, -3e7],
] as const;

/** Derivative by Richardson's central differences of fourth order. */
function derivative(f: (d: number) => number, step: number): number {
  return (8 * (f(step) - f(-step)) - (f(2 * step) - f(-2 * step))) / (12 * step);
}

describe('gravity', () => {
  test('the acceleration is minus the gradient of the potential', () => {
    const out = new Float64Array(3);
    const worst = new Worst('acceleration against the gradient', 'm/s2', 2e-10);
    for (const gravity of [OBLATE_GRAVITY, centralGravity()])
      for (const [x, y, z] of positions) {
        gravity.acceleration(x, y, z, out);
        const slopes = [
          derivative((d) => gravity.potential_Jpkg(x + d, y, z), 1000),
          derivative((d) => gravity.potential_Jpkg(x, y + d, z), 1000),
          derivative((d) => gravity.potential_Jpkg(x, y, z + d), 1000),
        ];
        slopes.forEach((slope, i) => worst.add(`${x}, ${y}, ${z}`, out[i]! + slope));
      }
    // The potential, 6e7 J/kg, is rounded to 7e-9 J/kg, over 12 km: 1e-11; the fourth-order remainder is 1e-13.
    worst.report();
  });

  test('the field has no sources outside the Earth', () => {
    const ahead = new Float64Array(3);
    const behind = new Float64Array(3);
    const worst = new Worst('divergence over GM / r^3', '', 1e-7);
    for (const [x, y, z] of positions) {
      let divergence = 0;
      for (let axis = 0; axis < 3; axis++) {
        const d = [0, 0, 0].map((_, i) => (i === axis ? 100 : 0));
        OBLATE_GRAVITY.acceleration(x + d[0]!, y + d[1]!, z + d[2]!, ahead);
        OBLATE_GRAVITY.acceleration(x - d[0]!, y - d[1]!, z - d[2]!, behind);
        divergence += (ahead[axis]! - behind[axis]!) / 200;
      }
      worst.add(`${x}, ${y}, ${z}`, (divergence * Math.hypot(x, y, z) ** 3) / OBLATE_GRAVITY.gm_m3ps2);
    }
    // Second-order differences over 100 m leave (100 / 6.4e6)^2 = 2e-10 and rounding 1e-8 of GM / r^3.
    worst.report();
  });

  test('at the pole and the equator the oblate term has its textbook size and sign', () => {
    const out = new Float64Array(3);
    const { gm_m3ps2: gm, j2, radius_m: a } = OBLATE_GRAVITY;
    OBLATE_GRAVITY.acceleration(a, 0, 0, out);
    expect(out[0]! / ((-gm / a ** 2) * (1 + 1.5 * j2))).toBeCloseTo(1, 14);
    OBLATE_GRAVITY.acceleration(0, 0, a, out);
    expect(out[2]! / ((-gm / a ** 2) * (1 - 3 * j2))).toBeCloseTo(1, 14);
  });

  test('gravity and centrifugal acceleration make up normal gravity but for the J4 term', () => {
    // Somigliana's formula belongs to the field of which the ellipsoid is a level surface: J2 of the ellipsoid,
    // J4 = -2.371e-6 and smaller. Here J4 and on are missing (what that makes is a published check). With J4 put in by hand only J6 is left, 7 J6 P6 g = 4e-7 m/s2 at the
    // pole.
    const j2 = geodesy.wgs84Derived.j2OfTheEllipsoid;
    const e2 = geodesy.wgs84Derived.eccentricitySquared;
    const j4 = ((-3 * e2 * e2) / 35) * (-1 + (10 * j2) / e2);
    const {
      gm_m3ps2: gm,
      equatorialRadius_m: a,
      somigliana,
    } = {
      ...geodesy.wgs84,
      somigliana: geodesy.normalGravity,
    };
    expect(j4).toBeCloseTo(-2.3709e-6, 9);
    const gravity = new Gravity(gm, j2, a);
    const position = new Float64Array(3);
    const normal = new Float64Array(3);
    const pull = new Float64Array(3);
    const mended = new Worst('normal gravity, J2 and J4', 'm/s2', 5e-7);
    const tilt = new Worst('direction of gravity, J2 alone', 'rad', 1.6e-6);
    for (const [latitude, published] of [
      [0, somigliana.equator_mps2],
      [45, somigliana.latitude45_mps2],
      [90, somigliana.pole_mps2],
    ] as const) {
      geodeticToCartesian(latitude * DEGREE, 0, 0, position);
      surfaceNormal(latitude * DEGREE, 0, normal);
      const [x, y, z] = position as unknown as [number, number, number];
      gravity.acceleration(x, y, z, pull);
      pull[0]! += EARTH_ROTATION_radps ** 2 * x;
      pull[1]! += EARTH_ROTATION_radps ** 2 * y;
      const along = -(pull[0]! * normal[0]! + pull[1]! * normal[1]! + pull[2]! * normal[2]!);
      tilt.add(`${latitude} deg`, Math.acos(Math.min(1, along / Math.hypot(...pull))));

      const zonal4 = (px: number, pz: number) => {
        const r = Math.hypot(px, pz);
        const s2 = (pz / r) ** 2;
        return (gm / r) * j4 * (a / r) ** 4 * ((35 * s2 * s2 - 30 * s2 + 3) / 8);
      };
      pull[0]! -= derivative((d) => zonal4(x + d, z), 1000);
      pull[2]! -= derivative((d) => zonal4(x, z + d), 1000);
      mended.add(`${latitude} deg`, Math.hypot(...pull) - published);
    }
    mended.report();
    // The horizontal part of the J4 term, J4 dP4/dphi: 1.5e-6 at 45 degrees.
    tilt.report();
  });

  test('a field that is no field is refused by name', () => {
    expect(() => new Gravity(0, 0, 6e6)).toThrow(/gm_m3ps2: received 0/);
    expect(() => new Gravity(4e14, NaN, 6e6)).toThrow(/j2: received NaN/);
    expect(() => new Gravity(4e14, 0, -1)).toThrow(/radius_m: received -1/);
  });
});
