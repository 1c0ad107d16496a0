import { describe, expect, it } from 'vitest';
import { findMaximum } from '../../../core/math/extrema.ts';

describe('findMaximum', () => {
  it('finds the maximum of functions that have one', () => {
    const known: readonly [(x: number) => number, number, number, number][] = [
      [Math.sin, 0, 3, Math.PI / 2],
      [(x) => -((x - 0.3) ** 2), -5, 4, 0.3],
      [(x) => x * Math.exp(-x), 0, 20, 1],
      [(x) => -Math.abs(x - 2), 0, 10, 2],
    ];
    for (const [f, a, b, place] of known) {
      // A smooth maximum is flat: it is told apart from its surroundings to the root of a rounding, some 1e-8.
      expect(Math.abs(findMaximum(f, a, b, 1e-9) - place)).toBeLessThan(5e-8);
    }
  });

  it('keeps to its tolerance where the function is sharp', () => {
    for (const tolerance of [1e-2, 1e-4, 1e-8]) {
      const x = findMaximum((u) => -Math.abs(u - 2), 0, 10, tolerance);
      expect(Math.abs(x - 2)).toBeLessThan(tolerance);
    }
  });

  it('comes to an end of the interval where the function only rises or falls', () => {
    expect(Math.abs(findMaximum((x) => x, 1, 2, 1e-9) - 2)).toBeLessThan(1e-9);
    expect(Math.abs(findMaximum((x) => -x, 1, 2, 1e-9) - 1)).toBeLessThan(1e-9);
  });

  it('comes to an end with no tolerance at all, and on an interval of one point', () => {
    expect(Math.abs(findMaximum((u) => -Math.abs(u - 2), 0, 10, 0) - 2)).toBeLessThan(1e-14);
    expect(findMaximum(Math.sin, 3, 3, 1e-9)).toBe(3);
  });

  it('throws on an interval that is reversed or not a number', () => {
    expect(() => findMaximum(Math.sin, 3, 1, 1e-9)).toThrow('findMaximum: the interval from 3 to 1 is empty');
    expect(() => findMaximum(Math.sin, Number.NaN, 1, 1e-9)).toThrow(RangeError);
  });
});
