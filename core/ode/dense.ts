/** Continuous output: the solution between steps, from each step's stored interpolation coefficients. */

/**
 * Evaluates the interpolant of one step at θ = (t − t₀)/h (0 to 1; a little beyond is an extrapolation).
 * Fourth order; Hairer, Nørsett, Wanner I, section II.6. `coefficients` from `offset` as written by
 * `DormandPrinceStepper.writeDense`; writes `dimension` numbers into `out`. Units are the system's own.
 */
export function interpolate(
  coefficients: Float64Array,
  offset: number,
  dimension: number,
  theta: number,
  out: Float64Array,
): void {
  const left = 1 - theta;
  for (let i = 0; i < dimension; i++) {
    const at = offset + i;
    out[i] =
      coefficients[at]! +
      theta *
        (coefficients[at + dimension]! +
          left *
            (coefficients[at + 2 * dimension]! +
              theta * (coefficients[at + 3 * dimension]! + left * coefficients[at + 4 * dimension]!)));
  }
}

/** The content of a `StepStore` as plain arrays, fit for structured cloning. */
export interface StepArrays {
  readonly dimension: number;
  readonly times: Float64Array;
  readonly lengths: Float64Array;
  readonly pieces: Int32Array;
  readonly coefficients: Float64Array;
}

/**
 * A growing store of steps: start time, length, frozen piece and, when `dense`, interpolation coefficients of each.
 * Exact at any zoom: samples are drawn from it, never stored. Valid between `start` and `end`. Without `dense` it
 * holds a step sequence alone, to be flown again by `replaySteps`.
 */
export class StepStore {
  readonly dimension: number;
  readonly dense: boolean;
  count = 0;
  private times: Float64Array;
  private lengths: Float64Array;
  private pieces: Int32Array;
  private coefficients: Float64Array;

  constructor(dimension: number, dense = true, capacity = 128) {
    if (!(Number.isInteger(dimension) && dimension > 0)) {
      throw new RangeError(`StepStore: dimension is ${dimension}; it must be a positive integer`);
    }
    this.dimension = dimension;
    this.dense = dense;
    this.times = new Float64Array(capacity);
    this.lengths = new Float64Array(capacity);
    this.pieces = new Int32Array(capacity);
    this.coefficients = new Float64Array(dense ? capacity * 5 * dimension : 0);
  }

  /** Forgets all steps, keeps the memory. Unitless. */
  clear(): void {
    this.count = 0;
  }

  /** Makes room for one more step and returns the offset of its coefficients in `raw`. Unitless. */
  append(t: number, h: number, piece: number): number {
    if (this.count === this.times.length) this.grow();
    this.times[this.count] = t;
    this.lengths[this.count] = h;
    this.pieces[this.count] = piece;
    this.count += 1;
    return (this.count - 1) * 5 * this.dimension;
  }

  /** The coefficient array that `append`'s offsets point into; changes when the store grows. System's units. */
  get raw(): Float64Array {
    return this.coefficients;
  }

  /** Time at which the stored solution starts, in the system's unit of time; NaN when empty. */
  get start(): number {
    return this.count > 0 ? this.times[0]! : Number.NaN;
  }

  /** Time at which the stored solution ends, in the system's unit of time; NaN when empty. */
  get end(): number {
    return this.count > 0 ? this.times[this.count - 1]! + this.lengths[this.count - 1]! : Number.NaN;
  }

  /** Start time of a step, in the system's unit of time. */
  timeOf(step: number): number {
    return this.times[step]!;
  }

  /** Length of a step, in the system's unit of time. */
  lengthOf(step: number): number {
    return this.lengths[step]!;
  }

  /** The smooth piece that was frozen during a step. Unitless. */
  pieceOf(step: number): number {
    return this.pieces[step]!;
  }

  /**
   * The step that holds time t; at a boundary the later one, so that a jump is seen from its right.
   * Times outside are clamped to the first or last step. Unitless index; throws RangeError when empty.
   */
  find(t: number): number {
    if (this.count === 0) throw new RangeError('StepStore.find: the store holds no step');
    let low = 0;
    let high = this.count - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (this.times[middle]! <= t) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  /**
   * Writes the state at time t within a given step into `out`; system's units. Throws RangeError when there is no such
   * step or the store is not dense.
   */
  sampleStep(step: number, t: number, out: Float64Array): void {
    if (!(step >= 0 && step < this.count)) {
      throw new RangeError(`StepStore.sampleStep: step is ${step}; the store holds ${this.count}, from 0`);
    }
    if (!this.dense)
      throw new RangeError('StepStore.sampleStep: the store keeps no interpolation coefficients');
    const h = this.lengths[step]!;
    const theta = h === 0 ? 0 : (t - this.times[step]!) / h;
    interpolate(this.coefficients, step * 5 * this.dimension, this.dimension, theta, out);
  }

  /**
   * Writes the state at time t into `out`; times outside are clamped to the ends. System's units. Throws RangeError when
   * t is not a number, and as `find` and `sampleStep` do.
   */
  sample(t: number, out: Float64Array): void {
    if (Number.isNaN(t)) throw new RangeError('StepStore.sample: t is NaN');
    const clamped = Math.min(Math.max(t, this.start), this.end);
    this.sampleStep(this.find(clamped), clamped, out);
  }

  /** Plain arrays of all steps, trimmed copies, to be kept or sent; `fromArrays` makes a store of them again. */
  toArrays(): StepArrays {
    return {
      dimension: this.dimension,
      times: this.times.slice(0, this.count),
      lengths: this.lengths.slice(0, this.count),
      pieces: this.pieces.slice(0, this.count),
      coefficients: this.coefficients.slice(0, this.dense ? this.count * 5 * this.dimension : 0),
    };
  }

  /**
   * A store that holds these steps; the arrays are taken over, not copied. Throws RangeError when their lengths do not
   * belong together. System's units.
   */
  static fromArrays(arrays: StepArrays): StepStore {
    const { dimension, times, lengths, pieces, coefficients } = arrays;
    const count = times.length;
    const full = count * 5 * dimension;
    // Nothing tells of an empty store whether it was dense; it is then like a new one.
    const dense = coefficients.length > 0 || count === 0;
    if (lengths.length !== count || pieces.length !== count || (dense && coefficients.length !== full)) {
      throw new RangeError(
        `StepStore.fromArrays: ${count} times, ${lengths.length} lengths, ${pieces.length} pieces and ` +
          `${coefficients.length} coefficients do not belong together; ${full} coefficients are wanted`,
      );
    }
    const store = new StepStore(dimension, dense, 1);
    store.count = count;
    store.times = times;
    store.lengths = lengths;
    store.pieces = pieces;
    store.coefficients = coefficients;
    return store;
  }

  private grow(): void {
    const capacity = Math.max(8, this.times.length * 2);
    const times = new Float64Array(capacity);
    times.set(this.times);
    this.times = times;
    const lengths = new Float64Array(capacity);
    lengths.set(this.lengths);
    this.lengths = lengths;
    const pieces = new Int32Array(capacity);
    pieces.set(this.pieces);
    this.pieces = pieces;
    if (!this.dense) return;
    const coefficients = new Float64Array(capacity * 5 * this.dimension);
    coefficients.set(this.coefficients);
    this.coefficients = coefficients;
  }
}
