import { describe, expect, test } from 'vitest';
import { EARTH_GM_m3ps2 } from '../../../core/constants/physical.ts';
import { orbitFromState, shapeFromApsides, stateFromElements } from '../../../core/earth/orbit.ts';

const GM = EARTH_GM_m3ps2;

// Published elements, speeds, periods and transfers: core/evidence/orbits.ts, which checks.test.ts runs.
describe('the osculating orbit', () => {
  test('a hyperbola has a negative axis and no apogee', () => {
    const orbit = orbitFromState(Float64Array.of(6.7e6, 0, 0, 0, 15e3, 0), GM);
    expect(orbit.semiMajorAxis_m).toBeLessThan(0);
    expect(orbit.apogeeHeight_m).toBe(Infinity);
    expect([orbit.perigeeDefined, orbit.planeDefined]).toEqual([true, true]);
  });

  test('apsis heights are above 6 378 137 m and come back from a state made of them', () => {
    const { semiMajorAxis_m, eccentricity } = shapeFromApsides(185e3, 35786e3);
    const state = new Float64Array(6);
    const shape = {
      semiLatusRectum_m: semiMajorAxis_m * (1 - eccentricity ** 2),
      eccentricity,
      inclination_rad: 0.5,
      raan_rad: 1,
      argumentOfPerigee_rad: 3,
      trueAnomaly_rad: 2,
    };
    stateFromElements(shape, GM, state);
    const orbit = orbitFromState(state, GM);
    // Rounding of the state, 1e-16, times 42 000 km and the amplification 1 / (1 - e).
    expect(Math.abs(orbit.perigeeHeight_m - 185e3)).toBeLessThan(1e-6);
    expect(Math.abs(orbit.apogeeHeight_m - 35786e3)).toBeLessThan(1e-6);
    const swapped = shapeFromApsides(35786e3, 185e3);
    expect(swapped).toEqual({ semiMajorAxis_m, eccentricity });
  });
});
