import { describe, expect, test } from 'vitest';
import { uniformSpline } from '../../../../core/earth/atmosphere/uniform-spline.ts';
import { Worst } from '../worst.ts';

const value = (c: Float64Array, i: number, t: number) =>
  c[4 * i]! + t * (c[4 * i + 1]! + t * (c[4 * i + 2]! + t * c[4 * i + 3]!));
const slope = (c: Float64Array, i: number, t: number) =>
  c[4 * i + 1]! + t * (2 * c[4 * i + 2]! + 3 * t * c[4 * i + 3]!);
const bend = (c: Float64Array, i: number, t: number) => 2 * c[4 * i + 2]! + 6 * t * c[4 * i + 3]!;

describe('the uniform cubic spline', () => {
  test('it reproduces every cubic, whatever the number of knots', () => {
    const cubic = (x: number) => 3 - x + 0.5 * x * x - 0.25 * x * x * x;
    const worst = new Worst('spline of a cubic', '', 1e-11);
    for (let n = 4; n <= 12; n++) {
      const c = uniformSpline(Array.from({ length: n }, (_, i) => cubic(i)));
      expect(c.length).toBe(4 * (n - 1));
      for (let x = -0.5; x <= n - 0.5; x += 0.1) {
        const i = Math.max(0, Math.min(n - 2, Math.floor(x)));
        worst.add(`${n} knots, ${x}`, value(c, i, x - i) - cubic(x));
      }
    }
    // Rounding of values up to 400.
    worst.report();
  });

  test('value, slope and curvature are continuous at the knots', () => {
    const values = Array.from({ length: 30 }, (_, i) => Math.sin(i * 0.7) + 0.01 * i * i);
    const c = uniformSpline(values);
    const worst = new Worst('jumps at the knots', '', 1e-13);
    for (let i = 1; i < 29; i++) {
      worst.add(i, value(c, i - 1, 1) - values[i]!);
      worst.add(i, slope(c, i - 1, 1) - slope(c, i, 0));
      worst.add(i, bend(c, i - 1, 1) - bend(c, i, 0));
    }
    worst.report();
  });

  test('halving the spacing divides the error by sixteen', () => {
    const error = (n: number) => {
      const c = uniformSpline(Array.from({ length: n + 1 }, (_, i) => Math.exp(-(i / n) * 2)));
      let worst = 0;
      for (let k = 0; k < 1000; k++) {
        const x = (k / 1000) * n;
        const i = Math.floor(x);
        worst = Math.max(worst, Math.abs(value(c, i, x - i) - Math.exp(-(x / n) * 2)));
      }
      return worst;
    };
    const order = Math.log2(error(20) / error(40));
    console.log(`order of the spline: ${order.toFixed(2)}`);
    expect(order).toBeGreaterThan(3.8);
    expect(order).toBeLessThan(4.4);
  });

  test('too few values, or one that is not finite, are refused by name', () => {
    expect(() => uniformSpline([1, 2, 3])).toThrow(/values: received 3/);
    expect(() => uniformSpline([1, 2, NaN, 4])).toThrow(/values\[2\]: received NaN/);
  });
});
