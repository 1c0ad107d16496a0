import { CholeskyDecomposition, Matrix } from 'ml-matrix';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { choleskyFactor, invertLowerTriangle } from '../../../core/nlp/cholesky.ts';

const square = fc.integer({ min: 1, max: 9 }).chain((n) =>
  fc
    .array(fc.integer({ min: -3000, max: 3000 }), { minLength: n * n, maxLength: n * n })
    .map((list) =>
      Matrix.from1DArray(
        n,
        n,
        list.map((value) => value / 1000),
      ),
    )
    .map((root) => root.mmul(root.transpose()).add(Matrix.eye(n).mul(0.05))),
);

describe('the Cholesky factor', () => {
  test('agrees with ml-matrix, and its inverse inverts it', () => {
    fc.assert(
      fc.property(square, (matrix) => {
        const n = matrix.rows;
        const factor = new Float64Array(n * n);
        const inverse = new Float64Array(n * n);
        expect(choleskyFactor(Float64Array.from(matrix.to1DArray()), n, factor)).toBe(true);
        const expected = new CholeskyDecomposition(matrix).lowerTriangularMatrix.to1DArray();
        // Entries to 80, condition to 1e4.
        expected.forEach((value, at) => expect(Math.abs(factor[at]! - value)).toBeLessThan(1e-10));
        invertLowerTriangle(factor, n, inverse);
        const product = Matrix.from1DArray(n, n, [...inverse]).mmul(Matrix.from1DArray(n, n, [...factor]));
        product.to1DArray().forEach((value, at) => expect(value).toBeCloseTo(at % (n + 1) === 0 ? 1 : 0, 9));
      }),
      { seed: 41, numRuns: 200 },
    );
  });

  test('refuses what is not positive definite', () => {
    const factor = new Float64Array(4);
    expect(choleskyFactor(Float64Array.of(1, 2, 2, 1), 2, factor)).toBe(false);
    expect(choleskyFactor(Float64Array.of(1, 1, 1, 1), 2, factor)).toBe(false);
    expect(choleskyFactor(Float64Array.of(0, 0, 0, 0), 2, factor)).toBe(false);
    expect(choleskyFactor(Float64Array.of(1, NaN, NaN, 1), 2, factor)).toBe(false);
  });
});
