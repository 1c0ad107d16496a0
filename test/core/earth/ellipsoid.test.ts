import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  cartesianToGeodetic,
  eastNorthUp,
  geocentricLatitude_rad,
  geodeticLatitude_rad,
  geodeticToCartesian,
  surfaceNormal,
} from '../../../core/earth/ellipsoid.ts';
import geodesy from '../../published/earth/geodesy.json' with { type: 'json' };
import { Worst } from './worst.ts';

const DEGREE = Math.PI / 180;
const a = geodesy.wgs84.equatorialRadius_m;
const b = geodesy.wgs84Derived.polarRadius_m;
const point = () => ({ latitude_rad: NaN, longitude_rad: NaN, height_m: NaN });

describe('the WGS 84 ellipsoid', () => {
  test('the equator lies at the equatorial and the poles at the polar radius', () => {
    const out = new Float64Array(3);
    geodeticToCartesian(0, 0, 0, out);
    expect([...out]).toEqual([a, 0, 0]);
    geodeticToCartesian(Math.PI / 2, 1, 0, out);
    // 1e-9 m is an ulp here; the cosine of pi/2 leaves 4e-10 m beside the axis.
    expect(Math.abs(out[2]! - b)).toBeLessThan(2e-9);
    expect(Math.hypot(out[0]!, out[1]!)).toBeLessThan(1e-9);
    geodeticToCartesian(-Math.PI / 2, 0, 1000, out);
    expect(Math.abs(out[2]! + b + 1000)).toBeLessThan(2e-9);
  });

  test('every point of height zero satisfies the equation of the ellipsoid', () => {
    const out = new Float64Array(3);
    const worst = new Worst('equation of the ellipsoid', '', 1e-15);
    for (let latitude = -90; latitude <= 90; latitude += 0.5) {
      geodeticToCartesian(latitude * DEGREE, 1.1, 0, out);
      const sum = (out[0]! ** 2 + out[1]! ** 2) / (a * a) + out[2]! ** 2 / (b * b);
      worst.add(latitude, sum - 1);
    }
    // Rounding of three squares.
    worst.report();
  });

  test('the inverse leads back to the position within rounding, from -5 km to 1e8 m and at the poles', () => {
    const back = new Float64Array(3);
    const position = new Float64Array(3);
    const out = point();
    const near = new Worst('round trip, heights -5 to 1000 km', 'm', 4e-9);
    const far = new Worst('round trip, heights to 1e8 m, relative to the radius', '', 1e-15);
    const height = new Worst('height after the round trip, to 1000 km', 'm', 4e-9);
    const latitudes = [-90, -89.999999, -1e-9, 0, 1e-9, 89.9, 89.999999, 90];
    for (let latitude = -89.5; latitude < 90; latitude += 0.5) latitudes.push(latitude);
    for (const h of [-5000, 0, 1, 8848, 1e5, 3e5, 1e6, 1e7, 1e8])
      for (const latitude of latitudes)
        for (const longitude of [-180, -74, 0, 12.5, 90, 179.9]) {
          geodeticToCartesian(latitude * DEGREE, longitude * DEGREE, h, position);
          cartesianToGeodetic(position[0]!, position[1]!, position[2]!, out);
          geodeticToCartesian(out.latitude_rad, out.longitude_rad, out.height_m, back);
          const miss = Math.hypot(back[0]! - position[0]!, back[1]! - position[1]!, back[2]! - position[2]!);
          const label = `${latitude}, ${longitude} deg, ${h} m`;
          if (h <= 1e6) {
            near.add(label, miss);
            height.add(label, out.height_m - h);
          }
          far.add(label, miss / Math.hypot(position[0]!, position[1]!, position[2]!));
        }
    // An ulp of a coordinate near the Earth is 1e-9 m, and each coordinate is a few roundings away from exact:
    // 1e-9 m is met on average and four of them at worst. Further out an ulp grows with the radius.
    near.report();
    height.report();
    far.report();
  });

  test('the inverse gives latitude, longitude and height as they were put in, whatever they were', () => {
    const position = new Float64Array(3);
    const out = point();
    const worst = new Worst('latitude after the round trip', 'rad', 1e-15);
    fc.assert(
      fc.property(
        fc.double({ min: -Math.PI / 2, max: Math.PI / 2, noNaN: true }),
        fc.double({ min: -3.1, max: 3.1, noNaN: true }),
        fc.double({ min: -1e5, max: 1e8, noNaN: true }),
        (latitude, longitude, height) => {
          geodeticToCartesian(latitude, longitude, height, position);
          cartesianToGeodetic(position[0]!, position[1]!, position[2]!, out);
          worst.add(`${latitude}, ${height}`, out.latitude_rad - latitude);
          return Number.isFinite(out.height_m) && Math.abs(out.height_m - height) < 1e-7;
        },
      ),
      { seed: 84, numRuns: 3000 },
    );
    // 1e-15 rad is 6e-9 m on the ground.
    worst.report();
  });

  test('the normal is at right angles to the surface and the basis is right-handed', () => {
    const normal = new Float64Array(3);
    const ahead = new Float64Array(3);
    const behind = new Float64Array(3);
    const basis = new Float64Array(9);
    const worst = new Worst('normal against two tangents', 'rad', 1e-9);
    const handed = new Worst('east x north - up', '', 1e-15);
    for (let latitude = -80; latitude <= 80; latitude += 10)
      for (let longitude = -180; longitude < 180; longitude += 30) {
        const phi = latitude * DEGREE;
        const lambda = longitude * DEGREE;
        surfaceNormal(phi, lambda, normal);
        for (const [dPhi, dLambda] of [
          [1e-4, 0],
          [0, 1e-4],
        ] as const) {
          geodeticToCartesian(phi + dPhi, lambda + dLambda, 0, ahead);
          geodeticToCartesian(phi - dPhi, lambda - dLambda, 0, behind);
          const tangent = ahead.map((value, i) => value - behind[i]!);
          const length = Math.hypot(...tangent);
          worst.add(latitude, tangent.reduce((sum, value, i) => sum + value * normal[i]!, 0) / length);
        }
        eastNorthUp(phi, lambda, basis);
        const [ex, ey, ez, nx, ny, nz] = basis as unknown as [number, number, number, number, number, number];
        const cross = [ey * nz - ez * ny, ez * nx - ex * nz, ex * ny - ey * nx];
        cross.forEach((value, i) => {
          handed.add(latitude, value - basis[6 + i]!);
          handed.add(latitude, basis[6 + i]! - normal[i]!);
        });
      }
    // Central differences over 1e-4 rad: the second-order error is 1e-8 / 6 of the curvature's change, below 1e-9.
    worst.report();
    handed.report();
  });

  test("geocentric and geodetic latitude are each other's inverse and differ as the flattening says", () => {
    const worst = new Worst('geocentric to geodetic and back', 'rad', 1e-15);
    const position = new Float64Array(3);
    for (let latitude = -90; latitude <= 90; latitude += 2.5)
      for (const height of [0, 4e5, 3.6e7]) {
        const geocentric = geocentricLatitude_rad(latitude * DEGREE, height);
        geodeticToCartesian(latitude * DEGREE, 0.3, height, position);
        const axial = Math.hypot(position[0]!, position[1]!);
        const radius = Math.hypot(axial, position[2]!);
        worst.add(latitude, geodeticLatitude_rad(geocentric, radius) - latitude * DEGREE);
        worst.add(latitude, geocentric - Math.atan2(position[2]!, axial));
      }
    // Two ulps of an angle of 1.5.
    worst.report();
    // On the surface tan(geocentric) = (b / a)^2 tan(geodetic), the definition of the two latitudes.
    expect(geocentricLatitude_rad(Math.PI / 4, 0)).toBeCloseTo(Math.atan((b / a) ** 2), 14);
  });

  test('a position near the centre or one that is not finite is refused by name', () => {
    expect(() => cartesianToGeodetic(10, 20, 30, point())).toThrow(/position: received \(10, 20, 30\) m/);
    expect(() => cartesianToGeodetic(NaN, 0, 7e6, point())).toThrow(RangeError);
    expect(() => cartesianToGeodetic(Infinity, 0, 7e6, point())).toThrow(RangeError);
  });
});
