import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { EARTH_ROTATION_radps } from '../../../core/constants/physical.ts';
import { eastNorthUp, geodeticToCartesian } from '../../../core/earth/ellipsoid.ts';
import { WGS84_FIGURE, sphereFigure } from '../../../core/earth/figure.ts';
import {
  azimuthDirection,
  earthFixedToInertial,
  inertialToEarthFixed,
  localBasis,
  relativeVelocity,
  siteState,
  subtractWind,
  velocityAngles,
} from '../../../core/earth/frames.ts';
import { geodesicFrom } from '../../../core/earth/geodesic.ts';
import { orbitFromState, stateFromElements } from '../../../core/earth/orbit.ts';
import { Worst } from './worst.ts';

const DEGREE = Math.PI / 180;
const angles = () => ({ speed_mps: NaN, flightPathAngle_rad: NaN, heading_rad: NaN });

describe('Earth-fixed and inertial axes', () => {
  test('they coincide at time zero and the Earth turns eastward', () => {
    const out = new Float64Array(3);
    earthFixedToInertial(1, 2, 3, 0, out);
    expect([...out]).toEqual([1, 2, 3]);
    // After a quarter turn the point at longitude zero lies on the inertial y axis.
    earthFixedToInertial(1, 0, 0, Math.PI / 2, out);
    expect(out[0]).toBeCloseTo(0, 15);
    expect(out[1]).toBeCloseTo(1, 15);
    inertialToEarthFixed(0, 1, 5, Math.PI / 2, out);
    expect(out[0]).toBeCloseTo(1, 15);
    expect(out[1]).toBeCloseTo(0, 15);
    expect(out[2]).toBe(5);
  });

  test('there and back is the same vector', () => {
    const there = new Float64Array(3);
    const back = new Float64Array(3);
    const number = fc.double({ min: -1e7, max: 1e7, noNaN: true });
    fc.assert(
      fc.property(number, number, number, fc.double({ min: -10, max: 10, noNaN: true }), (x, y, z, angle) => {
        earthFixedToInertial(x, y, z, angle, there);
        inertialToEarthFixed(there[0]!, there[1]!, there[2]!, angle, back);
        // Two ulps of 1e7.
        return Math.hypot(back[0]! - x, back[1]! - y, back[2]! - z) < 4e-9;
      }),
      { seed: 3, numRuns: 500 },
    );
  });

  test('a site keeps its longitude, moves eastward at omega times its distance from the axis, and is back after a day', () => {
    const state = new Float64Array(6);
    siteState(0, -80 * DEGREE, 0, 0, EARTH_ROTATION_radps, state);
    // The equator's speed is 465.1 m/s (from memory; any table of the Earth).
    expect(Math.hypot(state[3]!, state[4]!)).toBeCloseTo(465.1, 1);
    expect(Math.atan2(state[1]!, state[0]!) / DEGREE).toBeCloseTo(-80, 12);
    const later = new Float64Array(6);
    const day = (2 * Math.PI) / EARTH_ROTATION_radps;
    siteState(0.5, 1, 100, day, EARTH_ROTATION_radps, later);
    siteState(0.5, 1, 100, 0, EARTH_ROTATION_radps, state);
    // The sine of an angle of 7 rad: two ulps of a position of 6e6 m.
    for (let i = 0; i < 3; i++) expect(Math.abs(later[i]! - state[i]!)).toBeLessThan(1e-8);
    // And it does not move against the air.
    const out = new Float64Array(3);
    relativeVelocity(state[0]!, state[1]!, state[3]!, state[4]!, state[5]!, EARTH_ROTATION_radps, out);
    expect(Math.hypot(...out)).toBe(0);
  });

  test('the velocity of a site is the derivative of its position', () => {
    const before = new Float64Array(6);
    const now = new Float64Array(6);
    const after = new Float64Array(6);
    siteState(0.6, -1.4, 30, 299, EARTH_ROTATION_radps, before);
    siteState(0.6, -1.4, 30, 300, EARTH_ROTATION_radps, now);
    siteState(0.6, -1.4, 30, 301, EARTH_ROTATION_radps, after);
    // Second-order remainder: omega^2 / 6 of 400 m/s, 4e-7 m/s; rounding 1e-9 m over 2 s.
    for (let i = 0; i < 3; i++)
      expect(Math.abs((after[i]! - before[i]!) / 2 - now[3 + i]!)).toBeLessThan(5e-7);
  });
});

describe('the local horizon', () => {
  test('the basis at a position is the one at its latitude and longitude', () => {
    const position = new Float64Array(3);
    const fast = new Float64Array(9);
    const exact = new Float64Array(9);
    const geodetic = new Worst('geodetic basis', 'rad', 1e-6);
    const geocentric = new Worst('geocentric basis', 'rad', 1e-15);
    for (let latitude = -85; latitude <= 85; latitude += 5)
      for (const longitude of [-170, -80, 0, 33, 120]) {
        geodeticToCartesian(latitude * DEGREE, longitude * DEGREE, 2e5, position);
        const [x, y, z] = position as unknown as [number, number, number];
        localBasis(WGS84_FIGURE, x, y, z, fast);
        eastNorthUp(latitude * DEGREE, longitude * DEGREE, exact);
        exact.forEach((value, i) => geodetic.add(latitude, fast[i]! - value));
        localBasis(sphereFigure(), x, y, z, fast);
        eastNorthUp(Math.atan2(z, Math.hypot(x, y)), longitude * DEGREE, exact);
        exact.forEach((value, i) => geocentric.add(latitude, fast[i]! - value));
      }
    // As the figure's local vertical.
    geodetic.report();
    geocentric.report();
  });

  test('on the polar axis the basis is whole, with east along y', () => {
    const basis = new Float64Array(9);
    for (const sign of [1, -1]) {
      localBasis(WGS84_FIGURE, 0, 0, sign * 6.4e6, basis);
      [0, 1, 0, -sign, 0, 0, 0, 0, sign].forEach((value, i) => expect(basis[i]).toBeCloseTo(value, 14));
    }
  });

  test('a launch azimuth points along the geodesic that sets out at it', () => {
    const basis = new Float64Array(9);
    const direction = new Float64Array(3);
    const from = new Float64Array(3);
    const to = new Float64Array(3);
    const worst = new Worst('azimuth against a geodesic of 10 m', 'rad', 2e-6);
    for (const azimuth of [0, 35, 72, 90, 180, 270, 300]) {
      const [latitude, longitude] = [28.6 * DEGREE, -80.6 * DEGREE];
      eastNorthUp(latitude, longitude, basis);
      azimuthDirection(basis, azimuth * DEGREE, direction);
      const end = geodesicFrom(latitude, longitude, azimuth * DEGREE, 10);
      geodeticToCartesian(latitude, longitude, 0, from);
      geodeticToCartesian(end.latitude_rad, end.longitude_rad, 0, to);
      const chord = to.map((value, i) => value - from[i]!);
      const length = Math.hypot(...chord);
      worst.add(azimuth, Math.hypot(...chord.map((value, i) => value / length - direction[i]!)));
    }
    // Over 10 m the surface falls away by half of 10 / 6.4e6 rad.
    worst.report();
  });

  test('flight-path angle and heading come back from a velocity made of them', () => {
    const basis = new Float64Array(9);
    const out = angles();
    const worst = new Worst('flight-path angle and heading', 'rad', 1e-13);
    localBasis(WGS84_FIGURE, 3e6, -4e6, 4.2e6, basis);
    for (let path = -89; path <= 89; path += 1)
      for (let heading = 0; heading < 360; heading += 15) {
        const along = [Math.sin(heading * DEGREE), Math.cos(heading * DEGREE)] as const;
        const v = [0, 1, 2].map(
          (i) =>
            7000 *
            (Math.cos(path * DEGREE) * (along[0] * basis[i]! + along[1] * basis[3 + i]!) +
              Math.sin(path * DEGREE) * basis[6 + i]!),
        );
        velocityAngles(basis, v[0]!, v[1]!, v[2]!, out);
        worst.add(`path ${path}`, out.flightPathAngle_rad - path * DEGREE);
        worst.add(`speed ${path}`, out.speed_mps / 7000 - 1);
        const turn = out.heading_rad - heading * DEGREE;
        worst.add(`heading ${heading}, path ${path}`, turn - 2 * Math.PI * Math.round(turn / (2 * Math.PI)));
        expect(out.heading_rad).toBeGreaterThanOrEqual(0);
        expect(out.heading_rad).toBeLessThan(2 * Math.PI);
      }
    // At 89 degrees of path the horizontal part, a hundredth, carries the rounding of the whole.
    worst.report();
  });

  test('the inertial heading on an orbit obeys cos i = sin A cos latitude', () => {
    const state = new Float64Array(6);
    const basis = new Float64Array(9);
    const out = angles();
    const worst = new Worst('cos i - sin A cos latitude', '', 1e-14);
    for (let u = 0.1; u < 6.2; u += 0.3) {
      const elements = {
        semiLatusRectum_m: 6.7e6,
        eccentricity: 0.01,
        inclination_rad: 0.9,
        raan_rad: 2,
        argumentOfPerigee_rad: 0,
        trueAnomaly_rad: u,
      };
      stateFromElements(elements, 3.986e14, state);
      localBasis(sphereFigure(), state[0]!, state[1]!, state[2]!, basis);
      velocityAngles(basis, state[3]!, state[4]!, state[5]!, out);
      const latitude = Math.asin(state[2]! / Math.hypot(state[0]!, state[1]!, state[2]!));
      worst.add(
        u,
        Math.cos(orbitFromState(state, 3.986e14).inclination_rad) -
          Math.sin(out.heading_rad) * Math.cos(latitude),
      );
    }
    worst.report();
  });

  test('at rest the path points up, and a vertical velocity has heading zero', () => {
    const basis = new Float64Array(9);
    const out = angles();
    localBasis(sphereFigure(), 6.4e6, 0, 0, basis);
    velocityAngles(basis, 0, 0, 0, out);
    expect(out).toEqual({ speed_mps: 0, flightPathAngle_rad: Math.PI / 2, heading_rad: 0 });
    velocityAngles(basis, -3, 0, 0, out);
    expect(out).toEqual({ speed_mps: 3, flightPathAngle_rad: -Math.PI / 2, heading_rad: 0 });
  });
});

describe('velocity relative to the air', () => {
  test('a wind from the west is a headwind to one who flies west, and leaves the vertical alone', () => {
    const position = new Float64Array(3);
    const basis = new Float64Array(9);
    const v = new Float64Array(3);
    const worst = new Worst('wind in the local axes', 'm/s', 1e-13);
    for (const latitude of [-70, 0, 28, 89])
      for (const longitude of [-120, 0, 77]) {
        geodeticToCartesian(latitude * DEGREE, longitude * DEGREE, 12000, position);
        const [x, y, z] = position as unknown as [number, number, number];
        localBasis(WGS84_FIGURE, x, y, z, basis);
        const before = [100, -20, 7];
        v.set(before);
        subtractWind(WGS84_FIGURE, x, y, z, 30, -5, v);
        const change = before.map((value, i) => value - v[i]!);
        const component = (row: number) => change.reduce((sum, c, i) => sum + c * basis[3 * row + i]!, 0);
        worst.add(`east, ${latitude}`, component(0) - 30);
        worst.add(`north, ${latitude}`, component(1) + 5);
        worst.add(`up, ${latitude}`, component(2));
      }
    worst.report();
  });

  test('on the polar axis the wind still has its speed', () => {
    const v = new Float64Array(3);
    subtractWind(WGS84_FIGURE, 0, 0, 6.4e6, 3, 4, v);
    expect(Math.hypot(...v)).toBeCloseTo(5, 14);
    expect(v[2]).toBeCloseTo(0, 14);
  });

  test('the relative velocity of an inertial state is v - omega x r', () => {
    const out = new Float64Array(3);
    relativeVelocity(6.4e6, 1e6, 100, 7000, 300, 7e-5, out);
    expect(out[0]).toBeCloseTo(100 + 70, 12);
    expect(out[1]).toBeCloseTo(7000 - 448, 12);
    expect(out[2]).toBe(300);
  });
});
