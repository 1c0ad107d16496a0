/** Thrust and mass of one side of a parting, read off the segments that it flies. */
import type { FlightPlan, Segment } from '../flight/planTypes.ts';

/** The segment that holds mission time t_s (s); at a boundary the later one, beyond the ends the outermost. */
export function segmentAtTime(segments: readonly Segment[], t_s: number): Segment {
  let found = segments[0]!;
  for (const segment of segments) if (segment.start_s <= t_s) found = segment;
  return found;
}

/** Engines of these bodies at mission time t_s (s) in full, less ambient pressure (Pa) on their exits; N. */
export function engineThrust_N(
  segment: Segment,
  of: readonly number[],
  t_s: number,
  pressure_Pa: number,
): number {
  const tau = t_s - segment.start_s;
  let thrust = 0;
  let all = 0;
  for (const burn of segment.burns) {
    const each = burn.thrust_N + tau * burn.thrustRate_Nps;
    all += each;
    if (of.includes(burn.body)) thrust += each;
  }
  if (all === 0) return 0;
  // Exits are known for all engines together; their share is taken to be that of the thrust.
  const area = segment.exitArea_m2 + tau * segment.exitAreaRate_m2ps;
  return thrust - (pressure_Pa * area * thrust) / all;
}

/** Motors on these bodies at mission time t_s (s), forward positive, N. */
export function motorThrust_N(plan: FlightPlan, of: readonly number[], t_s: number): number {
  let sum = 0;
  for (const push of plan.pushes) {
    if (push.flow_kgps === 0 || !of.includes(push.body)) continue;
    if (push.start_s <= t_s && t_s < push.end_s) sum += push.force_N;
  }
  return sum;
}

/** Mass of a segment's bodies at mission time t_s (s) with `extra_kg` of payload, kg. */
export function massOf_kg(segment: Segment, extra_kg: number, t_s: number): number {
  const tau = t_s - segment.start_s;
  return segment.mass_kg + extra_kg - tau * (segment.flow_kgps + 0.5 * tau * segment.flowRate_kgps2);
}
