import { describe, expect, it } from 'vitest';
import { parseQuantity } from '../../../core/units/parse.ts';
import { readable } from '../../../core/units/readable.ts';
import { unitOfKey } from '../../../core/units/keys.ts';

describe('a number of the study as people read it', () => {
  it.each([
    ['thrust_N', 4_240_000, '4.24', 'MN'],
    ['thrust_N', 95_000, '95', 'kN'],
    ['dryMass_kg', 1234.5, '1\u202f234.5', 'kg'],
    ['dryMass_kg', 162_000, '162', 't'],
    ['perigee_m', 250_000, '250', 'km'],
    ['exitArea_m2', 0.93, '0.93', 'm²'],
    ['b_per_s', -0.0024512345, '\u22120.002451234', '1/s'],
    ['latitude_deg', 0, '0', '°'],
    ['count', 14, '14', ''],
  ])('%s %d is %s %s', (key, value, figure, unit) => {
    expect(readable(key, value)).toEqual({ figure, unit });
  });

  it('can be typed back to seven digits', () => {
    for (const key of [
      'thrust_N',
      'mass_kg',
      'height_m',
      'pressure_Pa',
      'speed_mps',
      'angle_deg',
      'time_s',
    ]) {
      for (const value of [0.0123456789, 1, 9.87654321, 1234.5678, 98765.4321, 7654321.09]) {
        const { dimension, toSi } = unitOfKey(key);
        const { figure, unit } = readable(key, value);
        const read = parseQuantity(`${figure} ${unit}`, dimension);
        expect(read.ok && Math.abs(read.value / toSi / value - 1), `${figure} ${unit}`).toBeLessThan(1e-6);
      }
    }
  });
});
