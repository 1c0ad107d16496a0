import { describe, expect, it } from 'vitest';
import { findRoot } from '../../../core/math/roots.ts';

/** Counts how often a function is called. */
function counted(f: (x: number) => number): { f: (x: number) => number; calls: () => number } {
  let calls = 0;
  return {
    f: (x) => {
      calls += 1;
      return f(x);
    },
    calls: () => calls,
  };
}

const knownRoots: readonly [string, (x: number) => number, number, number, number][] = [
  ['x² = 2', (x) => x * x - 2, 0, 2, Math.SQRT2],
  ['cos x = 0', Math.cos, 0, 3, Math.PI / 2],
  ['exp x = 5', (x) => Math.exp(x) - 5, -3, 9, Math.log(5)],
  // The real root of Wallis's cubic, x³ − 2x − 5, printed in many books to these digits; from memory.
  ["Wallis's cubic", (x) => x * x * x - 2 * x - 5, 2, 3, 2.0945514815423265],
  ['a falling line', (x) => 3 - 4 * x, -10, 10, 0.75],
  ['a root far from zero', (x) => x - 123456.789, 0, 1e6, 123456.789],
  ['a kink', (x) => (x < 0.3 ? 5 * (x - 0.3) : 0.01 * (x - 0.3)), 0, 1, 0.3],
  ['a jump', (x) => (x < 0.7 ? -1 : 2), 0, 1, 0.7],
];

describe('findRoot', () => {
  for (const [name, f, a, b, root] of knownRoots) {
    it(`finds ${name}, from either side`, () => {
      const tolerance = 1e-12;
      // The promise: half the tolerance, and two roundings of the root itself, twice because the bracket has two ends.
      const allowed = tolerance + 8 * Number.EPSILON * Math.abs(root);
      for (const x of [findRoot(f, a, b, tolerance), findRoot(f, b, a, tolerance)]) {
        expect(Math.abs(x - root)).toBeLessThan(allowed);
      }
    });
  }

  it('returns an end that is a root', () => {
    expect(findRoot((x) => x, 0, 1, 1e-9)).toBe(0);
    expect(findRoot((x) => x - 1, 0, 1, 1e-9)).toBe(1);
  });

  it('takes values at the ends that are known already and does not compute them again', () => {
    const { f, calls } = counted((x) => x - 0.25);
    const x = findRoot(f, 0, 1, 1e-12, -0.25, 0.75);
    expect(Math.abs(x - 0.25)).toBeLessThan(1e-12);
    // A straight line: one secant, one step past the root by the tolerance.
    expect(calls()).toBeLessThan(5);
  });

  it('needs far fewer calls than bisection on a smooth function', () => {
    const { f, calls } = counted((x) => Math.exp(x) - 5);
    findRoot(f, -3, 9, 1e-12);
    // Bisection: log2(12 / 1e-12) = 43.
    expect(calls()).toBeLessThan(18);
  });

  it('keeps its promise on functions that are bad for interpolation', () => {
    // Flat to the ninth order at the root, and a step that is almost vertical.
    const hard: [(x: number) => number, number][] = [
      [(x) => (x - 0.3) ** 9, 0.3],
      [(x) => Math.atan(1e12 * (x - 0.3)), 0.3],
      [(x) => Math.sign(x - 0.3) * Math.abs(x - 0.3) ** 0.05, 0.3],
      [(x) => (x < 0.3 ? -1e-300 : 1e300), 0.3],
    ];
    for (const [f, root] of hard) {
      const { f: g, calls } = counted(f);
      expect(Math.abs(findRoot(g, -1, 2, 1e-13) - root)).toBeLessThan(2e-13);
      expect(calls()).toBeLessThan(110);
    }
  });

  it('comes to an end with no tolerance at all', () => {
    expect(Math.abs(findRoot((x) => x * x - 2, 0, 2, 0) - Math.SQRT2)).toBeLessThan(1e-15);
    expect(Math.abs(findRoot((x) => (x <= 0 ? -1 : 1), -1, 1, 0))).toBeLessThan(1e-300);
  });

  it('finds the change of sign of values so small that their product is zero', () => {
    expect(Math.abs(findRoot((x) => 1e-200 * (x - 0.4), 0, 1, 1e-12) - 0.4)).toBeLessThan(1e-12);
  });

  it('finds the change of sign between infinite values', () => {
    const x = findRoot((u) => (u < 0.2 ? Number.NEGATIVE_INFINITY : Number.POSITIVE_INFINITY), 0, 1, 1e-12);
    expect(Math.abs(x - 0.2)).toBeLessThan(1e-12);
  });

  it('throws when the signs do not differ, and says what it received', () => {
    expect(() => findRoot((x) => x * x + 1, -1, 3, 1e-9)).toThrow(
      'findRoot: no change of sign between -1 (f = 2) and 3 (f = 10)',
    );
    expect(() => findRoot((x) => -x * x - 1, -1, 3, 1e-9)).toThrow(RangeError);
  });

  it('throws on a bracket that is not finite', () => {
    for (const [a, b] of [
      [0, Number.POSITIVE_INFINITY],
      [Number.NaN, 1],
      [-1e308, 1e308],
    ] as const) {
      expect(() => findRoot((x) => (x > 0.5 ? 1 : -1), a, b, 1e-9)).toThrow('is not finite');
    }
  });

  it('throws on a value that is not a number, at an end or inside', () => {
    expect(() => findRoot(Math.sqrt, -1, 3, 1e-9)).toThrow(RangeError);
    expect(() => findRoot((x) => (Math.abs(x) < 0.9 ? Number.NaN : x), -1, 1, 1e-9)).toThrow(
      /findRoot: f is not a number at/,
    );
  });
});
