/** Lays out one span of a plan: what burns, pushes and weighs in it. */
import { findArrangement } from '../vehicle/drag.ts';
import { fullFlow_kgps, fullRates, fullThrust_N, type Batch } from './commands.ts';
import { heldSpan, throttledBurn } from './holdPlan.ts';
import { heldBatches, holdAction } from './planActions.ts';
import { isWaiting } from './planClock.ts';
import type { Flyer, PlanRun } from './planState.ts';
import { PlanError, type Burn, type HeldSpan, type Segment } from './planTypes.ts';

type Rates = Parameters<typeof heldSpan>[4];

/** What is wrong where bodies (ids) fly together that no drag is given for. */
export function noDrag(ids: readonly string[]): PlanError {
  return new PlanError(
    'vehicle.aerodynamics',
    `has no entry for the bodies ${ids.join(', ')} flying together`,
  );
}

/**
 * The segment (index) of a flyer from start to end (mission time, s), at whose start events have fired. SI. Throws PlanError
 * where the bodies have no drag and nothing that is waited for may part them before they fly so.
 */
export function layOut(
  run: PlanRun,
  flyer: Flyer,
  start_s: number,
  end_s: number,
  fired: readonly number[],
  segment: number,
): Segment {
  const { index, given, state } = run;
  const held = flyer.main ? heldBatches(run, flyer, start_s) : [];
  const full: Burn[] = [];
  /** Of those that a limit may throttle, their indices. */
  const limited: number[] = [];
  let area = 0;
  let areaRate = 0;
  for (const batch of flyer.batches) {
    const fraction = batch.transient.at(start_s);
    const rate = batch.transient.rateAfter_ps(start_s);
    if (fraction === 0 && rate === 0) continue;
    area += batch.engines * batch.engine.exitArea_m2 * fraction;
    areaRate += batch.engines * batch.engine.exitArea_m2 * rate;
    if (held.includes(batch)) limited.push(full.length);
    full.push(burnOf(batch, start_s, fraction, rate));
  }
  const arrangement = arrangementOf(run, flyer);
  const pushed = state.pushes.at(flyer.bodies, start_s);
  const totalOf = (burns: readonly Burn[]): Rates => {
    let thrust_N = 0;
    let thrustRate_Nps = 0;
    let flow_kgps = 0;
    let flowRate_kgps2 = 0;
    for (const burn of burns) {
      const felt = state.pushes.feltShare(burn.body, flyer.bodies);
      thrust_N += burn.thrust_N * felt;
      thrustRate_Nps += burn.thrustRate_Nps * felt;
      flow_kgps += burn.flow_kgps;
      flowRate_kgps2 += burn.flowRate_kgps2;
    }
    return {
      thrust_N: thrust_N + pushed.force_N,
      thrustRate_Nps: thrustRate_Nps + pushed.rate_Nps,
      flow_kgps: flow_kgps + pushed.flow_kgps,
      flowRate_kgps2,
    };
  };
  let burns: readonly Burn[] = full;
  let hold: HeldSpan | undefined;
  const inForce = flyer.main ? holdAction(run) : null;
  if (held.length > 0 && inForce?.limit.kind === 'sensedAcceleration') {
    const { body } = held[0]!;
    const limit = {
      event: state.holdEvent,
      limit_mps2: inForce.limit.acceleration_mps2,
      mode: given.history.modes[segment] ?? 'idle',
      saved_kg: state.saved_kg,
    };
    const own = flyer.batches.filter((batch) => batch.body === body && !held.includes(batch));
    const felt = state.pushes.feltShare(body, flyer.bodies);
    hold = heldSpan(limit, held, own, full, totalOf(full), felt, start_s, end_s);
    const mark = hold.mode === 'idle' ? undefined : given.history.marks[segment];
    if (mark !== undefined) {
      const span = hold;
      burns = full.map((burn, i) =>
        limited.includes(i) ? throttledBurn(burn, span, mark, end_s - start_s) : burn,
      );
    }
  }
  return {
    start_s,
    end_s,
    bodies: [...flyer.bodies],
    arrangement,
    ...totalOf(burns),
    exitArea_m2: area,
    exitAreaRate_m2ps: areaRate,
    mass_kg: flyer.bodies.reduce(
      (sum, b) => sum + index.bodies[b]!.dry_kg + state.propellant_kg[b]! - state.pushes.spent_kg[b]!,
      0,
    ),
    propellant_kg: [...state.propellant_kg],
    burns,
    ...(hold === undefined ? {} : { hold }),
    ...(inForce?.limit.kind !== 'dynamicPressure'
      ? {}
      : { steady: { event: state.holdEvent, level: given.history.levels[state.holdEvent] ?? 1 } }),
    lawEvent: flyer.main ? state.lawEvent : -1,
    held: flyer.main && Number.isNaN(state.release_s),
    fired,
    ...(state.kicks.length === 0 ? {} : { kicks: state.kicks }),
  };
}

function burnOf(batch: Batch, start_s: number, fraction: number, rate: number): Burn {
  const thrust_N = fullThrust_N(batch, start_s);
  const flow_kgps = fullFlow_kgps(batch, start_s);
  const rates = fullRates(batch, start_s);
  return {
    body: batch.body,
    group: batch.group,
    engines: batch.engines,
    thrust_N: thrust_N * fraction,
    thrustRate_Nps: thrust_N * rate + rates.thrust_Nps * fraction,
    flow_kgps: flow_kgps * fraction,
    flowRate_kgps2: flow_kgps * rate + rates.flow_kgps2 * fraction,
  };
}

/** The drag table of a flyer. Something that is waited for may yet part its bodies: the plan goes on, the flight would not. */
function arrangementOf(run: PlanRun, flyer: Flyer): number {
  const { study, bodies } = run.index;
  const ids = flyer.bodies.map((body) => bodies[body]!.id);
  const arrangement = findArrangement(study.vehicle.aerodynamics, ids);
  if (arrangement < 0 && !(flyer.main && isWaiting(run, flyer))) throw noDrag(ids);
  return arrangement;
}
