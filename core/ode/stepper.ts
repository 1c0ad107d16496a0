/**
 * One step of the Dormand-Prince pair, with error estimate and interpolation coefficients. Knows nothing of rockets.
 *
 * The coefficients stand in `tableau.ts`; they are written out again here as literals because a loop over arrays costs
 * about twice the time. A test holds the two against each other.
 */
import type { OdeSystem } from './system.ts';

const D1 = -12715105075 / 11282082432;
const D3 = 87487479700 / 32700410799;
const D4 = -10690763975 / 1880347072;
const D5 = 701980252875 / 199316789632;
const D6 = -1453857185 / 822651844;
const D7 = 69997945 / 29380423;

/** Work space and result of single steps for systems of one dimension. Reused: allocates only when made. */
export class DormandPrinceStepper {
  readonly dimension: number;
  /** f at the start of the step; set by `begin` or by `accept`. */
  readonly slope: Float64Array;
  /** The solution at the end of the last step tried. */
  readonly yEnd: Float64Array;
  /** The interpolant at the middle of the last step whose error was asked for. */
  readonly middle: Float64Array;
  /** Calls of the right-hand side since the stepper was made. */
  evaluations = 0;
  protected readonly k2: Float64Array;
  protected readonly k3: Float64Array;
  protected readonly k4: Float64Array;
  protected readonly k5: Float64Array;
  protected readonly k6: Float64Array;
  protected readonly k7: Float64Array;
  protected readonly stage: Float64Array;

  constructor(dimension: number) {
    this.dimension = dimension;
    this.slope = new Float64Array(dimension);
    this.yEnd = new Float64Array(dimension);
    this.middle = new Float64Array(dimension);
    this.k2 = new Float64Array(dimension);
    this.k3 = new Float64Array(dimension);
    this.k4 = new Float64Array(dimension);
    this.k5 = new Float64Array(dimension);
    this.k6 = new Float64Array(dimension);
    this.k7 = new Float64Array(dimension);
    this.stage = new Float64Array(dimension);
  }

  /**
   * Evaluates the slope at (t, y) anew: at the start and after every jump, where the last stage is no longer f.
   * Units are the system's own.
   */
  begin(system: OdeSystem, t: number, y: Float64Array): void {
    system.derivative(t, y, this.slope);
    this.evaluations += 1;
  }

  /**
   * Tries a step of length h (either sign) from (t, y); the result stands in `yEnd`. Needs `slope` at (t, y).
   * Units are the system's own. Never fails; a NaN in the right-hand side shows in the result.
   */
  step(system: OdeSystem, t: number, y: Float64Array, h: number): void {
    const n = this.dimension;
    const k1 = this.slope;
    const { k2, k3, k4, k5, k6, k7, stage, yEnd } = this;
    for (let i = 0; i < n; i++) stage[i] = y[i]! + h * (0.2 * k1[i]!);
    system.derivative(t + 0.2 * h, stage, k2);
    for (let i = 0; i < n; i++) stage[i] = y[i]! + h * ((3 / 40) * k1[i]! + (9 / 40) * k2[i]!);
    system.derivative(t + 0.3 * h, stage, k3);
    for (let i = 0; i < n; i++)
      stage[i] = y[i]! + h * ((44 / 45) * k1[i]! - (56 / 15) * k2[i]! + (32 / 9) * k3[i]!);
    system.derivative(t + 0.8 * h, stage, k4);
    for (let i = 0; i < n; i++)
      stage[i] =
        y[i]! +
        h *
          ((19372 / 6561) * k1[i]! -
            (25360 / 2187) * k2[i]! +
            (64448 / 6561) * k3[i]! -
            (212 / 729) * k4[i]!);
    system.derivative(t + (8 / 9) * h, stage, k5);
    for (let i = 0; i < n; i++)
      stage[i] =
        y[i]! +
        h *
          ((9017 / 3168) * k1[i]! -
            (355 / 33) * k2[i]! +
            (46732 / 5247) * k3[i]! +
            (49 / 176) * k4[i]! -
            (5103 / 18656) * k5[i]!);
    system.derivative(t + h, stage, k6);
    for (let i = 0; i < n; i++)
      yEnd[i] =
        y[i]! +
        h *
          ((35 / 384) * k1[i]! +
            (500 / 1113) * k3[i]! +
            (125 / 192) * k4[i]! -
            (2187 / 6784) * k5[i]! +
            (11 / 84) * k6[i]!);
    system.derivative(t + h, yEnd, k7);
    this.evaluations += 6;
  }

  /**
   * Size of the local error of the last step, root mean square over components, each scaled by
   * atol + rtol max(|y|, |yEnd|); 1 is just acceptable. Dimensionless; NaN when the step met a NaN or overflowed.
   * Leaves in `middle`, in the system's units, the interpolant at θ = 1/2: the same as `interpolate` would give, but for
   * rounding. Both read the same numbers, and one reading is most of the work.
   */
  errorNorm(y: Float64Array, h: number, rtol: number, atol: Float64Array): number {
    const n = this.dimension;
    const { slope, k3, k4, k5, k6, k7, yEnd, middle } = this;
    let sum = 0;
    for (let i = 0; i < n; i++) {
      const s1 = slope[i]!;
      const s3 = k3[i]!;
      const s4 = k4[i]!;
      const s5 = k5[i]!;
      const s6 = k6[i]!;
      const s7 = k7[i]!;
      const start = y[i]!;
      const end = yEnd[i]!;
      const error =
        h *
        ((71 / 57600) * s1 -
          (71 / 16695) * s3 +
          (71 / 1920) * s4 -
          (17253 / 339200) * s5 +
          (22 / 525) * s6 -
          (1 / 40) * s7);
      const before = Math.abs(start);
      const after = Math.abs(end);
      // The last term is zero for every number, and makes an infinite state, over which any error is none, a NaN.
      const scaled = error / (atol[i]! + rtol * (before > after ? before : after)) + 0 * after;
      sum += scaled * scaled;
      const bend =
        (0.125 + D1 / 16) * s1 +
        (D3 / 16) * s3 +
        (D4 / 16) * s4 +
        (D5 / 16) * s5 +
        (D6 / 16) * s6 +
        (D7 / 16 - 0.125) * s7;
      middle[i] = 0.5 * (start + end) + h * bend;
    }
    return Math.sqrt(sum / n);
  }

  /**
   * Writes the five interpolation coefficients of each component of the last step into `out` from `offset`
   * (layout: coefficient by coefficient, `dimension` numbers each; see `interpolate` in `dense.ts`). System's units.
   */
  writeDense(y: Float64Array, h: number, out: Float64Array, offset: number): void {
    const n = this.dimension;
    const { slope: k1, k3, k4, k5, k6, k7, yEnd } = this;
    for (let i = 0; i < n; i++) {
      const rise = yEnd[i]! - y[i]!;
      const bend = h * k1[i]! - rise;
      out[offset + i] = y[i]!;
      out[offset + n + i] = rise;
      out[offset + 2 * n + i] = bend;
      out[offset + 3 * n + i] = rise - h * k7[i]! - bend;
      out[offset + 4 * n + i] =
        h * (D1 * k1[i]! + D3 * k3[i]! + D4 * k4[i]! + D5 * k5[i]! + D6 * k6[i]! + D7 * k7[i]!);
    }
  }

  /** Takes over the last step: copies its end into y and its last slope to the start of the next. System's units. */
  accept(y: Float64Array): void {
    const n = this.dimension;
    const { slope, k7, yEnd } = this;
    // Loops, since `set` costs several times as much for so few numbers.
    for (let i = 0; i < n; i++) y[i] = yEnd[i]!;
    for (let i = 0; i < n; i++) slope[i] = k7[i]!;
  }
}
