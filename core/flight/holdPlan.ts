/** What a limit means for a segment of the plan. */
import { burnsFully, fullFlow_kgps, fullThrust_N, tailOff_kg, type Batch } from './commands.ts';
import type { HoldMark } from './history.ts';
import type { Burn, HeldSpan, HoldMode } from './planTypes.ts';

/** Thrust and flow of a stack or a body in vacuum, SI, with rates. */
interface Rates {
  readonly thrust_N: number;
  readonly thrustRate_Nps: number;
  readonly flow_kgps: number;
  readonly flowRate_kgps2: number;
}

/** Engines that a limit on a body (index) throttles when it must: those of the groups named, or of all, that burn fully. */
export function limitedBatches(
  batches: readonly Batch[],
  body: number,
  groups: readonly string[] | undefined,
  t_s: number,
): Batch[] {
  return batches.filter(
    (batch) => batch.body === body && (groups?.includes(batch.group) ?? true) && burnsFully(batch, t_s),
  );
}

/**
 * The limit in force during a segment, from its start to its end (s): on `held`, `own` being the body's other engines.
 * `total` is the thrust that the stack feels and its flow, the limited engines at their commanded throttle, of which it
 * feels the share `felt`. SI.
 */
export function heldSpan(
  limit: { readonly event: number; readonly limit_mps2: number; readonly mode: HoldMode; saved_kg: number },
  held: readonly Batch[],
  own: readonly Batch[],
  burns: readonly Burn[],
  total: Rates,
  felt: number,
  start_s: number,
  end_s: number,
): HeldSpan {
  const { event, mode, limit_mps2, saved_kg } = limit;
  const { body } = held[0]!;
  let full_N = 0;
  let flow_kgps = 0;
  let least = 0;
  for (const batch of held) {
    full_N += fullThrust_N(batch, start_s);
    flow_kgps += fullFlow_kgps(batch, start_s);
    least = Math.max(least, Math.min(1, batch.engine.throttle.least / batch.throttle));
  }
  const thrust_N = felt * full_N;
  let bodyFlow_kgps = 0;
  let bodyFlowRate_kgps2 = 0;
  for (const burn of burns) {
    if (burn.body !== body) continue;
    bodyFlow_kgps += burn.flow_kgps;
    bodyFlowRate_kgps2 += burn.flowRate_kgps2;
  }
  // Exactly a parabola as long as no break comes.
  const half = 0.5 * (end_s - start_s);
  const first_kg = tailOff_kg(own, body, start_s);
  const middle_kg = tailOff_kg(own, body, start_s + half);
  const bend = (tailOff_kg(own, body, start_s + 2 * half) - 2 * middle_kg + first_kg) / (2 * half * half);
  return {
    event,
    mode,
    limit_mps2,
    saved_kg,
    body,
    thrust_N,
    flow_kgps,
    least,
    restThrust_N: total.thrust_N - thrust_N,
    restThrustRate_Nps: total.thrustRate_Nps,
    restFlow_kgps: total.flow_kgps - flow_kgps,
    restFlowRate_kgps2: total.flowRate_kgps2,
    ownFlow_kgps: bodyFlow_kgps - flow_kgps,
    ownFlowRate_kgps2: bodyFlowRate_kgps2,
    tailOff_kg: tailOff_kg(held, body, start_s),
    restTailOff: [first_kg, (middle_kg - first_kg) / half - bend * half, bend],
  };
}

/** What a limit has made of an engine's burning in a segment of duration_s: the straight line that burns as much. SI. */
export function throttledBurn(burn: Burn, span: HeldSpan, mark: HoldMark, duration_s: number): Burn {
  const mean = 1 - mark.saved_kg / (span.flow_kgps * duration_s);
  const change_ps = (2 * (mean - mark.first)) / duration_s;
  return {
    ...burn,
    thrust_N: burn.thrust_N * mark.first,
    thrustRate_Nps: burn.thrust_N * change_ps,
    flow_kgps: burn.flow_kgps * mark.first,
    flowRate_kgps2: burn.flow_kgps * change_ps,
  };
}
