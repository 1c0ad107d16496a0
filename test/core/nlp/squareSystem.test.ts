import { describe, expect, test } from 'vitest';
import { solveNlp } from '../../../core/nlp/sqp.ts';
import { makeProblem, tight } from './problems.ts';

/** R. L. Burden, J. D. Faires, Numerical Analysis (example of Newton's method for systems): solution (0.5, 0, −π/6). */
const burden = makeProblem(
  { n: 3, equalities: 3 },
  (x, c) => {
    const [a, b, d] = x as unknown as [number, number, number];
    c[0] = 3 * a - Math.cos(b * d) - 0.5;
    c[1] = a * a - 81 * (b + 0.1) ** 2 + Math.sin(d) + 1.06;
    c[2] = Math.exp(-a * b) + 20 * d + (10 * Math.PI - 3) / 3;
    return 0;
  },
  (x, g, j) => {
    const [a, b, d] = x as unknown as [number, number, number];
    const s = Math.sin(b * d);
    const e = Math.exp(-a * b);
    g.fill(0);
    j.set([3, d * s, b * s, 2 * a, -162 * (b + 0.1), Math.cos(d), -b * e, -a * e, 20]);
    return true;
  },
);

describe('as many equalities as variables', () => {
  test('converges quadratically, one evaluation a step', () => {
    const errors: number[] = [];
    const result = solveNlp(burden, Float64Array.of(0.1, 0.1, -0.1), {
      ...tight,
      feasibilityTolerance: 1e-14,
      onIteration: ({ x }) => errors.push(Math.hypot(x[0]! - 0.5, x[1]!, x[2]! + Math.PI / 6)),
    });
    errors.push(Math.hypot(result.x[0]! - 0.5, result.x[1]!, result.x[2]! + Math.PI / 6));
    expect(result.stop).toBe('converged');
    expect(result.evaluations).toBe(result.iterations + 1);
    // Measured order log(e₃/e₂)/log(e₂/e₁) over the last steps that are above rounding: 2 in the limit.
    const usable = errors.filter((error) => error > 1e-13);
    const [e1, e2, e3] = usable.slice(-3) as [number, number, number];
    const order = Math.log(e3 / e2) / Math.log(e2 / e1);
    console.log(
      `errors ${errors.map((error) => error.toExponential(1)).join(', ')}; measured order ${order.toFixed(2)}`,
    );
    expect(order).toBeGreaterThan(1.8);
    expect(order).toBeLessThan(2.3);
    expect(errors.at(-1)).toBeLessThan(1e-13);
  });

  test('takes the same steps as Newton where Newton needs no help, whatever the objective', () => {
    const withObjective = {
      ...burden,
      evaluate: (x: Float64Array, c: Float64Array) => burden.evaluate(x, c) + 5 * Math.sin(x[0]! + 2 * x[1]!),
      differentiate: (x: Float64Array, g: Float64Array, j: Float64Array) => {
        burden.differentiate(x, g, j);
        g.set([5 * Math.cos(x[0]! + 2 * x[1]!), 10 * Math.cos(x[0]! + 2 * x[1]!), 0]);
        return true;
      },
    };
    const path = (problem: typeof burden): number[][] => {
      const points: number[][] = [];
      solveNlp(problem, Float64Array.of(0.1, 0.1, -0.1), {
        ...tight,
        onIteration: ({ x }) => points.push([...x]),
      });
      return points;
    };
    const plain = path(burden);
    path(withObjective).forEach((point, k) =>
      // The same linear system solved in another basis: rounding times its condition number of about 100.
      point.forEach((value, j) =>
        expect(Math.abs(value - (plain[k] ?? plain.at(-1)!)[j]!)).toBeLessThan(1e-9),
      ),
    );
  });

  test('a matrix that means nothing here does not delay the end', () => {
    const cold = solveNlp(burden, Float64Array.of(0.1, 0.1, -0.1), tight);
    const hessian = new Float64Array(9);
    for (let i = 0; i < 3; i++) hessian[4 * i] = 1e7;
    const warm = { multipliers: new Float64Array(3), penalties: new Float64Array(3), hessian };
    const stiff = solveNlp(burden, Float64Array.of(0.1, 0.1, -0.1), { ...tight, start: warm });
    expect(stiff.stop).toBe('converged');
    expect(stiff.evaluations).toBe(cold.evaluations);
  });

  test('is safeguarded where the plain method runs away', () => {
    // Newton on arctan diverges from |x| > 1.3917.
    const arctan = makeProblem(
      { n: 1, equalities: 1 },
      (x, c) => ((c[0] = Math.atan(x[0]!)), 0),
      (x, g, j) => (g.set([0]), j.set([1 / (1 + x[0]! ** 2)]), true),
    );
    const result = solveNlp(arctan, Float64Array.of(10), tight);
    expect(result.stop).toBe('converged');
    expect(Math.abs(result.x[0]!)).toBeLessThan(1e-9);
    expect(result.evaluations).toBeLessThan(15);
  });

  test('says so where a singular Jacobian traps it away from the root', () => {
    // x³ − 2x + 2 has its only root at −1.7693; from 0 the violation has a local minimum at √(2/3).
    const trap = makeProblem(
      { n: 1, equalities: 1 },
      (x, c) => ((c[0] = x[0]! ** 3 - 2 * x[0]! + 2), 0),
      (x, g, j) => (g.set([0]), j.set([3 * x[0]! ** 2 - 2]), true),
    );
    const trapped = solveNlp(trap, Float64Array.of(0), tight);
    expect(trapped.stop).toBe('infeasible');
    expect(trapped.x[0]).toBeCloseTo(Math.sqrt(2 / 3), 6);
    const found = solveNlp(trap, Float64Array.of(-1), tight);
    expect(found.stop).toBe('converged');
    expect(found.x[0]).toBeCloseTo(-1.7692923542386314, 9);
  });
});
