import { describe, expect, it } from 'vitest';
import { NodeCurve } from '../../../core/math/nodeCurve.ts';

const nodes = Float64Array.of(0, 3, 10, 24, 40, 75);
const through = (shape: 'polynomial' | 'spline', x: Float64Array, f: (x: number) => number): NodeCurve => {
  const curve = new NodeCurve(x, shape);
  curve.fit(x.map(f));
  return curve;
};

describe('a smooth curve through nodes', () => {
  it.each(['polynomial', 'spline'] as const)('passes through them: %s', (shape) => {
    const values = Float64Array.of(1.5, 1.2, 1.4, 0.3, 0.1, -0.2);
    const curve = new NodeCurve(nodes, shape);
    curve.fit(values);
    // Sums of a few terms of order one.
    nodes.forEach((x, i) => expect(curve.at(x)).toBeCloseTo(values[i]!, 13));
  });

  it('as a polynomial is the polynomial of that degree, as a spline every cubic', () => {
    const cubic = (x: number): number => 1 + 0.1 * x - 4e-3 * x * x + 3e-5 * x ** 3;
    const quintic = (x: number): number => cubic(x) + 1e-6 * x ** 4 - 1e-8 * x ** 5;
    for (const x of [0.7, 5, 17, 39, 60, 74.9]) {
      expect(through('polynomial', nodes, quintic).at(x)).toBeCloseTo(quintic(x), 11);
      expect(through('spline', nodes, cubic).at(x)).toBeCloseTo(cubic(x), 12);
    }
  });

  it('as a spline has no jump in value, slope or bend at a node', () => {
    const curve = through('spline', nodes, (x) => Math.sin(x / 9));
    const h = 1e-3;
    for (const x of nodes.subarray(1, 5)) {
      const side = (s: 1 | -1): { slope: number; bend: number } => {
        const [a, b, c, d] = [0, 1, 2, 3].map((k) => curve.at(x + s * k * h)) as [
          number,
          number,
          number,
          number,
        ];
        // One-sided differences that are exact for a cubic.
        return {
          slope: (s * (-11 * a + 18 * b - 9 * c + 2 * d)) / (6 * h),
          bend: (2 * a - 5 * b + 4 * c - d) / (h * h),
        };
      };
      // Rounding, 1e-16 over h and over h².
      expect(side(1).slope).toBeCloseTo(side(-1).slope, 11);
      expect(side(1).bend).toBeCloseTo(side(-1).bend, 7);
    }
  });

  it('as a spline comes close to a smooth function with the fourth power of the spacing', () => {
    const worst = (n: number): number => {
      const x = Float64Array.from({ length: n + 1 }, (_, i) => (6 * i) / n);
      const curve = through('spline', x, Math.sin);
      let most = 0;
      for (let i = 0; i <= 1000; i++)
        most = Math.max(most, Math.abs(curve.at(0.006 * i) - Math.sin(0.006 * i)));
      return most;
    };
    const order = Math.log2(worst(16) / worst(32));
    expect(order).toBeGreaterThan(3.6);
  });

  it('is held beyond its ends, and level through a single node', () => {
    const curve = through('spline', nodes, (x) => 0.1 * x);
    expect(curve.at(-5)).toBeCloseTo(0, 14);
    expect(curve.at(100)).toBeCloseTo(7.5, 13);
    const level = through('polynomial', Float64Array.of(0), () => 0.4);
    expect([level.at(-1), level.at(0), level.at(1e4)]).toEqual([0.4, 0.4, 0.4]);
  });

  it('refuses nodes that do not rise', () => {
    expect(() => new NodeCurve(Float64Array.of(), 'spline')).toThrow('at least one');
    expect(() => new NodeCurve(Float64Array.of(0, 2, 2), 'spline')).toThrow('x[2] is 2');
  });
});
