/**
 * Tables of one variable, held constant beyond their ends, made of smooth pieces.
 *
 * n nodes make n + 1 pieces: piece 0 is the constant before the first node, piece i runs from node i − 1 to node i,
 * piece n is the constant after the last. A piece is frozen by its number: `evaluate(x, piece)` keeps to that piece's
 * formula wherever x lies, so that an integrator can step up to an edge without ever seeing what lies behind it.
 */

/** What a caller needs of a table, however it interpolates. `x` in the unit of the nodes, values in the unit of theirs. */
export interface PiecewiseTable {
  /** Nodes, ascending. */
  readonly xs: Float64Array;
  /** Where some derivative jumps, ascending: piece i lies between `edges[i - 1]` and `edges[i]`. */
  readonly edges: Float64Array;
  /** Those of the edges at which already the first derivative jumps. */
  readonly kinks: Float64Array;
  /** The piece that holds x; at a node the one after it. */
  pieceAt(x: number): number;
  /** The formula of a piece at x, also beyond the piece's edges. */
  evaluate(x: number, piece: number): number;
  /** Derivative of that formula. */
  slope(x: number, piece: number): number;
}

abstract class NodeTable implements PiecewiseTable {
  readonly xs: Float64Array;
  readonly edges: Float64Array;
  abstract readonly kinks: Float64Array;

  constructor(name: string, xs: ArrayLike<number>, ys: ArrayLike<number>) {
    if (xs.length === 0) throw new RangeError(`${name}: xs is empty; a table has at least one node`);
    if (xs.length !== ys.length) {
      throw new RangeError(`${name}: xs has ${xs.length} entries and ys ${ys.length}; they must be as many`);
    }
    for (let i = 0; i < xs.length; i++) {
      if (!Number.isFinite(xs[i])) throw new RangeError(`${name}: xs[${i}] is ${xs[i]!}; it must be finite`);
      if (!Number.isFinite(ys[i])) throw new RangeError(`${name}: ys[${i}] is ${ys[i]!}; it must be finite`);
      if (i > 0 && !(xs[i]! > xs[i - 1]!)) {
        throw new RangeError(`${name}: xs[${i}] is ${xs[i]!}; it must be above xs[${i - 1}], ${xs[i - 1]!}`);
      }
    }
    this.xs = Float64Array.from(xs);
    this.edges = this.xs;
  }

  /**
   * The piece that holds x (unit of the nodes): the number of nodes at or below it, so at a node the piece after it.
   * Not a number gives the last piece, whose value is then not a number either.
   */
  pieceAt(x: number): number {
    const { xs } = this;
    let low = 0;
    let high = xs.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (x < xs[middle]!) high = middle;
      else low = middle + 1;
    }
    return low;
  }

  abstract evaluate(x: number, piece: number): number;
  abstract slope(x: number, piece: number): number;
}

/** Straight lines between the nodes: continuous, with a kink at every node where the slope changes. */
export class LinearTable extends NodeTable {
  readonly kinks: Float64Array;
  private readonly origins: Float64Array;
  private readonly values: Float64Array;
  private readonly slopes: Float64Array;

  /** Throws RangeError, naming the entry, when xs do not ascend, an entry is not finite or the lengths differ. */
  constructor(xs: ArrayLike<number>, ys: ArrayLike<number>) {
    super('LinearTable', xs, ys);
    const n = xs.length;
    this.origins = new Float64Array(n + 1);
    this.values = new Float64Array(n + 1);
    this.slopes = new Float64Array(n + 1);
    for (let piece = 0; piece <= n; piece++) {
      const left = Math.max(piece - 1, 0);
      this.origins[piece] = xs[left]!;
      this.values[piece] = ys[left]!;
      if (piece > 0 && piece < n) {
        this.slopes[piece] = (ys[piece]! - ys[left]!) / (xs[piece]! - xs[left]!);
      }
    }
    this.kinks = this.xs.filter((_, i) => this.slopes[i] !== this.slopes[i + 1]);
  }

  /** Value of a piece's line at x (finite, unit of the nodes), in the unit of the values. */
  evaluate(x: number, piece: number): number {
    return this.values[piece]! + (x - this.origins[piece]!) * this.slopes[piece]!;
  }

  /** Slope of a piece's line; unit of the values over that of the nodes. */
  slope(_x: number, piece: number): number {
    return this.slopes[piece]!;
  }
}

/**
 * Cubics through the nodes that rise and fall only where the nodes do, with a continuous first derivative everywhere.
 *
 * Source: M. Steffen, A simple method for monotonic interpolation in one dimension, Astron. Astrophys. 239 (1990)
 * 443-450, for the slopes at inner nodes; they satisfy the condition of F. N. Fritsch, R. E. Carlson, Monotone piecewise
 * cubic interpolation, SIAM J. Numer. Anal. 17 (1980) 238-246. At the two end nodes the slope is zero, not Steffen's
 * one-sided one, so that the function runs on smoothly into the constants beyond them.
 * Against a smooth function the error is of third order in the spacing of the nodes, of second order beside an extremum,
 * and of first order in the two end intervals where the function does not level out (4/27 of spacing times slope).
 */
export class MonotoneCubicTable extends NodeTable {
  /** Empty: the first derivative is continuous; at the nodes the second jumps. */
  readonly kinks = new Float64Array(0);
  private readonly origins: Float64Array;
  /** Four coefficients a piece, constant first. */
  private readonly coefficients: Float64Array;

  /** Throws RangeError, naming the entry, when xs do not ascend, an entry is not finite or the lengths differ. */
  constructor(xs: ArrayLike<number>, ys: ArrayLike<number>) {
    super('MonotoneCubicTable', xs, ys);
    const n = xs.length;
    this.origins = new Float64Array(n + 1);
    this.coefficients = new Float64Array(4 * (n + 1));
    const tangents = steffenSlopes(xs, ys);
    for (let piece = 0; piece <= n; piece++) {
      const left = Math.max(piece - 1, 0);
      this.origins[piece] = xs[left]!;
      this.coefficients[4 * piece] = ys[left]!;
      if (piece === 0 || piece === n) continue;
      const width = xs[piece]! - xs[left]!;
      const secant = (ys[piece]! - ys[left]!) / width;
      const from = tangents[left]!;
      const to = tangents[piece]!;
      this.coefficients[4 * piece + 1] = from;
      this.coefficients[4 * piece + 2] = (3 * secant - 2 * from - to) / width;
      this.coefficients[4 * piece + 3] = (from + to - 2 * secant) / (width * width);
    }
  }

  /** Value of a piece's cubic at x (finite, unit of the nodes), in the unit of the values. */
  evaluate(x: number, piece: number): number {
    const c = this.coefficients;
    const at = 4 * piece;
    const u = x - this.origins[piece]!;
    return c[at]! + u * (c[at + 1]! + u * (c[at + 2]! + u * c[at + 3]!));
  }

  /** Slope of a piece's cubic at x (finite, unit of the nodes); unit of the values over that of the nodes. */
  slope(x: number, piece: number): number {
    const c = this.coefficients;
    const at = 4 * piece;
    const u = x - this.origins[piece]!;
    return c[at + 1]! + u * (2 * c[at + 2]! + 3 * u * c[at + 3]!);
  }
}

/** Steffen's slopes at the inner nodes, zero at the two ends. */
function steffenSlopes(xs: ArrayLike<number>, ys: ArrayLike<number>): Float64Array {
  const slopes = new Float64Array(xs.length);
  for (let i = 1; i < xs.length - 1; i++) {
    const before = xs[i]! - xs[i - 1]!;
    const after = xs[i + 1]! - xs[i]!;
    const secantBefore = (ys[i]! - ys[i - 1]!) / before;
    const secantAfter = (ys[i + 1]! - ys[i]!) / after;
    const parabola = (secantBefore * after + secantAfter * before) / (before + after);
    slopes[i] =
      (Math.sign(secantBefore) + Math.sign(secantAfter)) *
      Math.min(Math.abs(secantBefore), Math.abs(secantAfter), 0.5 * Math.abs(parabola));
  }
  return slopes;
}
