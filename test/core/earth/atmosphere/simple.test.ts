import { describe, expect, test } from 'vitest';
import { pieceIndex } from '../../../../core/earth/atmosphere/atmosphere.ts';
import type { Atmosphere } from '../../../../core/earth/atmosphere/atmosphere.ts';
import { ExponentialAtmosphere, NoAtmosphere } from '../../../../core/earth/atmosphere/simple.ts';
import { Us1976Atmosphere } from '../../../../core/earth/atmosphere/us1976.ts';

describe('simple atmospheres', () => {
  test('the exponential one falls by e in each scale height and keeps the rest', () => {
    const air: Atmosphere = new ExponentialAtmosphere({ density0_kgpm3: 1.225, scaleHeight_m: 7200 });
    expect(air.pieceEdges_m.length).toBe(0);
    for (const [height, expected] of [
      [0, 1.225],
      [7200, 1.225 / Math.E],
      [72000, 1.225 * Math.exp(-10)],
      [-7200, 1.225 * Math.E],
    ] as const) {
      air.evaluate(height, air.pieceAt(height));
      expect(air.density_kgpm3 / expected).toBeCloseTo(1, 14);
      expect(air.pressure_Pa).toBe(0);
      expect(air.soundSpeedAt(height, 0)).toBe(air.soundSpeed_mps);
    }
  });

  test('pressure, sound and temperature of the exponential one can be given', () => {
    const air = new ExponentialAtmosphere({
      density0_kgpm3: 1.2,
      scaleHeight_m: 8000,
      pressure_Pa: 5000,
      soundSpeed_mps: 300,
      temperature_K: 250,
    });
    air.evaluate(1e5, 0);
    expect([air.pressure_Pa, air.soundSpeed_mps, air.temperature_K]).toEqual([5000, 300, 250]);
  });

  test('what cannot be is refused by name', () => {
    const make = (extra: object) =>
      new ExponentialAtmosphere({ density0_kgpm3: 1, scaleHeight_m: 7200, ...extra });
    expect(() => make({ scaleHeight_m: 0 })).toThrow(/options.scaleHeight_m: received 0/);
    expect(() => make({ density0_kgpm3: -1 })).toThrow(/options.density0_kgpm3: received -1/);
    expect(() => make({ soundSpeed_mps: 0 })).toThrow(/options.soundSpeed_mps: received 0/);
    expect(() => make({ pressure_Pa: NaN })).toThrow(/options.pressure_Pa: received NaN/);
  });

  test('without an atmosphere there is neither density nor pressure, and a Mach number stays finite', () => {
    const air = new NoAtmosphere();
    air.evaluate(0, air.pieceAt(0));
    expect(air.density_kgpm3).toBe(0);
    expect(air.pressure_Pa).toBe(0);
    expect(air.soundSpeedAt(0, 0)).toBeGreaterThan(300);
  });

  test("their sound and temperature are the standard's at sea level", () => {
    const standard = new Us1976Atmosphere();
    const none = new NoAtmosphere();
    standard.evaluate(0, 0);
    expect(none.soundSpeed_mps).toBeCloseTo(standard.soundSpeed_mps, 4);
    expect(none.temperature_K).toBe(standard.temperature_K);
  });

  test('a height at an edge belongs to the piece above', () => {
    const edges = Float64Array.of(10, 20);
    expect([5, 10, 15, 20, 25, NaN].map((h) => pieceIndex(edges, h))).toEqual([0, 1, 1, 2, 2, 0]);
  });
});
