import { EigenvalueDecomposition, Matrix } from 'ml-matrix';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { QuasiNewtonHessian } from '../../../core/nlp/hessian.ts';

const vector = (n: number): fc.Arbitrary<Float64Array> =>
  fc
    .array(fc.integer({ min: -2000, max: 2000 }), { minLength: n, maxLength: n })
    .map((list) => Float64Array.from(list, (value) => value / 1000));

function eigenvalues(hessian: QuasiNewtonHessian): number[] {
  const matrix = Matrix.from1DArray(hessian.size, hessian.size, [...hessian.matrix]);
  return new EigenvalueDecomposition(matrix, { assumeSymmetric: true }).realEigenvalues;
}

const dot = (a: ArrayLike<number>, b: ArrayLike<number>): number =>
  Array.from(a).reduce((sum, value, i) => sum + value * b[i]!, 0);

describe('the damped BFGS matrix', () => {
  test('stays symmetric and positive definite whatever curvature it is shown', () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(vector(4), vector(4)), { minLength: 1, maxLength: 12 }), (updates) => {
        const hessian = new QuasiNewtonHessian(4);
        for (const [s, y] of updates) {
          // Steps below 1e-3 beside curvature of order one make condition numbers that no double can hold definite.
          fc.pre(Math.hypot(...s) > 0.1);
          hessian.update(s, y);
        }
        for (let i = 0; i < 4; i++) {
          for (let j = 0; j < i; j++) expect(hessian.matrix[i * 4 + j]).toBe(hessian.matrix[j * 4 + i]);
        }
        expect(Math.min(...eigenvalues(hessian))).toBeGreaterThan(0);
      }),
      { seed: 31, numRuns: 400 },
    );
  });

  test('maps the last step to the curvature seen along it, when that is positive enough', () => {
    fc.assert(
      fc.property(vector(5), vector(5), (s, noise) => {
        fc.pre(Math.hypot(...s) > 0.1);
        const hessian = new QuasiNewtonHessian(5);
        // y near 3 s: positive curvature, so no damping.
        const y = s.map((value, i) => 3 * value + 0.05 * noise[i]! * Math.hypot(...s));
        const seen = y.slice();
        expect(hessian.update(s, y)).toBe('updated');
        const out = new Float64Array(5);
        hessian.multiply(s, out);
        // The secant equation holds but for rounding of numbers up to 30.
        for (let i = 0; i < 5; i++) expect(Math.abs(out[i]! - seen[i]!)).toBeLessThan(1e-12);
      }),
      { seed: 32, numRuns: 300 },
    );
  });

  test('damps negative curvature to a fifth of what it held before', () => {
    const hessian = new QuasiNewtonHessian(3);
    hessian.reset(2);
    hessian.update(Float64Array.of(1, 0, 0), Float64Array.of(2, 0, 0));
    const s = Float64Array.of(0.5, 1, -1);
    const before = new Float64Array(3);
    hessian.multiply(s, before);
    expect(hessian.update(s, Float64Array.of(-1, -2, 3))).toBe('damped');
    const after = new Float64Array(3);
    hessian.multiply(s, after);
    // Powell's θ makes sᵀB⁺s = 0.2 sᵀBs exactly.
    expect(dot(s, after)).toBeCloseTo(0.2 * dot(s, before), 12);
  });

  test('takes its first size from the first positive curvature, and keeps its own when there is none', () => {
    const sized = new QuasiNewtonHessian(2);
    sized.update(Float64Array.of(1, 0), Float64Array.of(50, 0));
    expect([...sized.matrix]).toEqual([50, 0, 0, 50]);
    const kept = new QuasiNewtonHessian(2);
    kept.reset(7);
    kept.update(Float64Array.of(1, 0), Float64Array.of(-50, 0));
    expect(kept.matrix[3]).toBe(7);
  });

  test('leaves out a step of no length', () => {
    const hessian = new QuasiNewtonHessian(2);
    expect(hessian.update(new Float64Array(2), Float64Array.of(1, 1))).toBe('skipped');
    expect([...hessian.matrix]).toEqual([1, 0, 0, 1]);
  });

  test('reproduces a quadratic within n exact-search steps (BFGS terminates on quadratics)', () => {
    // Nocedal and Wright, theorem 6.4: with exact line searches B equals the Hessian after n steps.
    const n = 4;
    const a = Matrix.from1DArray(n, n, [4, 1, 0, 0.5, 1, 3, 0.2, 0, 0, 0.2, 5, 1, 0.5, 0, 1, 6]);
    const hessian = new QuasiNewtonHessian(n);
    let x = Matrix.columnVector([1, -2, 3, 0.5]);
    for (let step = 0; step < n; step++) {
      const gradient = a.mmul(x);
      const b = Matrix.from1DArray(n, n, [...hessian.matrix]);
      const p = new EigenvalueDecomposition(b, { assumeSymmetric: true });
      const v = p.eigenvectorMatrix;
      const inverse = v.mmul(Matrix.diag(p.realEigenvalues.map((value) => 1 / value))).mmul(v.transpose());
      const direction = inverse.mmul(gradient).mul(-1);
      const share =
        -dot(gradient.to1DArray(), direction.to1DArray()) /
        dot(direction.to1DArray(), a.mmul(direction).to1DArray());
      const s = direction.mul(share);
      hessian.update(Float64Array.from(s.to1DArray()), Float64Array.from(a.mmul(s).to1DArray()));
      x = x.add(s);
    }
    // Four rank-two updates of a matrix of order one, each losing a few digits to the smallness of the last step.
    a.to1DArray().forEach((value, at) => expect(hessian.matrix[at]).toBeCloseTo(value, 7));
  });
});
