import { pieceIndex } from './atmosphere/atmosphere.ts';

/**
 * A wind profile: eastward and northward speed of the air over the ground at a table of geometric heights,
 * linear between them and zero below the lowest and above the highest. (A wind that blows at the ground needs a
 * node at or below the ground.)
 *
 * Every node is a kink, and the outermost are jumps unless the wind there is zero; an integrator treats them as
 * it does the pieces of an atmosphere (see Atmosphere): the piece is held during a step and its line carried on
 * past its ends.
 */
export class WindProfile {
  /** Speed towards the east, m/s, written by `evaluate`. */
  eastward_mps = 0;
  /** Speed towards the north, m/s, written by `evaluate`. */
  northward_mps = 0;
  /** The heights of the nodes, m, ascending. */
  readonly pieceEdges_m: Float64Array;
  private readonly eastward: Float64Array;
  private readonly northward: Float64Array;
  private readonly eastwardSlope: Float64Array;
  private readonly northwardSlope: Float64Array;

  /**
   * @param heights_m geometric heights of the nodes, strictly ascending: none at all (no wind) or at least two.
   * @param eastward_mps, northward_mps the speeds at the nodes, towards the east and the north.
   * @throws RangeError that names the argument and index, what was received and what is allowed.
   */
  constructor(
    heights_m: ArrayLike<number>,
    eastward_mps: ArrayLike<number>,
    northward_mps: ArrayLike<number>,
  ) {
    const n = heights_m.length;
    if (n === 1) throw new RangeError('heights_m: received 1 node; a profile needs none or at least 2');
    for (const [name, column] of Object.entries({ heights_m, eastward_mps, northward_mps })) {
      if (column.length !== n)
        throw new RangeError(
          `${name}: received ${column.length} values for ${n} heights; they must be as many`,
        );
      for (let i = 0; i < n; i++)
        if (!Number.isFinite(column[i]))
          throw new RangeError(`${name}[${i}]: received ${column[i]!}; it must be finite`);
    }
    for (let i = 1; i < n; i++)
      if (!(heights_m[i]! > heights_m[i - 1]!))
        throw new RangeError(
          `heights_m[${i}]: received ${heights_m[i]!} after ${heights_m[i - 1]!}; heights must ascend`,
        );
    this.pieceEdges_m = Float64Array.from(heights_m);
    this.eastward = Float64Array.from(eastward_mps);
    this.northward = Float64Array.from(northward_mps);
    const slopes = (speed: Float64Array) =>
      Float64Array.from({ length: Math.max(0, n - 1) }, (_, i) => {
        const rise = this.pieceEdges_m[i + 1]! - this.pieceEdges_m[i]!;
        return (speed[i + 1]! - speed[i]!) / rise;
      });
    this.eastwardSlope = slopes(this.eastward);
    this.northwardSlope = slopes(this.northward);
  }

  /** Index of the piece that holds a geometric height, m: 0 below the lowest node; a node opens the next. */
  pieceAt(height_m: number): number {
    return pieceIndex(this.pieceEdges_m, height_m);
  }

  /** Writes the two speeds at a geometric height, m, by the line of `piece`, 0 to `pieceEdges_m.length`. */
  evaluate(height_m: number, piece: number): void {
    if (piece === 0 || piece >= this.pieceEdges_m.length) {
      this.eastward_mps = 0;
      this.northward_mps = 0;
      return;
    }
    const below = piece - 1;
    const rise = height_m - this.pieceEdges_m[below]!;
    this.eastward_mps = this.eastward[below]! + rise * this.eastwardSlope[below]!;
    this.northward_mps = this.northward[below]! + rise * this.northwardSlope[below]!;
  }
}
