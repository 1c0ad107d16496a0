/** Extrema of functions of one variable. */

const GOLDEN = (3 - Math.sqrt(5)) / 2;

/**
 * The place of a maximum of f within [a, b], by golden section to `tolerance` in x. Finds the maximum where there is
 * one only; otherwise one of them. Source: R. P. Brent, Algorithms for Minimization without Derivatives, 1973, ch. 5.
 * x and tolerance in one unit. Throws RangeError when the interval is empty or reversed.
 */
export function findMaximum(f: (x: number) => number, a: number, b: number, tolerance: number): number {
  if (!(b >= a)) throw new RangeError(`findMaximum: the interval from ${a} to ${b} is empty`);
  let low = a;
  let high = b;
  let left = low + GOLDEN * (high - low);
  let right = high - GOLDEN * (high - low);
  let fLeft = f(left);
  let fRight = f(right);
  while (high - low > tolerance) {
    if (fLeft > fRight) {
      high = right;
      right = left;
      fRight = fLeft;
      left = low + GOLDEN * (high - low);
      fLeft = f(left);
    } else {
      low = left;
      left = right;
      fLeft = fRight;
      right = high - GOLDEN * (high - low);
      fRight = f(right);
    }
    if (right <= left) break;
  }
  return 0.5 * (low + high);
}
