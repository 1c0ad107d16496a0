import { describe, expect, test } from 'vitest';
import { checkDerivatives, forwardDifferences } from '../../../core/nlp/differences.ts';
import { familyMember } from './problems.ts';

const here = Float64Array.of(0.3, -0.2, 0.5, 0.4, 0.1);

describe('the derivative checker', () => {
  test('finds right derivatives right', () => {
    const check = checkDerivatives(familyMember(0.7), here);
    // (6e-6)² of third derivatives and 1e-16/6e-6 of rounding, both about 4e-11, for functions of order one.
    expect(check.worst).toBeLessThan(1e-9);
    expect(check.skipped).toBe(0);
  });

  test('names the entry that is wrong', () => {
    const problem = familyMember(0.7);
    const wrong = {
      ...problem,
      differentiate(x: Float64Array, g: Float64Array, j: Float64Array) {
        problem.differentiate(x, g, j);
        j[1 * 5 + 2]! += 0.01;
        return true;
      },
    };
    const check = checkDerivatives(wrong, here);
    expect([check.row, check.variable]).toEqual([1, 2]);
    // Relative to the larger of one and the entry, which is 2·0.5 + 0.01.
    expect(check.worst).toBeCloseTo(0.01 / 1.01, 6);
    expect(check.analytic - check.difference).toBeCloseTo(0.01, 6);
  });

  test('counts what it cannot compare: fixed variables, and sides that fail', () => {
    const problem = familyMember(0.7);
    const fixed = { ...problem, lower: problem.lower.slice(), upper: problem.upper.slice() };
    fixed.lower[4] = 0.1;
    fixed.upper[4] = 0.1;
    expect(checkDerivatives(fixed, here).skipped).toBe(4);
    const cliff = {
      ...problem,
      evaluate: (x: Float64Array, c: Float64Array) => (x[0]! > 0.3 ? NaN : problem.evaluate(x, c)),
    };
    expect(checkDerivatives(cliff, here).skipped).toBeGreaterThan(0);
    expect(() => checkDerivatives(cliff, Float64Array.of(1, 0, 0, 0, 0))).toThrow('cannot be evaluated');
  });
});

describe('forward differences', () => {
  const n = 5;
  const steps = new Float64Array(n).fill(1e-7);

  function compare(
    upperOf0: number,
    failing?: (x: Float64Array) => boolean,
  ): { done: boolean; worst: number; calls: number } {
    const problem = familyMember(0.7);
    const upper = problem.upper.slice();
    upper[0] = upperOf0;
    let calls = 0;
    const limited = {
      ...problem,
      upper,
      evaluate(x: Float64Array, c: Float64Array) {
        calls++;
        expect(x[0]).toBeLessThanOrEqual(upperOf0);
        return failing?.(x) ? NaN : problem.evaluate(x, c);
      },
    };
    const [g, gExact] = [new Float64Array(n), new Float64Array(n)];
    const [j, jExact] = [new Float64Array(3 * n), new Float64Array(3 * n)];
    const c = new Float64Array(3);
    const x = here.slice();
    const f = problem.evaluate(x, c);
    problem.differentiate(x, gExact, jExact);
    const done = forwardDifferences(limited, x, f, c, steps, g, j, new Float64Array(3));
    expect([...x]).toEqual([...here]);
    const errors = [...g, ...j].map((value, k) => Math.abs(value - [...gExact, ...jExact][k]!));
    return { done, worst: Math.max(...errors), calls };
  }

  test('agree with the derivatives to half the step times the curvature, in n evaluations', () => {
    const { done, worst, calls } = compare(9);
    expect([done, calls]).toEqual([true, n]);
    // ½·1e-7·(second derivatives up to 4) and 2e-16/1e-7 of rounding.
    expect(worst).toBeLessThan(5e-7);
  });

  test('turn backwards at a bound and at a side that fails', () => {
    expect(compare(0.3)).toMatchObject({ done: true, calls: n });
    expect(compare(0.3).worst).toBeLessThan(5e-7);
    const beyond = compare(9, (x) => x[1]! > -0.2);
    expect(beyond).toMatchObject({ done: true, calls: n + 1 });
    expect(beyond.worst).toBeLessThan(5e-7);
  });

  test('say so when neither side can be had', () => {
    expect(compare(9, (x) => x[1] !== -0.2).done).toBe(false);
  });
});
