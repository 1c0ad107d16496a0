/** Oxidiser and fuel of a body through a flight: drawn down at the mixture ratio in force, which shifts may move. */
import type { CompiledStudy } from '../../flight/compile.ts';
import type { FlightPlan, Segment } from '../../flight/planTypes.ts';
import { splitByMixture, type Sides } from '../../vehicle/tanks.ts';

/**
 * What a body (its index) has left of oxidiser and fuel at mission time t_s (s), kg: its load at its own mixture ratio, less
 * what its engines have burned at the ratio in force then. `segments` are those that the body flies, from the first command
 * on. Negative where a side has run dry. Throws RangeError when the body has no mixture ratio.
 */
export function sidesAt(
  compiled: CompiledStudy,
  plan: FlightPlan,
  segments: readonly Segment[],
  body: number,
  t_s: number,
): Sides {
  const { id, data, load_kg } = compiled.bodies[body]!;
  if (data.mixtureRatio === undefined)
    throw new RangeError(`vehicle.bodies.${id}.mixtureRatio: received nothing, allowed is a number above 0`);
  const shifts = compiled.study.sequence.events.flatMap(({ action }, event) =>
    action.kind === 'shift' && action.body === id && action.mixtureRatio !== undefined
      ? [{ time_s: plan.eventTimes_s[event]!, ratio: action.mixtureRatio }]
      : [],
  );
  let { oxidiser_kg, fuel_kg } = splitByMixture(load_kg, data.mixtureRatio);
  for (const segment of segments) {
    if (segment.start_s >= t_s || !segment.bodies.includes(body)) continue;
    const tau = Math.min(segment.end_s, t_s) - segment.start_s;
    let ratio = data.mixtureRatio;
    for (const shift of shifts) if (shift.time_s <= segment.start_s) ratio = shift.ratio;
    let burned_kg = 0;
    for (const burn of segment.burns)
      if (burn.body === body) burned_kg += tau * (burn.flow_kgps + 0.5 * tau * burn.flowRate_kgps2);
    const burned = splitByMixture(burned_kg, ratio);
    oxidiser_kg -= burned.oxidiser_kg;
    fuel_kg -= burned.fuel_kg;
  }
  return { oxidiser_kg, fuel_kg };
}
