/** Roots of functions of one variable. */

/** Interpolation is given up for plain bisection after this many evaluations; a smooth function needs about ten. */
const MOST_INTERPOLATIONS = 50;

/**
 * A root of f in [a, b], where f(a) and f(b) differ in sign, to `tolerance` in x, by Brent's method; the ends may stand in
 * either order. Where f jumps through zero, the place of the jump. Source: R. P. Brent, Algorithms for Minimization
 * without Derivatives, Prentice-Hall 1973, chapter 4, here with bisection alone once 50 evaluations have not been enough,
 * so that the tolerance is kept on every function: 50 evaluations more than bisection needs is the worst.
 * Units: x and tolerance in one unit, f in any. Throws RangeError when the bracket is not finite, the signs
 * do not differ or a value is NaN.
 */
export function findRoot(
  f: (x: number) => number,
  a: number,
  b: number,
  tolerance: number,
  fa: number = f(a),
  fb: number = f(b),
): number {
  if (!Number.isFinite(b - a)) throw new RangeError(`findRoot: the bracket from ${a} to ${b} is not finite`);
  if (fa === 0) return a;
  if (fb === 0) return b;
  // Not by the sign of the product, which may be too small for a number.
  if (!((fa < 0 && fb > 0) || (fa > 0 && fb < 0))) {
    throw new RangeError(`findRoot: no change of sign between ${a} (f = ${fa}) and ${b} (f = ${fb})`);
  }
  let c = a;
  let fc = fa;
  let d = b - a;
  let e = d;
  for (let i = 0; ; i++) {
    if (Math.abs(fc) < Math.abs(fb)) {
      a = b;
      fa = fb;
      b = c;
      fb = fc;
      c = a;
      fc = fa;
    }
    const small = 2 * Number.EPSILON * Math.abs(b) + 0.5 * tolerance;
    const half = 0.5 * (c - b);
    if (Math.abs(half) <= small || fb === 0) return b;
    if (i < MOST_INTERPOLATIONS && Math.abs(e) >= small && Math.abs(fa) > Math.abs(fb)) {
      const s = fb / fa;
      let p: number;
      let q: number;
      if (a === c) {
        p = 2 * half * s;
        q = 1 - s;
      } else {
        const u = fa / fc;
        const v = fb / fc;
        p = s * (2 * half * u * (u - v) - (b - a) * (v - 1));
        q = (u - 1) * (v - 1) * (s - 1);
      }
      if (p > 0) q = -q;
      else p = -p;
      if (2 * p < Math.min(3 * half * q - Math.abs(small * q), Math.abs(e * q))) {
        e = d;
        d = p / q;
      } else {
        d = half;
        e = half;
      }
    } else {
      d = half;
      e = half;
    }
    a = b;
    fa = fb;
    b += Math.abs(d) > small ? d : Math.sign(half) * small;
    fb = f(b);
    if (Number.isNaN(fb)) throw new RangeError(`findRoot: f is not a number at ${b}`);
    if (fb > 0 === fc > 0) {
      c = a;
      fc = fa;
      d = b - a;
      e = d;
    }
  }
}
