/**
 * First guess of the linear tangent law from a state: the vertical equation of motion over a flat Earth with gravity
 * eased by the speed already made. Explicit guidance in the manner of R. F. Jaggers, An explicit solution to the exoatmospheric
 * powered flight guidance and trajectory optimization problem, AIAA 77-1051, 1977 (from memory); only a guess is needed.
 */
import { EARTH_GM_m3ps2 } from '../constants/physical.ts';
import type { ThrustMoments } from './budget.ts';

/**
 * a (dimensionless) and b (1/s) of tan θ = a + b t such that height and vertical speed come out at a target radius (m)
 * with no climb, from an inertial state (m, m/s), horizontal speed growing to target speed (m/s); gm of the Earth in m³/s². Always finite: angles
 * beyond ±60° are clipped.
 */
export function guessLinearTangent(
  state: Float64Array,
  moments: ThrustMoments,
  radius_m: number,
  speed_mps: number,
  gm_m3ps2: number = EARTH_GM_m3ps2,
): { a: number; b_ps: number } {
  const r0 = Math.hypot(state[0]!, state[1]!, state[2]!);
  const climb0 = (state[0]! * state[3]! + state[1]! * state[4]! + state[2]! * state[5]!) / r0;
  const across0 = Math.sqrt(Math.max(0, state[3]! ** 2 + state[4]! ** 2 + state[5]! ** 2 - climb0 * climb0));
  const T = moments.time_s;
  // Apparent gravity g − v²/r, with v growing as the share of time spent; its integral and double integral.
  const g = gm_m3ps2 / (r0 * r0);
  const gain = speed_mps - across0;
  const square1 = across0 * across0 + across0 * gain + (gain * gain) / 3;
  const square2 = (across0 * across0) / 2 + (across0 * gain) / 3 + (gain * gain) / 12;
  const fall_mps = (g - square1 / r0) * T;
  const drop_m = (g / 2 - square2 / r0) * T * T;
  // sin θ ≈ A + B t.
  const needSpeed = fall_mps - climb0;
  const needHeight = radius_m - r0 - climb0 * T + drop_m;
  const { velocity_mps: v0, velocityMoment_m: v1, distance_m: d0, distanceMoment_ms: d1 } = moments;
  const det = v0 * d1 - v1 * d0;
  const A = (needSpeed * d1 - v1 * needHeight) / det;
  const B = (v0 * needHeight - needSpeed * d0) / det;
  const tangent = (sine: number): number => {
    const s = Math.max(-0.866, Math.min(0.866, sine));
    return s / Math.sqrt(1 - s * s);
  };
  const a = tangent(A);
  const b = (tangent(A + B * T) - a) / T;
  return Number.isFinite(a) && Number.isFinite(b) ? { a, b_ps: b } : { a: 0.5, b_ps: -0.5 / T };
}
