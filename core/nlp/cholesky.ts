/**
 * Cholesky factor of a symmetric matrix, H = L Lᵀ, and the inverse of L, both into storage of the caller.
 *
 * Source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., section 4.2 (outer form by rows).
 *
 * @param matrix n×n row-major; only the lower triangle is read. Dimensionless here: whatever the caller's scaling is.
 * @param size n ≥ 1.
 * @param factor n×n row-major, receives L in its lower triangle and zeros above it.
 * @returns false when a pivot is not above `1e-14` times the largest diagonal entry, or is not a number: the matrix is
 * then not positive definite to working precision and `factor` is unusable.
 */
export function choleskyFactor(matrix: Float64Array, size: number, factor: Float64Array): boolean {
  let largest = 0;
  for (let i = 0; i < size; i++) largest = Math.max(largest, matrix[i * size + i]!);
  // Below this a pivot is rounding of the subtraction, not information.
  const smallestPivot = 1e-14 * largest;
  for (let i = 0; i < size; i++) {
    const rowI = i * size;
    for (let j = 0; j <= i; j++) {
      const rowJ = j * size;
      let sum = matrix[rowI + j]!;
      for (let k = 0; k < j; k++) sum -= factor[rowI + k]! * factor[rowJ + k]!;
      if (i === j) {
        if (!(sum > smallestPivot) || sum === Infinity) return false;
        factor[rowI + i] = Math.sqrt(sum);
      } else {
        factor[rowI + j] = sum / factor[rowJ + j]!;
      }
    }
    for (let j = i + 1; j < size; j++) factor[rowI + j] = 0;
  }
  return true;
}

/**
 * Inverse of a lower triangular matrix, row by row: `inverse · factor = I`.
 *
 * Read as n rows of n, `inverse` holds L⁻¹; read by columns it holds L⁻ᵀ, which is where the dual active-set method
 * starts its basis.
 *
 * @param factor n×n row-major lower triangle with a non-zero diagonal (as {@link choleskyFactor} leaves it).
 * @param size n ≥ 1.
 * @param inverse n×n row-major, overwritten (zeros above the diagonal).
 */
export function invertLowerTriangle(factor: Float64Array, size: number, inverse: Float64Array): void {
  inverse.fill(0, 0, size * size);
  for (let i = 0; i < size; i++) {
    const pivot = factor[i * size + i]!;
    for (let j = 0; j < i; j++) {
      let sum = 0;
      for (let k = j; k < i; k++) sum += factor[i * size + k]! * inverse[k * size + j]!;
      inverse[i * size + j] = -sum / pivot;
    }
    inverse[i * size + i] = 1 / pivot;
  }
}
