import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { EARTH_EQUATORIAL_RADIUS_m, EARTH_GM_m3ps2 } from '../../../core/constants/physical.ts';
import {
  circularSpeed_mps,
  orbitFromState,
  orbitVectors,
  shapeFromApsides,
  stateFromElements,
} from '../../../core/earth/orbit.ts';
import orbits from '../../published/earth/orbits.json' with { type: 'json' };
import { Worst } from './worst.ts';

const GM = EARTH_GM_m3ps2;
const stateOf = (example: { position_km: number[]; velocity_kmps: number[] }) =>
  Float64Array.from([...example.position_km, ...example.velocity_kmps], (k) => k * 1000);
const turn = (angle: number) => angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));

describe('elements and state', () => {
  const angle = fc.double({ min: 0, max: 2 * Math.PI, noNaN: true });

  test('a state comes back from its elements, on ellipses, parabolas and hyperbolas of any attitude', () => {
    const back = new Float64Array(6);
    const state = new Float64Array(6);
    const worst = new Worst('state to elements to state, relative', '', 3e-11);
    fc.assert(
      fc.property(
        fc.double({ min: 6.6e6, max: 5e7, noNaN: true }),
        fc.oneof(
          fc.double({ min: 0, max: 3, noNaN: true }),
          fc.constantFrom(0, 1e-14, 1e-12, 1e-10, 1e-8, 0.999999, 1, 1.000001),
        ),
        fc.oneof(
          fc.double({ min: 0, max: Math.PI, noNaN: true }),
          fc.constantFrom(0, 1e-13, 1e-10, 1e-8, Math.PI, Math.PI - 1e-10, Math.PI / 2),
        ),
        angle,
        angle,
        fc.double({ min: -1, max: 1, noNaN: true }),
        (p, e, inclination, raan, perigee, place) => {
          // Stay well inside the asymptote of a hyperbola, and off the far end of a parabola.
          const limit = e < 0.9 ? Math.PI : 0.9 * Math.acos(Math.max(-1, -1 / e));
          const elements = {
            semiLatusRectum_m: p,
            eccentricity: e,
            inclination_rad: inclination,
            raan_rad: raan,
            argumentOfPerigee_rad: perigee,
            trueAnomaly_rad: place * limit,
          };
          stateFromElements(elements, GM, state);
          stateFromElements(orbitFromState(state, GM), GM, back);
          const r = Math.hypot(state[0]!, state[1]!, state[2]!);
          const v = Math.hypot(state[3]!, state[4]!, state[5]!);
          const label = `p ${p}, e ${e}, i ${inclination}, place ${place * limit}`;
          worst.add(label, Math.hypot(...[0, 1, 2].map((i) => back[i]! - state[i]!)) / r);
          worst.add(label, Math.hypot(...[3, 4, 5].map((i) => back[i]! - state[i]!)) / v);
        },
      ),
      { seed: 25, numRuns: 5000 },
    );
    // Of an orbit taken for a circle or for equatorial, eccentricity or tilt up to 1e-11 is dropped from the
    // angles (not from the eccentricity): up to 2e-11 of the state.
    worst.report();
  });

  test('elements come back from their state when none is degenerate', () => {
    const state = new Float64Array(6);
    const worst = new Worst('elements to state to elements', 'rad or relative', 1e-12);
    fc.assert(
      fc.property(
        fc.double({ min: 0.05, max: 0.9, noNaN: true }),
        fc.double({ min: 0.05, max: 3.09, noNaN: true }),
        angle,
        angle,
        angle,
        (eccentricity, inclination_rad, raan_rad, argumentOfPerigee_rad, trueAnomaly_rad) => {
          const elements = {
            semiLatusRectum_m: 7e6,
            eccentricity,
            inclination_rad,
            raan_rad,
            argumentOfPerigee_rad,
            trueAnomaly_rad,
          };
          stateFromElements(elements, GM, state);
          const orbit = orbitFromState(state, GM);
          worst.add('semi-latus rectum', orbit.semiLatusRectum_m / 7e6 - 1);
          worst.add('eccentricity', orbit.eccentricity - eccentricity);
          worst.add('inclination', orbit.inclination_rad - inclination_rad);
          worst.add('node', turn(orbit.raan_rad - raan_rad));
          worst.add('perigee', turn(orbit.argumentOfPerigee_rad - argumentOfPerigee_rad));
          worst.add('anomaly', turn(orbit.trueAnomaly_rad - trueAnomaly_rad));
          for (const a of [orbit.raan_rad, orbit.argumentOfPerigee_rad, orbit.trueAnomaly_rad])
            expect(a >= 0 && a < 2 * Math.PI).toBe(true);
        },
      ),
      { seed: 26, numRuns: 3000 },
    );
    // Rounding, divided by the smallest eccentricity and sine of inclination (0.05), and by the slow apogee.
    worst.report();
  });

  test('the vectors agree with the elements', () => {
    const state = stateOf(orbits.vallado25);
    const out = new Float64Array(7);
    orbitVectors(state, GM, out);
    const orbit = orbitFromState(state, GM);
    expect(out[0]).toBe(orbit.energy_Jpkg);
    expect(out[0]! / (-GM / (2 * orbit.semiMajorAxis_m))).toBeCloseTo(1, 14);
    expect(Math.hypot(out[1]!, out[2]!, out[3]!) / orbit.angularMomentum_m2ps).toBeCloseTo(1, 15);
    expect(Math.hypot(out[4]!, out[5]!, out[6]!)).toBeCloseTo(orbit.eccentricity, 15);
    // e lies in the plane, at right angles to h.
    const dot = out[1]! * out[4]! + out[2]! * out[5]! + out[3]! * out[6]!;
    expect(Math.abs(dot) / orbit.angularMomentum_m2ps).toBeLessThan(1e-15);
  });
});

describe('degenerate orbits', () => {
  const speed = circularSpeed_mps(7e6, GM);

  test('on a circle the perigee is taken at the node', () => {
    const state = Float64Array.of(0, 7e6, 0, -speed * Math.cos(0.5), 0, speed * Math.sin(0.5));
    const orbit = orbitFromState(state, GM);
    expect(orbit.perigeeDefined).toBe(false);
    expect(orbit.argumentOfPerigee_rad).toBe(0);
    expect(orbit.raan_rad).toBeCloseTo(Math.PI / 2, 14);
    expect(Math.abs(turn(orbit.trueAnomaly_rad))).toBeLessThan(1e-14);
  });

  test('in the equator the node is on the x axis, for both senses of turning', () => {
    const place = [7e6 * Math.cos(1), 7e6 * Math.sin(1), 0] as const;
    for (const sense of [1, -1]) {
      const state = Float64Array.of(
        ...place,
        -1.1 * sense * speed * Math.sin(1),
        1.1 * sense * speed * Math.cos(1),
        0,
      );
      const orbit = orbitFromState(state, GM);
      expect(orbit.nodeDefined).toBe(false);
      expect(orbit.raan_rad).toBe(0);
      expect(orbit.inclination_rad).toBeCloseTo(sense > 0 ? 0 : Math.PI, 14);
      // It is at perigee, at longitude 1 counted with the motion.
      expect(Math.abs(turn(orbit.argumentOfPerigee_rad - sense))).toBeLessThan(1e-13);
      expect(Math.abs(turn(orbit.trueAnomaly_rad))).toBeLessThan(1e-13);
    }
  });

  test('a circle in the equator counts its place from the x axis', () => {
    const state = Float64Array.of(
      7e6 * Math.cos(2),
      7e6 * Math.sin(2),
      0,
      -speed * Math.sin(2),
      speed * Math.cos(2),
      0,
    );
    const orbit = orbitFromState(state, GM);
    expect([orbit.perigeeDefined, orbit.nodeDefined]).toEqual([false, false]);
    expect(orbit.trueAnomaly_rad).toBeCloseTo(2, 13);
  });

  test('a straight line has no plane, eccentricity one and its apsis at the centre', () => {
    for (const velocity of [0, 1000]) {
      const state = Float64Array.of(0, 0, 6.5e6, 0, 0, velocity);
      const orbit = orbitFromState(state, GM);
      expect(orbit.planeDefined).toBe(false);
      expect(orbit.semiLatusRectum_m).toBe(0);
      expect(orbit.angularMomentum_m2ps).toBe(0);
      expect(orbit.eccentricity).toBeCloseTo(1, 14);
      expect(orbit.perigeeHeight_m).toBe(-EARTH_EQUATORIAL_RADIUS_m);
      expect(orbit.apogeeHeight_m).toBeGreaterThan(6.5e6 - EARTH_EQUATORIAL_RADIUS_m - 1);
      for (const value of Object.values(orbit)) expect(value).not.toBeNaN();
      expect(() => stateFromElements(orbit, GM, new Float64Array(6))).toThrow(
        /semiLatusRectum_m: received 0/,
      );
    }
  });

  test('a state or element that is none is refused by name', () => {
    const out = new Float64Array(6);
    expect(() => orbitFromState(Float64Array.of(0, 0, 0, 1, 1, 1), GM)).toThrow(/position at the centre/);
    expect(() => orbitFromState(Float64Array.of(NaN, 0, 0, 1, 1, 1), GM)).toThrow(/state\[0\]: received NaN/);
    expect(() => orbitFromState(Float64Array.of(7e6, 0), GM)).toThrow(/state\[2\]: received undefined/);
    const elements = {
      semiLatusRectum_m: 7e6,
      eccentricity: 2,
      inclination_rad: 0,
      raan_rad: 0,
      argumentOfPerigee_rad: 0,
      trueAnomaly_rad: 0,
    };
    expect(() => stateFromElements({ ...elements, trueAnomaly_rad: 3 }, GM, out)).toThrow(/asymptote/);
    expect(() => stateFromElements({ ...elements, eccentricity: -1 }, GM, out)).toThrow(
      /eccentricity: received -1/,
    );
    expect(() => stateFromElements({ ...elements, raan_rad: NaN }, GM, out)).toThrow(
      /raan_rad: received NaN/,
    );
    expect(() => shapeFromApsides(NaN, 1)).toThrow(/firstHeight_m: received NaN/);
  });
});
