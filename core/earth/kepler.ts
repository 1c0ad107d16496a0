/**
 * Motion along a Kepler orbit for a span of time, by universal variables, for ellipses, parabolas and hyperbolas
 * alike (R. R. Bate, D. D. Mueller, J. E. White, Fundamentals of Astrodynamics, 1971, chapter 4).
 */

/** How a propagation ended. */
export interface KeplerResult {
  readonly status: 'converged' | 'failed';
  readonly code: 'ok' | 'not-finite' | 'iteration-limit';
  readonly message: string;
  readonly iterations: number;
  /** Time of flight of the returned place less the time asked for, s. */
  readonly residual_s: number;
}

const MAXIMUM_ITERATIONS = 200;

/**
 * State after a span of time on the Kepler orbit of a state.
 *
 * The time equation increases steadily with the universal anomaly (its derivative is the radius), so a Newton
 * iteration kept inside a bracket, and replaced by bisection where it is slow, finds its one root. Whole
 * revolutions of an ellipse are taken off first. A straight line through the centre is followed as the limit of
 * ever narrower ellipses: it turns back there.
 *
 * @param state inertial position, m, and velocity, m/s, at indices 0 to 5.
 * @param span_s time to go, negative to go back.
 * @param gm_m3ps2 gravitational parameter, greater than 0.
 * @param out receives the new state in the same layout; may be `state` itself. Untouched on failure.
 * @returns how it ended; a numerical failure is reported there, never thrown.
 * @throws RangeError when an argument is not finite, the position is zero or gm is not positive.
 */
export function propagateKepler(
  state: Float64Array,
  span_s: number,
  gm_m3ps2: number,
  out: Float64Array,
): KeplerResult {
  for (let i = 0; i < 6; i++)
    if (!Number.isFinite(state[i]))
      throw new RangeError(`state[${i}]: received ${String(state[i])}; it must be finite`);
  if (!Number.isFinite(span_s)) throw new RangeError(`span_s: received ${span_s}; it must be finite`);
  if (!(gm_m3ps2 > 0 && gm_m3ps2 < Infinity))
    throw new RangeError(`gm_m3ps2: received ${gm_m3ps2}; it must be finite and greater than 0`);
  const [x, y, z, vx, vy, vz] = state as unknown as [number, number, number, number, number, number];
  const r0 = Math.hypot(x, y, z);
  if (r0 === 0) throw new RangeError('state: received a position at the centre; it must be away from it');

  const root = Math.sqrt(gm_m3ps2);
  const radial = (x * vx + y * vy + z * vz) / root;
  /** Reciprocal of the semi-major axis. */
  const alpha = 2 / r0 - (vx * vx + vy * vy + vz * vz) / gm_m3ps2;
  const revolution = alpha > 0 ? (2 * Math.PI) / (root * alpha ** 1.5) : Infinity;
  // A nearly parabolic ellipse may have a period beyond all numbers; then there is nothing to take off.
  const remaining = Number.isFinite(revolution) ? span_s % revolution : span_s;
  const wanted = root * remaining;
  const tolerance = 1e-15 * (Math.abs(wanted) + r0 * Math.sqrt(r0));

  const c = { c2: 0.5, c3: 1 / 6 };
  let low = -Infinity;
  let high = Infinity;
  if (remaining >= 0) low = 0;
  else high = 0;
  let chi = wanted / r0;
  if (alpha > 0) {
    // One revolution of the universal anomaly bounds the root of what remains.
    const full = (2 * Math.PI) / Math.sqrt(alpha);
    if (remaining >= 0) high = full;
    else low = -full;
    chi = wanted * alpha;
  }
  let time: number;
  let radius: number;
  let previousStep = Infinity;
  let iterations = 0;
  for (;;) {
    const psi = alpha * chi * chi;
    stumpff(psi, c);
    const chi2c2 = chi * chi * c.c2;
    const reduced = chi * (1 - psi * c.c3);
    time = chi * chi * chi * c.c3 + radial * chi2c2 + r0 * reduced;
    radius = chi2c2 + radial * reduced + r0 * (1 - psi * c.c2);
    const miss = time - wanted;
    if (Math.abs(miss) <= tolerance) break;
    if (miss > 0) high = Math.min(high, chi);
    else if (miss < 0) low = Math.max(low, chi);

    let next = chi - miss / radius;
    const bracketed = low > -Infinity && high < Infinity;
    // Hyperbolic functions overflow far out: the root is nearer.
    if (!Number.isFinite(next)) next = bracketed ? (low + high) / 2 : chi / 2;
    else if (bracketed) {
      const slow = Math.abs(next - chi) > Math.abs(previousStep) / 2;
      if (slow || next < low || next > high) next = (low + high) / 2;
    }
    previousStep = next - chi;
    // Rounding of the time equation can keep the miss above the tolerance; then the anomaly stands still.
    if (Math.abs(previousStep) <= 4e-16 * Math.abs(chi)) break;
    iterations++;
    if (iterations > MAXIMUM_ITERATIONS)
      return {
        status: 'failed',
        code: 'iteration-limit',
        message: `the time equation was still off by ${miss / root} s after ${MAXIMUM_ITERATIONS} iterations`,
        iterations,
        residual_s: miss / root,
      };
    chi = next;
  }

  const chi2 = chi * chi;
  const f = 1 - (chi2 * c.c2) / r0;
  const g = (wanted - chi2 * chi * c.c3) / root;
  const fDot = (root / (radius * r0)) * chi * (alpha * chi2 * c.c3 - 1);
  const gDot = 1 - (chi2 * c.c2) / radius;
  const next = [
    f * x + g * vx,
    f * y + g * vy,
    f * z + g * vz,
    fDot * x + gDot * vx,
    fDot * y + gDot * vy,
    fDot * z + gDot * vz,
  ];
  if (!next.every(Number.isFinite))
    return {
      status: 'failed',
      code: 'not-finite',
      message: 'the orbit is at the centre of attraction at the end of the span',
      iterations,
      residual_s: NaN,
    };
  out.set(next, 0);
  return {
    status: 'converged',
    code: 'ok',
    message: 'the time equation is met',
    iterations,
    residual_s: (time - wanted) / root,
  };
}

/**
 * Stumpff's functions c2 = (1 - cos sqrt(psi)) / psi and c3 = (sqrt(psi) - sin sqrt(psi)) / psi^(3/2), continued
 * to hyperbolic functions for negative psi; by series near zero, where the closed forms cancel.
 */
function stumpff(psi: number, out: { c2: number; c3: number }): void {
  if (Math.abs(psi) < 1) {
    // Terms (-psi)^k / (2k + 2)! and / (2k + 3)!; the tenth is below 1e-19.
    let term2 = 0.5;
    let term3 = 1 / 6;
    out.c2 = 0;
    out.c3 = 0;
    for (let k = 1; k <= 10; k++) {
      out.c2 += term2;
      out.c3 += term3;
      term2 *= -psi / ((2 * k + 1) * (2 * k + 2));
      term3 *= -psi / ((2 * k + 2) * (2 * k + 3));
    }
  } else if (psi > 0) {
    const root = Math.sqrt(psi);
    const half = Math.sin(root / 2);
    out.c2 = (2 * half * half) / psi;
    out.c3 = (root - Math.sin(root)) / (psi * root);
  } else {
    const root = Math.sqrt(-psi);
    out.c2 = (1 - Math.cosh(root)) / psi;
    out.c3 = (Math.sinh(root) - root) / (-psi * root);
  }
}
