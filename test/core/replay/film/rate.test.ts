import { describe, expect, it } from 'vitest';
import {
  FRAME_RATES,
  frameCount,
  frameTime_s,
  parseFrameRate,
  rateName,
} from '../../../../core/replay/film/rate.ts';

describe('frame rates', () => {
  it.each(Object.entries(FRAME_RATES))(
    '%s: every frame of three hours is where exact arithmetic puts it',
    (_, rate) => {
      const frames = frameCount(10_800, rate);
      for (let i = 0; i <= frames; i += 997) {
        // Whole microseconds in exact integers, against the double: both round once.
        const exact_us = (BigInt(i) * BigInt(rate.denominator) * 1_000_000n) / BigInt(rate.numerator);
        expect(Math.floor(frameTime_s(i, rate) * 1e6 + 1e-3)).toBe(Number(exact_us));
      }
    },
  );

  // The counts are exact arithmetic: 60 × 24000/1001 = 1438.56, and so on; the nearest whole number.
  it.each([
    ['23.976', 60, 1439],
    ['24', 60, 1440],
    ['25', 60, 1500],
    ['29.97', 60, 1798],
    ['30', 60, 1800],
    ['50', 60, 3000],
    ['59.94', 60, 3596],
    ['60', 60, 3600],
    ['59.94', 1001 / 60, 1000],
  ])('%s a second for %d s are %d frames', (name, length_s, frames) => {
    const rate = FRAME_RATES[name]!;
    expect(frameCount(length_s, rate)).toBe(frames);
    // The length of the film as recorded is within half a frame of what was asked for.
    expect(Math.abs(frameTime_s(frames, rate) - length_s)).toBeLessThanOrEqual(
      0.5 * frameTime_s(1, rate) + 1e-9,
    );
  });

  it('reads a rate as people write it, and nothing else', () => {
    expect(parseFrameRate('29.97')).toEqual({ numerator: 30000, denominator: 1001 });
    expect(parseFrameRate('30000/1001')).toEqual({ numerator: 30000, denominator: 1001 });
    expect(parseFrameRate('48')).toEqual({ numerator: 48, denominator: 1 });
    for (const bad of ['', '0', '1000', '29,97', 'fast', '30/0', '-5'])
      expect(parseFrameRate(bad)).toBeUndefined();
    expect(rateName({ numerator: 60000, denominator: 1001 })).toBe('59.940');
  });
});
