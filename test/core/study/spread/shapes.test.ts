import { describe, expect, it } from 'vitest';
import { deviationOf, valueAt, type Distribution } from '../../../../core/study/spread/shapes.ts';

const DISTRIBUTIONS: Distribution[] = [
  { shape: 'uniform', low: 2, high: 6, nominal: 3 },
  { shape: 'triangular', low: 2, high: 6, nominal: 3 },
  { shape: 'triangular', low: 2, high: 6, nominal: 2 },
  { shape: 'triangular', low: 2, high: 6, nominal: 6 },
  { shape: 'normal', low: 2, high: 6, nominal: 3 },
];
const N = 200_000;
const draws = (d: Distribution): number[] => Array.from({ length: N }, (_, i) => valueAt(d, (i + 0.5) / N));

describe('shapes of spread', () => {
  it.each(DISTRIBUTIONS)('has the mean and the deviation of its distribution: $shape, $nominal', (d) => {
    const values = draws(d);
    const mean = values.reduce((a, b) => a + b, 0) / N;
    const deviation = Math.sqrt(values.reduce((sum, x) => sum + (x - mean) ** 2, 0) / N);
    const expected = d.shape === 'triangular' ? (d.low + d.high + d.nominal) / 3 : (d.low + d.high) / 2;
    // Midpoints of 200 000 equal shares: the tails of the normal, cut at 4.6 deviations, are the worst.
    expect(mean).toBeCloseTo(expected, 6);
    expect(Math.abs(deviation / deviationOf(d) - 1)).toBeLessThan(1e-4);
  });

  it('has two thirds of a normal spread between low and high, a sixth on either side', () => {
    const values = draws(DISTRIBUTIONS[4]!);
    // To one draw on either side.
    expect(Math.abs(values.filter((x) => x < 2).length - N / 6)).toBeLessThan(2);
    expect(Math.abs(values.filter((x) => x > 6).length - N / 6)).toBeLessThan(2);
  });

  it('rises with its variate, from low to high where it has ends', () => {
    for (const d of DISTRIBUTIONS) {
      const values = [0.001, 1 / 6, 0.5, 5 / 6, 0.999].map((u) => valueAt(d, u));
      expect(values).toEqual([...values].sort((a, b) => a - b));
    }
    expect(valueAt(DISTRIBUTIONS[4]!, 1 / 6)).toBeCloseTo(2, 12);
    expect(valueAt(DISTRIBUTIONS[4]!, 5 / 6)).toBeCloseTo(6, 12);
    expect(valueAt(DISTRIBUTIONS[1]!, 0)).toBe(2);
    expect(valueAt(DISTRIBUTIONS[1]!, 1)).toBe(6);
  });

  it('peaks a triangle at the number itself', () => {
    // The density there is 2/(high − low) = 0.5: a share of 0.05 lies within 0.1 of it, less what the slopes take off.
    const near = draws(DISTRIBUTIONS[1]!).filter((x) => Math.abs(x - 3) < 0.05).length / N;
    expect(near).toBeCloseTo(0.05 - 0.5 * 0.5 * 0.05 ** 2 * (1 + 1 / 3), 4);
    expect(valueAt(DISTRIBUTIONS[1]!, 0.25)).toBeCloseTo(3, 12);
  });
});
