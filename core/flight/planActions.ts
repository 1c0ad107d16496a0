/** Carries out the actions of a plan's events. */
import { splitAtLink } from '../vehicle/structure.ts';
import { cut, light, shift, throttle, type Batch } from './commands.ts';
import { limitedBatches } from './holdPlan.ts';
import type { Flyer, PlanRun } from './planState.ts';
import { PlanError } from './planTypes.ts';
import { lawBreaksAfter_s } from './steering/lawBreak.ts';
import { otherSide } from './spin.ts';
import type { Action } from '../contract/sequence.ts';

type HoldAction = Extract<Action, { kind: 'hold' }>;
type EngineAction = Extract<Action, { kind: 'light' | 'cut' | 'throttle' }>;

/**
 * Carries out an event's action at mission time t, s, the start of a segment (index); false when there was nothing for it to
 * act on. Throws PlanError for what cannot be done.
 */
export function carryOut(run: PlanRun, flyer: Flyer, event: number, t: number, segment: number): boolean {
  const { index, state } = run;
  const { action, id } = index.events[event]!;
  switch (action.kind) {
    case 'release':
      state.release_s = t;
      return true;
    case 'steer':
      state.lawEvent = event;
      state.lawBreaks_s = lawBreaksAfter_s(action.law).map((after_s) => t + after_s);
      return true;
    case 'endHold':
      if (state.holdEvent < 0 || state.holdEvent !== index.eventIndex(action.hold)) return false;
      endHold(run, flyer);
      return true;
    case 'part':
      return part(run, flyer, event, t, segment);
    case 'hold':
      return hold(run, flyer, event, action);
    case 'shift': {
      const body = index.bodyOf[event]!;
      if (!flyer.bodies.includes(body)) return false;
      // Also what is lit later burns so.
      const { thrustVacuum_N, ispVacuum_s } = action;
      const engine = index.bodies[body]!.data.engineGroups[action.group]!;
      state.shifted.set(`${body} ${action.group}`, { ...engine, thrustVacuum_N, ispVacuum_s });
      if (shift(flyer.batches, { ...action, body }, t) === null) {
        throw new PlanError(
          `sequence.events.${id}.action.over_s`,
          `received ${action.over_s ?? 0} while "${action.group}" still starts up, allowed is a change at once, or later`,
        );
      }
      return true;
    }
    default:
      return command(run, flyer, event, action, t);
  }
}

function command(run: PlanRun, flyer: Flyer, event: number, action: EngineAction, t: number): boolean {
  const { index, state } = run;
  const body = index.bodyOf[event]!;
  if (!flyer.bodies.includes(body)) return false;
  const done =
    action.kind === 'light'
      ? light(
          flyer.batches,
          index.bodies,
          { ...action, body, engines: action.engines },
          t,
          state.shifted.get(`${body} ${action.group}`),
        )
      : action.kind === 'cut'
        ? cut(flyer.batches, { ...action, body, group: action.group }, t)
        : throttle(flyer.batches, { ...action, body }, t);
  if (done === null) {
    throw new PlanError(
      `sequence.events.${index.events[event]!.id}.action`,
      `changes the throttle of engines of "${action.body}" slowly while they still start up, allowed is a change at ` +
        'once, or later',
    );
  }
  state.commanded[event] = done;
  return done.length > 0;
}

function hold(run: PlanRun, flyer: Flyer, event: number, action: HoldAction): boolean {
  const { index, state, given } = run;
  const body = index.bodyOf[event]!;
  if (!flyer.bodies.includes(body)) return false;
  endHold(run, flyer);
  state.holdEvent = event;
  if (action.limit.kind === 'dynamicPressure') {
    const level = given.history.levels[event] ?? 1;
    for (const batch of flyer.batches) {
      if (batch.body !== body || !batch.transient.lit) continue;
      if (action.groups?.includes(batch.group) === false) continue;
      batch.held = Math.max(level, Math.min(1, batch.engine.throttle.least / batch.throttle));
    }
  }
  return true;
}

/** Ends the hold in force: what burns goes back to its commanded throttle, what is tailing off keeps its own. */
function endHold({ state }: PlanRun, flyer: Flyer): void {
  state.holdEvent = -1;
  for (const batch of flyer.batches) if (batch.transient.lit) batch.held = 1;
}

function part({ index, state }: PlanRun, flyer: Flyer, event: number, t: number, segment: number): boolean {
  const link = index.bodyOf[event]!;
  if (!flyer.bodies.includes(link)) return false;
  if (flyer.main && Number.isNaN(state.release_s)) {
    throw new PlanError(
      `sequence.events.${index.events[event]!.id}`,
      'parts the vehicle while it stands on the pad; release it first',
    );
  }
  const { above, below } = splitAtLink(index.bodies, flyer.bodies, link);
  const stays = flyer.main ? (above.includes(index.payloadBody) ? above : below) : below;
  const goes = stays === above ? below : above;
  const batches = flyer.batches.filter((batch) => goes.includes(batch.body));
  if (flyer.main) state.held_s = t + state.pushes.hold_s(link);
  const kick = state.pushes.release(link, { above, below }, flyer.batches, state.propellant_kg, t);
  let freedKicks = segment === 0 ? [] : state.kicks;
  if (kick !== null) {
    if (flyer.main && t === state.release_s) {
      throw new PlanError(
        `sequence.events.${index.events[event]!.id}`,
        'parts a turning stack at the instant at which the vehicle is let go from the pad; allowed is any later time',
      );
    }
    const mine = stays === above ? kick : otherSide(kick);
    state.kicks = [...state.kicks, mine];
    freedKicks = [...freedKicks, otherSide(mine)];
  }
  flyer.batches = flyer.batches.filter((batch) => stays.includes(batch.body));
  flyer.bodies = stays;
  if (flyer.main && state.holdEvent >= 0 && goes.includes(index.bodyOf[state.holdEvent]!))
    state.holdEvent = -1;
  state.freed.push({
    flyer: {
      bodies: goes,
      batches,
      main: false,
      ...(freedKicks.length === 0 ? {} : { kicks: freedKicks }),
    },
    fromBranch: state.branch,
    fromSegment: segment,
    time_s: t,
  });
  return true;
}

/** The hold in force, null when there is none. */
export function holdAction({ index, state }: PlanRun): HoldAction | null {
  const action = index.events[state.holdEvent]?.action;
  return action?.kind === 'hold' ? action : null;
}

/** Engines that the limit in force throttles when it must, at mission time t, s: all of one body that burn fully. */
export function heldBatches(run: PlanRun, flyer: Flyer, t: number): Batch[] {
  const action = holdAction(run);
  if (action?.limit.kind !== 'sensedAcceleration' || Number.isNaN(run.state.release_s)) return [];
  return limitedBatches(flyer.batches, run.index.bodyOf[run.state.holdEvent]!, action.groups, t);
}
