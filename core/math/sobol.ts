/**
 * Points that fill the unit cube evenly: the Sobol sequence, plain or scrambled, any point by its index, so that slices of
 * it can be worked out apart.
 *
 * I. M. Sobol, USSR Comput. Math. Math. Phys. 7 (1967) 86; in the Gray-code order of I. A. Antonov, V. M. Saleev, ibid. 19
 * (1980) 252. Scrambled by a random lower-triangular matrix over GF(2) a dimension and a random digital shift: J. Matoušek,
 * On the L2-discrepancy for anchored boxes, J. Complexity 14 (1998) 527. Scrambling keeps every equidistribution property
 * (the points stay a digital net) and makes averages unbiased.
 */
import { uniformInt } from 'pure-rand/distribution/uniformInt';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { SOBOL_NUMBERS } from './sobolNumbers.ts';

/** The most dimensions that direction numbers are kept for. */
export const MOST_DIMENSIONS = SOBOL_NUMBERS.length;
const BITS = 32;
/** Indices are below this. */
const MOST_POINTS = 2 ** BITS;

/** The Sobol sequence in some dimensions; dimensionless. See the top of the file. */
export class SobolPoints {
  /** Columns of the generating matrices, dimension by dimension, the first bit of a coordinate as the highest. */
  private readonly columns: Uint32Array;
  private readonly shifts: Uint32Array;
  private readonly offset: number;

  /**
   * `dimension` from 1 to 256; `seed` a whole number that decides the scrambling, null for the plain sequence. A dimension's
   * scrambling does not depend on how many others there are. Throws RangeError for anything else.
   */
  constructor(
    readonly dimension: number,
    seed: number | null,
  ) {
    if (!Number.isInteger(dimension) || dimension < 1 || dimension > MOST_DIMENSIONS) {
      throw new RangeError(
        `dimension: received ${dimension}, allowed is a whole number from 1 to ${MOST_DIMENSIONS}`,
      );
    }
    if (seed !== null && !Number.isInteger(seed))
      throw new RangeError(`seed: received ${seed}, allowed is a whole number`);
    this.columns = new Uint32Array(dimension * BITS);
    this.shifts = new Uint32Array(dimension);
    for (let d = 0; d < dimension; d++) directions(d, this.columns);
    if (seed !== null) this.scramble(seed);
    // The middle of the interval that the bits name: never 0 or 1, so that every quantile is finite.
    this.offset = seed === null ? 0 : 0.5;
  }

  /** Writes the point of an index (from 0, below 2³²) into `out`: from 0 to below 1; above 0 too when scrambled. */
  point(index: number, out: Float64Array): void {
    if (!(index >= 0 && index < MOST_POINTS && Number.isInteger(index))) {
      throw new RangeError(`index: received ${index}, allowed is a whole number from 0 to 2^32 - 1`);
    }
    const gray = (index ^ (index >>> 1)) >>> 0;
    for (let d = 0; d < this.dimension; d++) {
      let bits = this.shifts[d]!;
      for (let j = 0, rest = gray; rest !== 0; j++, rest >>>= 1) {
        if ((rest & 1) === 1) bits ^= this.columns[d * BITS + j]!;
      }
      out[d] = ((bits >>> 0) + this.offset) / MOST_POINTS;
    }
  }

  private scramble(seed: number): void {
    const random = xoroshiro128plus(seed);
    const word = (): number => uniformInt(random, 0, 0xffffffff) >>> 0;
    const rows = new Uint32Array(BITS);
    for (let d = 0; d < this.dimension; d++) {
      this.shifts[d] = word();
      // Row i: a one on the diagonal, chance before it, nothing behind.
      for (let i = 0; i < BITS; i++) {
        const diagonal = 2 ** (BITS - 1 - i);
        rows[i] = (word() & ~(2 * diagonal - 1)) | diagonal;
      }
      for (let j = 0; j < BITS; j++) {
        const column = this.columns[d * BITS + j]!;
        let bits = 0;
        for (let i = 0; i < BITS; i++) bits = (bits << 1) | parity(rows[i]! & column);
        this.columns[d * BITS + j] = bits >>> 0;
      }
    }
  }
}

/** Writes a dimension's direction numbers, v_j = m_j 2^(32 − j), by Joe and Kuo's recurrence. */
function directions(d: number, columns: Uint32Array): void {
  const [polynomial = 1, ...initial] = SOBOL_NUMBERS[d]!;
  const s = initial.length;
  const v = columns.subarray(d * BITS, (d + 1) * BITS);
  for (let j = 0; j < BITS; j++) {
    if (s === 0) v[j] = 2 ** (BITS - 1 - j);
    else if (j < s) v[j] = initial[j]! * 2 ** (BITS - 1 - j);
    else {
      let bits = v[j - s]! ^ (v[j - s]! >>> s);
      for (let k = 1; k < s; k++) {
        if (((polynomial >>> (s - k)) & 1) === 1) bits ^= v[j - k]!;
      }
      v[j] = bits >>> 0;
    }
  }
}

/** 1 when an odd number of bits is set, else 0. */
function parity(bits: number): number {
  let x = bits ^ (bits >>> 16);
  x ^= x >>> 8;
  x ^= x >>> 4;
  return (0x6996 >>> (x & 15)) & 1;
}
