import { choleskyFactor, invertLowerTriangle } from './cholesky.ts';

/**
 * The factorisation that the dual active-set method carries along: for H = L Lᵀ and the normals N = [a₁ … a_q] of the
 * working set, a basis J = L⁻ᵀQ with Jᵀ N = [R; 0], R upper triangular q×q, so that Jᵀ H J = I.
 *
 * Source: D. Goldfarb, A. Idnani, "A numerically stable dual method for solving strictly convex quadratic programs",
 * Mathematical Programming 27 (1983) 1–33, section 4 (matrices J and R, updates by plane rotations).
 *
 * All storage is allocated once for a size; nothing is allocated by the methods. Scaled quantities, dimensionless.
 */
export class WorkingSetFactor {
  readonly size: number;
  /** Number q of constraints in the working set. */
  count = 0;
  /** Row k is column k of J (n×n), so that products with J run along memory. */
  readonly basis: Float64Array;
  /** Column j of R stands at `j·n …`. */
  readonly triangle: Float64Array;
  /** Jᵀ a of the normal last projected. */
  readonly projection: Float64Array;
  private readonly cholesky: Float64Array;

  constructor(size: number) {
    this.size = size;
    this.basis = new Float64Array(size * size);
    this.triangle = new Float64Array(size * size);
    this.projection = new Float64Array(size);
    this.cholesky = new Float64Array(size * size);
  }

  /** Empties the working set and factors `hessian` (n×n row-major). False when it is not positive definite. */
  reset(hessian: Float64Array): boolean {
    this.count = 0;
    if (!choleskyFactor(hessian, this.size, this.cholesky)) return false;
    invertLowerTriangle(this.cholesky, this.size, this.basis);
    return true;
  }

  /** projection = Jᵀ a for the dense normal a = `values[offset … offset+n)`. */
  projectRow(values: Float64Array, offset: number): void {
    const { size: n, basis, projection } = this;
    for (let k = 0, at = 0; k < n; k++) {
      let sum = 0;
      for (let i = 0; i < n; i++, at++) sum += basis[at]! * values[offset + i]!;
      projection[k] = sum;
    }
  }

  /** projection = Jᵀ a for the normal `sign`·e_index of a bound. */
  projectUnit(index: number, sign: number): void {
    const { size: n, basis, projection } = this;
    for (let k = 0; k < n; k++) projection[k] = sign * basis[k * n + index]!;
  }

  /** ‖J₂ᵀ a‖²: zero when the projected normal depends on the working set. */
  freeNormSquared(): number {
    let sum = 0;
    for (let k = this.count; k < this.size; k++) sum += this.projection[k]! * this.projection[k]!;
    return sum;
  }

  /** ‖Jᵀ a‖² of the projected normal. */
  normSquared(): number {
    let sum = 0;
    for (let k = 0; k < this.size; k++) sum += this.projection[k]! * this.projection[k]!;
    return sum;
  }

  /** z = J₂ J₂ᵀ a: the primal step for a unit of the new constraint's multiplier. */
  primalDirection(z: Float64Array): void {
    const { size: n, basis, projection } = this;
    z.fill(0);
    for (let k = this.count; k < n; k++) {
      const weight = projection[k]!;
      if (weight === 0) continue;
      const row = k * n;
      for (let i = 0; i < n; i++) z[i]! += weight * basis[row + i]!;
    }
  }

  /** r = R⁻¹ J₁ᵀ a: how fast the working set's multipliers fall for a unit of the new one. */
  dualDirection(r: Float64Array): void {
    const { size: n, count: q, triangle, projection } = this;
    for (let i = q - 1; i >= 0; i--) {
      let sum = projection[i]!;
      for (let j = i + 1; j < q; j++) sum -= triangle[j * n + i]! * r[j]!;
      r[i] = sum / triangle[i * n + i]!;
    }
  }

  /** Takes the projected normal (which must be independent) into the working set, as its last member. */
  add(): void {
    const { size: n, count: q, triangle, projection } = this;
    for (let j = n - 1; j > q; j--) {
      const above = projection[j - 1]!;
      const below = projection[j]!;
      if (below === 0) continue;
      const length = Math.hypot(above, below);
      this.rotateBasis(j - 1, j, above / length, below / length);
      projection[j - 1] = length;
      projection[j] = 0;
    }
    for (let i = 0; i <= q; i++) triangle[q * n + i] = projection[i]!;
    this.count = q + 1;
  }

  /** Takes member `position` (0 … q−1) out of the working set; later members move up by one. */
  drop(position: number): void {
    const { size: n, count: q, triangle } = this;
    for (let j = position; j < q - 1; j++) {
      for (let i = 0; i <= j + 1; i++) triangle[j * n + i] = triangle[(j + 1) * n + i]!;
    }
    for (let j = position; j < q - 1; j++) {
      const above = triangle[j * n + j]!;
      const below = triangle[j * n + j + 1]!;
      if (below === 0) continue;
      const length = Math.hypot(above, below);
      const cosine = above / length;
      const sine = below / length;
      triangle[j * n + j] = length;
      triangle[j * n + j + 1] = 0;
      for (let k = j + 1; k < q - 1; k++) {
        const upper = triangle[k * n + j]!;
        const lower = triangle[k * n + j + 1]!;
        triangle[k * n + j] = cosine * upper + sine * lower;
        triangle[k * n + j + 1] = cosine * lower - sine * upper;
      }
      this.rotateBasis(j, j + 1, cosine, sine);
    }
    this.count = q - 1;
  }

  /**
   * Minimiser of ½ xᵀHx + gᵀx with Nᵀx = `values`, and the multipliers u of H x + g = N u: with y = J⁻¹ x, Rᵀ y₁ = values,
   * y₂ = −J₂ᵀ g, R u = y₁ + J₁ᵀ g.
   *
   * @param gradient g, n.
   * @param values q right-hand sides; overwritten with u.
   * @param projected n, overwritten with Jᵀ g.
   * @param x n, written.
   */
  minimise(gradient: Float64Array, values: Float64Array, projected: Float64Array, x: Float64Array): void {
    const { size: n, count: q, basis, triangle } = this;
    x.fill(0);
    for (let k = 0; k < n; k++) {
      let along = 0;
      for (let i = 0; i < n; i++) along += basis[k * n + i]! * gradient[i]!;
      projected[k] = along;
      let y = -along;
      if (k < q) {
        y = values[k]!;
        for (let i = 0; i < k; i++) y -= triangle[k * n + i]! * values[i]!;
        y /= triangle[k * n + k]!;
        values[k] = y;
      }
      for (let i = 0; i < n; i++) x[i]! += y * basis[k * n + i]!;
    }
    for (let k = q - 1; k >= 0; k--) {
      let sum = values[k]! + projected[k]!;
      for (let j = k + 1; j < q; j++) sum -= triangle[j * n + k]! * values[j]!;
      values[k] = sum / triangle[k * n + k]!;
    }
  }

  private rotateBasis(first: number, second: number, cosine: number, sine: number): void {
    const { size: n, basis } = this;
    for (let i = 0, a = first * n, b = second * n; i < n; i++, a++, b++) {
      const u = basis[a]!;
      const v = basis[b]!;
      basis[a] = cosine * u + sine * v;
      basis[b] = cosine * v - sine * u;
    }
  }
}
