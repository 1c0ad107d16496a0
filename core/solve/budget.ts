/** What the plan promises before anything is flown: ideal velocity, and the moments of thrust that guidance needs. */
import type { Segment } from '../flight/planTypes.ts';

/**
 * Panels a segment, each with three points of Gauss and Legendre: a burn that leaves a seventh of the mass comes out to
 * 3 parts in 10⁶.
 */
const PANELS = 8;
const NODES = [0.5 - Math.sqrt(0.15), 0.5, 0.5 + Math.sqrt(0.15)];
const WEIGHTS = [5 / 18, 8 / 18, 5 / 18];

/** Ideal velocity of the segments from `from` on with a payload in kg: ∫ T_vac/m dt, m/s. */
export function idealVelocity_mps(segments: readonly Segment[], from: number, payload_kg: number): number {
  return thrustMoments(segments, from, payload_kg).velocity_mps;
}

/**
 * Moments of the vacuum thrust acceleration a(t), t from the start of segment `from`:
 * velocity ∫a, first moment ∫a t, and their integrals over the remaining time, ∫∫a and ∫∫a t; and the time itself.
 */
export interface ThrustMoments {
  readonly time_s: number;
  readonly velocity_mps: number;
  readonly velocityMoment_m: number;
  readonly distance_m: number;
  readonly distanceMoment_ms: number;
}

/** See `ThrustMoments`; payload in kg. Throws RangeError when there is no segment `from`. */
export function thrustMoments(segments: readonly Segment[], from: number, payload_kg: number): ThrustMoments {
  const first = segments[from];
  const last = segments[segments.length - 1];
  if (first === undefined || last === undefined) {
    throw new RangeError(`thrustMoments: received segment ${from}, allowed 0 to ${segments.length - 1}`);
  }
  let velocity = 0;
  let velocityMoment = 0;
  let distance = 0;
  let distanceMoment = 0;
  for (let s = from; s < segments.length; s++) {
    const segment = segments[s]!;
    if (segment.thrust_N === 0 && segment.thrustRate_Nps === 0) continue;
    const h = (segment.end_s - segment.start_s) / PANELS;
    for (let i = 0; i < 3 * PANELS; i++) {
      const tau = (Math.floor(i / 3) + NODES[i % 3]!) * h;
      const mass =
        segment.mass_kg + payload_kg - tau * (segment.flow_kgps + 0.5 * tau * segment.flowRate_kgps2);
      const a = ((segment.thrust_N + tau * segment.thrustRate_Nps) / mass) * h * WEIGHTS[i % 3]!;
      const t = segment.start_s + tau - first.start_s;
      const left = last.end_s - segment.start_s - tau;
      velocity += a;
      velocityMoment += a * t;
      distance += a * left;
      distanceMoment += a * t * left;
    }
  }
  return {
    time_s: last.end_s - first.start_s,
    velocity_mps: velocity,
    velocityMoment_m: velocityMoment,
    distance_m: distance,
    distanceMoment_ms: distanceMoment,
  };
}

/**
 * The payload (kg) at which the segments from `from` on give an ideal velocity (m/s), by bisection between two payloads to
 * a millionth of their difference; the lower one when even that falls short.
 */
export function payloadForIdealVelocity_kg(
  segments: readonly Segment[],
  from: number,
  velocity_mps: number,
  most_kg: number,
  least_kg = 0,
): number {
  if (idealVelocity_mps(segments, from, least_kg) <= velocity_mps) return least_kg;
  let low = least_kg;
  let high = most_kg;
  for (let i = 0; i < 40; i++) {
    const middle = 0.5 * (low + high);
    if (idealVelocity_mps(segments, from, middle) > velocity_mps) low = middle;
    else high = middle;
  }
  return 0.5 * (low + high);
}
