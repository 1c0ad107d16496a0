import { describe, expect, test } from 'vitest';
import { geodesicBetween, geodesicFrom } from '../../../core/earth/geodesic.ts';

// Published lines: core/evidence/earth.ts, which checks.test.ts runs.
describe('geodesics on WGS 84', () => {
  test('azimuths count from north through east, below a whole turn', () => {
    expect(geodesicBetween(0, 0, 0.1, 0).startAzimuth_rad).toBe(0);
    expect(geodesicBetween(0, 0, 0, 0.1).startAzimuth_rad).toBeCloseTo(Math.PI / 2, 14);
    expect(geodesicBetween(0, 0, -0.1, 0).startAzimuth_rad).toBeCloseTo(Math.PI, 14);
    expect(geodesicBetween(0, 0, 0, -0.1).startAzimuth_rad).toBeCloseTo((3 * Math.PI) / 2, 14);
    expect(geodesicBetween(0.3, 0.3, 0.3, 0.3).distance_m).toBe(0);
  });

  test('coordinates that are none are refused by name', () => {
    expect(() => geodesicBetween(NaN, 0, 0, 0)).toThrow(/startLatitude_rad: received NaN/);
    expect(() => geodesicBetween(0, 0, 1.6, 0)).toThrow(/endLatitude_rad: received 1.6/);
    expect(() => geodesicFrom(0, Infinity, 0, 1)).toThrow(/longitude_rad: received Infinity/);
    expect(() => geodesicFrom(0, 0, 0, NaN)).toThrow(/distance_m: received NaN/);
    // pi / 2 itself is a pole.
    expect(geodesicBetween(Math.PI / 2, 0, -Math.PI / 2, 0).distance_m).toBeCloseTo(20003931.4586, 3);
  });
});
