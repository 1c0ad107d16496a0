import { describe, expect, test } from 'vitest';
import { geodeticToCartesian, surfaceNormal } from '../../../core/earth/ellipsoid.ts';
import { EarthFigure, WGS84_FIGURE, sphereFigure } from '../../../core/earth/figure.ts';
import geodesy from '../../published/earth/geodesy.json' with { type: 'json' };
import { Worst } from './worst.ts';

const DEGREE = Math.PI / 180;
const a = geodesy.wgs84.equatorialRadius_m;
const b = geodesy.wgs84Derived.polarRadius_m;

describe('the figure of the Earth that a flight uses', () => {
  test('the radius follows the ellipse to second order in the flattening', () => {
    const worst = new Worst('radius against the ellipse', 'm', 0.07);
    for (let latitude = 0; latitude <= 90; latitude += 0.25) {
      const sine = Math.sin(latitude * DEGREE);
      const exact = (a * b) / Math.hypot(a * sine, b * Math.cos(latitude * DEGREE));
      worst.add(latitude, WGS84_FIGURE.radius_m(sine * sine) - exact);
    }
    // The expansion leaves out terms of a f^3 (0.24 m) times a polynomial that stays below 0.3.
    worst.report();
    expect(WGS84_FIGURE.radius_m(0)).toBe(a);
    expect(WGS84_FIGURE.radius_m(1)).toBeCloseTo(b, 8);
  });

  test('the height r - R is within metres of the geodetic height, by a known amount at each height', () => {
    const position = new Float64Array(3);
    // The radius meets the surface at up to 3.4e-3 rad from the normal, which by 1000 km of height has added
    // half its square times the height and the lateral shift.
    const bounds: [number, number][] = [
      [-5000, 0.09],
      [0, 0.07],
      [1e4, 0.12],
      [1e5, 0.65],
      [3e5, 1.8],
      [1e6, 5],
    ];
    for (const [height, bound] of bounds) {
      const worst = new Worst(`fast height at ${height / 1000} km`, 'm', bound);
      for (let latitude = -90; latitude <= 90; latitude += 0.5) {
        geodeticToCartesian(latitude * DEGREE, 0.7, height, position);
        worst.add(latitude, WGS84_FIGURE.height_m(position[0]!, position[1]!, position[2]!) - height);
      }
      worst.report();
    }
  });

  test('the gradient of height is its derivative along each axis', () => {
    const gradient = new Float64Array(3);
    const worst = new Worst('gradient of height', '', 2e-10);
    const step = 100;
    for (const figure of [WGS84_FIGURE, sphereFigure()])
      for (const [x, y, z] of [
        [6.4e6, 0, 0],
        [3e6, -4e6, 4.2e6],
        [-1e6, 2e6, -6.2e6],
        [0, 0, 6.5e6],
      ] as const) {
        figure.heightGradient(x, y, z, gradient);
        const slopes = [
          figure.height_m(x + step, y, z) - figure.height_m(x - step, y, z),
          figure.height_m(x, y + step, z) - figure.height_m(x, y - step, z),
          figure.height_m(x, y, z + step) - figure.height_m(x, y, z - step),
        ];
        slopes.forEach((slope, i) => worst.add(`${x}, ${y}, ${z}`, slope / (2 * step) - gradient[i]!));
      }
    // Heights are rounded to 1e-9 m, over 200 m; the second-order remainder is (100 / 6.4e6)^2 = 2.4e-10 / 3.
    worst.report();
  });

  test('the local vertical is the normal of the ellipsoid to a few microradians', () => {
    const position = new Float64Array(3);
    const up = new Float64Array(3);
    const normal = new Float64Array(3);
    const worst = new Worst('local vertical, 0 to 1000 km', 'rad', 2e-6);
    for (const height of [-5000, 0, 1e5, 4e5, 1e6])
      for (let latitude = -90; latitude <= 90; latitude += 1) {
        geodeticToCartesian(latitude * DEGREE, -1.2, height, position);
        surfaceNormal(latitude * DEGREE, -1.2, normal);
        WGS84_FIGURE.up(position[0]!, position[1]!, position[2]!, up);
        worst.add(`${latitude} deg, ${height} m`, Math.hypot(...up.map((value, i) => value - normal[i]!)));
      }
    // The equatorial radius stands for the radius of curvature, which differs from it by up to 0.3 %.
    worst.report();
  });

  test('a sphere has height r - R and the radius as its vertical', () => {
    const sphere = sphereFigure(6378145);
    const up = new Float64Array(3);
    expect(sphere.height_m(3e6, 4e6, 12e6)).toBe(13e6 - 6378145);
    sphere.up(3e6, 4e6, 12e6, up);
    [3 / 13, 4 / 13, 12 / 13].forEach((component, i) => expect(up[i]).toBeCloseTo(component, 15));
    expect(sphereFigure().equatorialRadius_m).toBe(a);
  });

  test('a figure that is no figure is refused by name', () => {
    expect(() => new EarthFigure(0, 0)).toThrow(/equatorialRadius_m: received 0/);
    expect(() => new EarthFigure(6e6, 0.5)).toThrow(/flattening: received 0.5/);
    expect(() => new EarthFigure(6e6, NaN)).toThrow(/flattening: received NaN/);
  });
});
