/**
 * A smooth curve through values at fixed places, the values changing often. Either the one polynomial through all of them,
 * or the cubic spline with continuous second derivative and the not-a-knot condition at both ends (C. de Boor, A Practical
 * Guide to Splines, 1978, chapter IV). Both are linear in the values, so a flight is as smooth in them as it is in time.
 */

export type CurveShape = 'polynomial' | 'spline';

/** The curve; x and values in units of the caller's. Allocates only when made. See the top of the file. */
export class NodeCurve {
  /** Newton's form of the polynomial in x scaled to 0 … 1, or the values of the spline. */
  private readonly c: Float64Array;
  /** Second derivatives of the spline at the nodes. */
  private readonly bend: Float64Array;
  /** Second derivatives are this matrix times the values, row by row; empty for a polynomial. */
  private readonly matrix: Float64Array;
  private readonly u: Float64Array;

  /**
   * @param x where the nodes lie, rising, at least one. A spline through fewer than four is the polynomial.
   * @throws RangeError when there is none, or they do not rise.
   */
  constructor(
    private readonly x: Float64Array,
    shape: CurveShape,
  ) {
    const n = x.length;
    if (n === 0) throw new RangeError('NodeCurve: received no node; at least one is needed');
    for (let i = 0; i < n; i++) {
      if (!Number.isFinite(x[i]) || (i > 0 && !(x[i]! > x[i - 1]!)))
        throw new RangeError(`NodeCurve: x[${i}] is ${x[i]!}; nodes must be finite and rise`);
    }
    const span = n > 1 ? x[n - 1]! - x[0]! : 1;
    this.u = x.map((each) => (each - x[0]!) / span);
    this.c = new Float64Array(n);
    this.bend = new Float64Array(n);
    this.matrix = shape === 'spline' && n > 3 ? bendMatrix(x) : new Float64Array(0);
  }

  /** Lays the curve through values (as many as nodes; values' unit). */
  fit(values: Float64Array): void {
    const { c, u, bend, matrix } = this;
    const n = c.length;
    for (let i = 0; i < n; i++) c[i] = values[i]!;
    if (matrix.length > 0) {
      for (let i = 0; i < n; i++) {
        let sum = 0;
        for (let k = 0; k < n; k++) sum += matrix[i * n + k]! * values[k]!;
        bend[i] = sum;
      }
      return;
    }
    // Divided differences, in place.
    for (let k = 1; k < n; k++) {
      for (let i = n - 1; i >= k; i--) c[i] = (c[i]! - c[i - 1]!) / (u[i]! - u[i - k]!);
    }
  }

  /** The curve at x, held beyond its ends; values' unit. */
  at(x: number): number {
    const nodes = this.x;
    const n = nodes.length;
    const first = nodes[0]!;
    const last = nodes[n - 1]!;
    const here = x < first ? first : x > last ? last : x;
    const { c, u } = this;
    if (this.matrix.length === 0) {
      const span = n > 1 ? last - first : 1;
      const v = (here - first) / span;
      let sum = c[n - 1]!;
      for (let i = n - 2; i >= 0; i--) sum = c[i]! + (v - u[i]!) * sum;
      return sum;
    }
    let i = 0;
    while (i < n - 2 && here > nodes[i + 1]!) i += 1;
    const h = nodes[i + 1]! - nodes[i]!;
    const right = (here - nodes[i]!) / h;
    const left = 1 - right;
    const bend = this.bend;
    return (
      left * c[i]! +
      right * c[i + 1]! +
      ((left * left * left - left) * bend[i]! + (right * right * right - right) * bend[i + 1]!) *
        ((h * h) / 6)
    );
  }
}

/** The n×n matrix, row by row, that turns values at x into the spline's second derivatives there; n ≥ 4. */
function bendMatrix(x: Float64Array): Float64Array {
  const n = x.length;
  // Rows: [tridiagonal system | right-hand side in the values], brought to [1 | wanted] by elimination.
  const wide = 2 * n;
  const rows = Array.from({ length: n }, () => new Float64Array(wide));
  const h = (i: number): number => x[i + 1]! - x[i]!;
  for (let i = 1; i < n - 1; i++) {
    const row = rows[i]!;
    row[i - 1] = h(i - 1) / 6;
    row[i] = (h(i - 1) + h(i)) / 3;
    row[i + 1] = h(i) / 6;
    row[n + i - 1] = 1 / h(i - 1);
    row[n + i] = -1 / h(i - 1) - 1 / h(i);
    row[n + i + 1] = 1 / h(i);
  }
  // The third derivative does not jump at the nodes next to the ends.
  for (const [end, near, far] of [
    [0, 0, 1],
    [n - 1, n - 2, n - 3],
  ] as const) {
    const row = rows[end]!;
    row[near]! -= 1 / h(near);
    row[near + 1]! += 1 / h(near);
    row[far]! += 1 / h(far);
    row[far + 1]! -= 1 / h(far);
  }
  for (let i = 0; i < n; i++) {
    let pivot = i;
    for (let k = i + 1; k < n; k++) if (Math.abs(rows[k]![i]!) > Math.abs(rows[pivot]![i]!)) pivot = k;
    [rows[i], rows[pivot]] = [rows[pivot]!, rows[i]!];
    const row = rows[i]!;
    const scale = 1 / row[i]!;
    for (let k = i; k < wide; k++) row[k]! *= scale;
    for (let other = 0; other < n; other++) {
      if (other === i) continue;
      const factor = rows[other]![i]!;
      for (let k = i; k < wide; k++) rows[other]![k]! -= factor * row[k]!;
    }
  }
  const matrix = new Float64Array(n * n);
  for (let i = 0; i < n; i++) matrix.set(rows[i]!.subarray(n), i * n);
  return matrix;
}
