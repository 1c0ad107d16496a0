import { describe, expect, test } from 'vitest';
import * as physical from '../../../core/constants/physical.ts';
import geodesy from '../../published/earth/geodesy.json' with { type: 'json' };

describe('physical constants', () => {
  test('every constant has a finite positive value, a unit and a source', () => {
    for (const [name, constant] of Object.entries(physical.PHYSICAL_CONSTANTS)) {
      expect(constant.value, name).toBeGreaterThan(0);
      expect(constant.value, name).toBeLessThan(Infinity);
      expect(constant.unit.length, name).toBeGreaterThan(0);
      expect(constant.source.length, name).toBeGreaterThan(10);
    }
  });

  test('the Earth is WGS 84', () => {
    expect(physical.EARTH_GM_m3ps2).toBe(geodesy.wgs84.gm_m3ps2);
    expect(physical.EARTH_ROTATION_radps).toBe(geodesy.wgs84.rotation_radps);
    expect(physical.EARTH_EQUATORIAL_RADIUS_m).toBe(geodesy.wgs84.equatorialRadius_m);
    expect(1 / physical.EARTH_FLATTENING).toBeCloseTo(geodesy.wgs84.inverseFlattening, 10);
    // A few units in the last place: the derived constants are products of two rounded numbers.
    expect(Math.abs(physical.EARTH_POLAR_RADIUS_m - geodesy.wgs84Derived.polarRadius_m)).toBeLessThan(2e-9);
    expect(
      Math.abs(physical.EARTH_ECCENTRICITY_SQUARED - geodesy.wgs84Derived.eccentricitySquared),
    ).toBeLessThan(4e-18);
  });

  test('J2 is the one of EGM96, unnormalised and rounded to nine digits', () => {
    const unnormalised = -Math.sqrt(5) * geodesy.j2.egm96NormalisedC20;
    // Half a unit in the last of the digits kept.
    expect(Math.abs(physical.EARTH_J2 - unnormalised)).toBeLessThan(0.5e-11);
  });

  test('the gas constant is the product of the Boltzmann and Avogadro constants, as in the SI', () => {
    // Both factors are exact in the SI, so only the rounding of the product is left.
    expect(physical.BOLTZMANN_JpK * physical.AVOGADRO_pmol).toBeCloseTo(physical.GAS_CONSTANT_JpmolK, 13);
  });

  test('the Stefan-Boltzmann constant follows from the Boltzmann constant', () => {
    const planck_Js = 6.62607015e-34;
    const light_mps = 299792458;
    const expected =
      (2 * Math.PI ** 5 * physical.BOLTZMANN_JpK ** 4) / (15 * planck_Js ** 3 * light_mps ** 2);
    // Ten digits are given.
    expect(Math.abs(physical.STEFAN_BOLTZMANN_Wpm2K4 / expected - 1)).toBeLessThan(1e-10);
  });

  test('standard gravity and the standard atmosphere are the conventional values', () => {
    expect(physical.G0_mps2).toBe(9.80665);
    expect(physical.STANDARD_ATMOSPHERE_Pa).toBe(101325);
  });
});
