/**
 * Interpolating cubic spline through values at evenly spaced knots, twice continuously differentiable, with the
 * not-a-knot condition at both ends (C. de Boor, A Practical Guide to Splines, 1978, chapter IV).
 *
 * @param values at least four values at the knots 0, 1, 2, ... (the argument is counted in knots).
 * @returns four coefficients for each interval, lowest power first, in the local argument 0 to 1: the value in
 *   interval i is c0 + t (c1 + t (c2 + t c3)). Length 4 (n - 1).
 * @throws RangeError for fewer than four values or a value that is not finite.
 */
export function uniformSpline(values: ArrayLike<number>): Float64Array {
  const n = values.length;
  if (n < 4) throw new RangeError(`values: received ${n}; a not-a-knot spline needs at least 4`);
  for (let i = 0; i < n; i++)
    if (!Number.isFinite(values[i]))
      throw new RangeError(`values[${i}]: received ${values[i]!}; it must be finite`);

  // Second derivatives m solve m[i-1] + 4 m[i] + m[i+1] = 6 (y[i-1] - 2 y[i] + y[i+1]). Not-a-knot makes m linear
  // over the two outermost intervals, so that m[1] and m[n-2] are known at once.
  const bend = (i: number) => values[i - 1]! - 2 * values[i]! + values[i + 1]!;
  const m = new Float64Array(n);
  m[1] = bend(1);
  m[n - 2] = bend(n - 2);
  const pivot = new Float64Array(n);
  for (let i = 2; i <= n - 3; i++) {
    const below = i === 2 ? 0 : 1 / pivot[i - 1]!;
    pivot[i] = 4 - below;
    const known = (i === 2 ? m[1] : 0) + (i === n - 3 ? m[n - 2]! : 0);
    m[i] = 6 * bend(i) - known - below * (i === 2 ? 0 : m[i - 1]!);
  }
  for (let i = n - 3; i >= 2; i--) m[i] = (m[i]! - (i === n - 3 ? 0 : m[i + 1]!)) / pivot[i]!;
  m[0] = 2 * m[1] - m[2]!;
  m[n - 1] = 2 * m[n - 2]! - m[n - 3]!;

  const coefficients = new Float64Array(4 * (n - 1));
  for (let i = 0; i < n - 1; i++) {
    coefficients[4 * i] = values[i]!;
    coefficients[4 * i + 1] = values[i + 1]! - values[i]! - (2 * m[i]! + m[i + 1]!) / 6;
    coefficients[4 * i + 2] = m[i]! / 2;
    coefficients[4 * i + 3] = (m[i + 1]! - m[i]!) / 6;
  }
  return coefficients;
}
