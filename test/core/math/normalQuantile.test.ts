import { expect, it } from 'vitest';
import { engineFingerprint } from '../../../core/math/engineFingerprint.ts';
import { normalQuantile } from '../../../core/math/normalQuantile.ts';
import published from '../../published/statistics/spread.json' with { type: 'json' };

it('gives normal quantiles to fifteen digits, from the far tail to the middle', () => {
  const { p, z } = published.normalQuantile;
  // The algorithm promises 1 part in 10¹⁶; the rounding of 1 − p in the upper tail adds some ulps.
  p.forEach((each, i) =>
    expect(Math.abs(normalQuantile(each) - z[i]!)).toBeLessThanOrEqual(
      4e-15 * Math.max(1, Math.abs(z[i]!)) + (each > 0.9 ? 1e-11 : 0),
    ),
  );
  expect(normalQuantile(0)).toBe(-Infinity);
  expect(normalQuantile(1)).toBe(Infinity);
  expect(normalQuantile(2)).toBeNaN();
});

it('names the engine by the bits of its elementary functions', () => {
  const own = engineFingerprint();
  expect(own).toMatch(/^[0-9a-f]{8}$/);
  expect(engineFingerprint()).toBe(own);
  const { sin } = Math;
  try {
    // A last digit at one place in a hundred is enough.
    Math.sin = (x: number) => (x > 0.99 && x < 1 ? sin(x) + 2 ** -52 : sin(x));
    expect(engineFingerprint()).not.toBe(own);
  } finally {
    Math.sin = sin;
  }
});
