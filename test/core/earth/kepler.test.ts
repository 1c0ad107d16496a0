import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { EARTH_GM_m3ps2 } from '../../../core/constants/physical.ts';
import { propagateKepler } from '../../../core/earth/kepler.ts';
import {
  orbitFromState,
  orbitVectors,
  orbitalPeriod_s,
  stateFromElements,
} from '../../../core/earth/orbit.ts';
import { Worst } from './worst.ts';

const GM = EARTH_GM_m3ps2;
const radius = (state: Float64Array) => Math.hypot(state[0]!, state[1]!, state[2]!);
const speed = (state: Float64Array) => Math.hypot(state[3]!, state[4]!, state[5]!);

describe('Kepler propagation', () => {
  test('energy, angular momentum and eccentricity vector are kept, and going back leads back', () => {
    const state = new Float64Array(6);
    const there = new Float64Array(6);
    const back = new Float64Array(6);
    const before = new Float64Array(7);
    const after = new Float64Array(7);
    const vectors = new Worst('orbit vectors kept, relative', '', 2e-12);
    const returned = new Worst('there and back, relative to the distance and speed', '', 1e-10);
    let most = 0;
    fc.assert(
      fc.property(
        fc.double({ min: 6.6e6, max: 3e7, noNaN: true }),
        fc.oneof(
          fc.double({ min: 0, max: 4, noNaN: true }),
          fc.constantFrom(0, 1e-9, 0.99, 1 - 1e-9, 1, 1 + 1e-9, 1.01),
        ),
        fc.double({ min: -2, max: 2, noNaN: true }),
        fc.double({ min: -2e5, max: 2e5, noNaN: true }),
        (perigee, e, anomaly, span) => {
          const inside = e > 1 ? Math.max(-1, Math.min(1, anomaly)) : anomaly;
          stateFromElements(
            {
              semiLatusRectum_m: perigee * (1 + e),
              eccentricity: e,
              inclination_rad: 1,
              raan_rad: 2,
              argumentOfPerigee_rad: 3,
              trueAnomaly_rad: inside,
            },
            GM,
            state,
          );
          const result = propagateKepler(state, span, GM, there);
          const label = `perigee ${perigee}, e ${e}, from ${inside}, ${span} s`;
          expect(result.status, label).toBe('converged');
          expect(propagateKepler(there, -span, GM, back).status, label).toBe('converged');
          most = Math.max(most, result.iterations);
          orbitVectors(state, GM, before);
          orbitVectors(there, GM, after);
          vectors.add(label, ((after[0]! - before[0]!) * perigee) / GM);
          const h = Math.hypot(before[1]!, before[2]!, before[3]!);
          for (const i of [1, 2, 3]) vectors.add(label, (after[i]! - before[i]!) / h);
          for (const i of [4, 5, 6]) vectors.add(label, (after[i]! - before[i]!) / Math.max(1, e));
          returned.add(label, Math.hypot(...[0, 1, 2].map((i) => back[i]! - state[i]!)) / radius(there));
          returned.add(label, Math.hypot(...[3, 4, 5].map((i) => back[i]! - state[i]!)) / speed(state));
        },
      ),
      { seed: 24, numRuns: 4000 },
    );
    console.log(`most iterations: ${most}`);
    // An error of 1e-16 in a place far out (1e9 m here, 300 times the perigee's distance) is one of some 1e-13 in
    // the vectors, and on the way back 1e-16 of the position far out is 1e-13 of the one near perigee, times the
    // sensitivity of where along the orbit.
    vectors.report();
    returned.report();
  });

  test('a whole number of revolutions leads back to the start', () => {
    const state = Float64Array.of(7e6, 0, 0, 0, 6e3, 5e3);
    const period = orbitalPeriod_s(orbitFromState(state, GM).semiMajorAxis_m, GM);
    const out = new Float64Array(6);
    propagateKepler(state, 10 * period, GM, out);
    // The period is known to 1e-16 of 1e5 s, in which the state moves by 1e-7 m.
    for (let i = 0; i < 3; i++) expect(Math.abs(out[i]! - state[i]!)).toBeLessThan(1e-5);
    propagateKepler(state, 0, GM, out);
    expect([...out]).toEqual([...state]);
  });

  test("it agrees with Kepler's equation solved on its own", () => {
    const e = 0.7;
    const a = 2e7;
    const state = new Float64Array(6);
    const out = new Float64Array(6);
    const perigee = {
      semiLatusRectum_m: a * (1 - e * e),
      eccentricity: e,
      inclination_rad: 0,
      raan_rad: 0,
      argumentOfPerigee_rad: 0,
      trueAnomaly_rad: 0,
    };
    stateFromElements(perigee, GM, state);
    const worst = new Worst("place against Kepler's equation, relative", '', 1e-13);
    for (let E = -3; E <= 3; E += 0.25) {
      // The other way about: time from the eccentric anomaly is closed.
      propagateKepler(state, (E - e * Math.sin(E)) * Math.sqrt(a ** 3 / GM), GM, out);
      worst.add(E, (out[0]! - a * (Math.cos(E) - e)) / a);
      worst.add(E, (out[1]! - a * Math.sqrt(1 - e * e) * Math.sin(E)) / a);
    }
    worst.report();
  });

  test('a very long way on a hyperbola still converges', () => {
    const state = Float64Array.of(7e6, 0, 0, 0, 2e4, 0);
    const out = new Float64Array(6);
    for (const span of [1e8, -1e10, 1e12]) {
      const result = propagateKepler(state, span, GM, out);
      expect(result.status).toBe('converged');
      const excess = Math.sqrt(2 * orbitFromState(state, GM).energy_Jpkg);
      // Far out it moves at the excess speed.
      expect(radius(out) / (excess * Math.abs(span))).toBeCloseTo(1, 2);
      expect(speed(out) / excess).toBeCloseTo(1, 3);
    }
  });

  test('a fall along the vertical is followed, and turns back at the top', () => {
    const state = Float64Array.of(0, 0, 7e6, 0, 0, 100);
    const out = new Float64Array(6);
    const result = propagateKepler(state, 30, GM, out);
    expect(result.status).toBe('converged');
    const g = GM / 49e12;
    // z = z0 + v t - g t^2 / 2, but for the change of g over 3 km (2e-4 of 3 km).
    expect(Math.abs(out[2]! - (7e6 + 3000 - (g * 900) / 2))).toBeLessThan(1);
    expect(out[5]).toBeLessThan(0);
  });

  test('arguments that are none are refused by name', () => {
    const state = Float64Array.of(7e6, 0, 0, 0, 7e3, 0);
    const out = new Float64Array(6);
    expect(() => propagateKepler(state, NaN, GM, out)).toThrow(/span_s: received NaN/);
    expect(() => propagateKepler(state, 1, 0, out)).toThrow(/gm_m3ps2: received 0/);
    expect(() => propagateKepler(Float64Array.of(0, 0, 0, 0, 0, 0), 1, GM, out)).toThrow(/centre/);
    expect(() => propagateKepler(Float64Array.of(1, 2, 3, 4, 5, Infinity), 1, GM, out)).toThrow(/state\[5\]/);
  });
});
