/** The outline of a sound, for drawing it as wide as there is room. */

/**
 * Least and greatest sample in each of `columns` equal pieces of a sound's span from `from` to `to` (sample indices, may lie
 * outside: silence there), interleaved; samples −1 to 1, dimensionless. A piece shorter than a sample takes the sample it is in.
 */
export function outline(samples: Float32Array, from: number, to: number, columns: number): Float32Array {
  const result = new Float32Array(2 * columns);
  const each = (to - from) / columns;
  for (let i = 0; i < columns; i++) {
    const a = Math.max(0, Math.floor(from + i * each));
    const b = Math.min(
      samples.length,
      Math.max(Math.floor(from + (i + 1) * each), Math.floor(from + i * each) + 1),
    );
    let low = 0;
    let high = 0;
    for (let k = a; k < b; k++) {
      const value = samples[k]!;
      if (value < low) low = value;
      if (value > high) high = value;
    }
    result[2 * i] = low;
    result[2 * i + 1] = high;
  }
  return result;
}
