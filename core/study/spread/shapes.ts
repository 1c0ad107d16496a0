/** How an uncertain number is distributed: from an evenly distributed variate to its value. */
import { normalQuantile } from '../../math/normalQuantile.ts';

export type SpreadShape = 'uniform' | 'triangular' | 'normal';

/** A distribution of a number, all in the number's own unit. */
export interface Distribution {
  readonly shape: SpreadShape;
  readonly low: number;
  readonly high: number;
  /** The study's own number: the peak of a triangle; the others do not depend on it. */
  readonly nominal: number;
}

/** Two thirds of a normal distribution's weight lie within so many deviations of its middle: Φ⁻¹(5/6). */
const TWO_THIRDS = normalQuantile(5 / 6);

/**
 * The value below which the share `u` (0 to 1, both excluded for a normal) of the distribution lies, in the number's unit.
 * Uniform: between low and high. Triangular: between low and high, peaked at the nominal number. Normal: middle half-way
 * between low and high, two thirds of its weight between them, its tails not cut: what a place of the study cannot hold is
 * for the caller to refuse.
 */
export function valueAt(distribution: Distribution, u: number): number {
  const { shape, low, high, nominal } = distribution;
  const width = high - low;
  switch (shape) {
    case 'uniform':
      return low + u * width;
    case 'triangular': {
      if (width === 0) return nominal;
      const rising = (nominal - low) / width;
      return u < rising
        ? low + Math.sqrt(u * width * (nominal - low))
        : high - Math.sqrt((1 - u) * width * (high - nominal));
    }
    case 'normal':
      return low + 0.5 * width * (1 + normalQuantile(u) / TWO_THIRDS);
  }
}

/** Standard deviation, in the number's unit. */
export function deviationOf({ shape, low, high, nominal }: Distribution): number {
  switch (shape) {
    case 'uniform':
      return (high - low) / Math.sqrt(12);
    case 'triangular': {
      const [a, b] = [nominal - low, high - nominal];
      return Math.sqrt((a * a + a * b + b * b) / 18);
    }
    case 'normal':
      return (0.5 * (high - low)) / TWO_THIRDS;
  }
}
