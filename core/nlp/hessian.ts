import { choleskyFactor } from './cholesky.ts';

/** What an update did: taken as given, mixed with the old matrix to stay positive definite, or left out. */
export type HessianUpdate = 'updated' | 'damped' | 'skipped';

/**
 * Damped BFGS approximation B of the Hessian of the Lagrangian, kept symmetric positive definite.
 *
 * B⁺ = B − (B s)(B s)ᵀ/(sᵀB s) + r rᵀ/(sᵀr), with r = θ y + (1 − θ) B s and θ = 1 when sᵀy ≥ 0.2 sᵀB s, otherwise
 * θ = 0.8 sᵀB s/(sᵀB s − sᵀy), where s is the step and y the change of ∇L at fixed multipliers.
 *
 * Source: M. J. D. Powell, "A fast algorithm for nonlinearly constrained optimization calculations", Numerical Analysis,
 * Dundee 1977, Lecture Notes in Mathematics 630 (1978) 144–157 (damping); D. F. Shanno, K. H. Phua, "Matrix conditioning
 * and nonlinear optimization", Mathematical Programming 14 (1978) 149–160 (sizing the initial matrix by the first curvature,
 * once, before the first update). Scaled quantities throughout, dimensionless.
 */
export class QuasiNewtonHessian {
  readonly size: number;
  /** B, n×n row-major, both triangles. */
  readonly matrix: Float64Array;
  /** True while B is a multiple of the identity that no curvature has gone into. */
  fresh = true;
  private readonly product: Float64Array;
  private readonly scratch: Float64Array;

  constructor(size: number) {
    this.size = size;
    this.matrix = new Float64Array(size * size);
    this.product = new Float64Array(size);
    this.scratch = new Float64Array(size * size);
    this.reset(1);
  }

  /** B = `diagonal`·I, `diagonal` > 0 and finite. */
  reset(diagonal: number): void {
    const n = this.size;
    this.matrix.fill(0);
    for (let i = 0; i < n; i++) this.matrix[i * n + i] = diagonal;
    this.fresh = true;
  }

  /**
   * Takes over a matrix from a neighbouring solve (n×n, symmetric; it may already stand in `matrix`). False when it is not
   * positive definite; B is then what it was.
   */
  load(matrix: Float64Array): boolean {
    if (!choleskyFactor(matrix, this.size, this.scratch)) return false;
    this.matrix.set(matrix);
    this.fresh = false;
    return true;
  }

  /** Writes B v into `out` (n). */
  multiply(v: Float64Array, out: Float64Array): void {
    const n = this.size;
    for (let i = 0, at = 0; i < n; i++) {
      let sum = 0;
      for (let j = 0; j < n; j++, at++) sum += this.matrix[at]! * v[j]!;
      out[i] = sum;
    }
  }

  /**
   * Takes in the curvature seen along a step.
   *
   * @param s step x⁺ − x, n.
   * @param y ∇L(x⁺, λ) − ∇L(x, λ), n; overwritten.
   * @returns `skipped` when the step is too short to tell its curvature from rounding (B unchanged).
   */
  update(s: Float64Array, y: Float64Array): HessianUpdate {
    const n = this.size;
    let ss = 0;
    let sy = 0;
    let yy = 0;
    for (let i = 0; i < n; i++) {
      ss += s[i]! * s[i]!;
      sy += s[i]! * y[i]!;
      yy += y[i]! * y[i]!;
    }
    if (!(ss > 1e-300) || !Number.isFinite(yy)) return 'skipped';
    if (this.fresh) {
      // ‖y‖/‖s‖ is the geometric mean of the two usual sizes, sᵀy/sᵀs and yᵀy/sᵀy. Without positive curvature there is
      // nothing to learn. The range keeps one bad first step from freezing a direction or setting it free.
      if (sy > 0) this.reset(Math.min(Math.max(Math.sqrt(yy / ss), 1e-4), 1e6));
      this.fresh = false;
    }
    this.multiply(s, this.product);
    let sBs = 0;
    for (let i = 0; i < n; i++) sBs += s[i]! * this.product[i]!;
    if (!(sBs > 0)) return 'skipped';
    let result: HessianUpdate = 'updated';
    if (sy < 0.2 * sBs) {
      const theta = (0.8 * sBs) / (sBs - sy);
      for (let i = 0; i < n; i++) y[i] = theta * y[i]! + (1 - theta) * this.product[i]!;
      sy = theta * sy + (1 - theta) * sBs;
      result = 'damped';
    }
    for (let i = 0; i < n; i++) {
      const bi = this.product[i]! / sBs;
      const yi = y[i]! / sy;
      for (let j = 0; j <= i; j++) {
        const value = this.matrix[i * n + j]! - bi * this.product[j]! + yi * y[j]!;
        this.matrix[i * n + j] = value;
        this.matrix[j * n + i] = value;
      }
    }
    return result;
  }
}
