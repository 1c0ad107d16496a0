import { describe, expect, it } from 'vitest';
import { clock, fixed, gees, km, kPa, MN, mps, tonnes } from '../../../core/units/figures.ts';

describe('bare figures', () => {
  it('have the decimals of their unit', () => {
    expect(km(200_049)).toBe('200.0');
    expect(mps(7325.6)).toBe('7\u202f326');
    expect(MN(28_624_000)).toBe('28.62');
    expect(tonnes(32_744.78)).toBe('32.74');
    // Standard gravity is 9.80665 m/s² by definition (3rd CGPM, 1901).
    expect(gees(3 * 9.80665)).toBe('3.00');
    expect(kPa(101_325)).toBe('101.3');
    expect(clock(148.49)).toBe('2:28.5');
  });

  it('show a dash for what is no number, and sign a difference only where it is one', () => {
    expect(fixed(Number.NaN, 1)).toBe('–');
    expect(clock(Number.POSITIVE_INFINITY)).toBe('–');
    expect(fixed(12.34, 1, true)).toBe('+12.3');
    expect(fixed(-0.04, 1, true)).toBe('0.0');
    expect(fixed(-1234.5, 0)).toBe('\u22121\u202f235');
  });
});
