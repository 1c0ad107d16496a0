/** What happens next in a plan, and when: by the clock, by propellant, by engines that come up or go down. */
import { findRoot } from '../math/roots.ts';
import { burned_kg, fullFlow_kgps, nextBreak_s, tailOff_kg, type Batch } from './commands.ts';
import type { Flyer, PlanRun } from './planState.ts';
import { tiedTime_s } from './schedule.ts';

/** Whether the flight has settled an event's time. */
function isSettled({ given }: PlanRun, event: number): boolean {
  return !Number.isNaN(given.history.happened_s[event] ?? Number.NaN);
}

/** Mission time at which an event is due by the clock, s; NaN when not known yet or not by the clock. */
export function dueTime_s(run: PlanRun, event: number): number {
  const { index, given, state } = run;
  if (isSettled(run, event)) return given.history.happened_s[event]!;
  const tie = index.ties[event] ?? null;
  if (tie !== null) return tiedTime_s(tie, given.assumed_s, state.fired_s);
  const { trigger } = index.events[event]!;
  if (trigger.kind === 'time') return trigger.time_s;
  if (trigger.kind !== 'after') return Number.NaN;
  let last_s = -Infinity;
  for (const other of index.afterOf[event]!) last_s = Math.max(last_s, state.fired_s[other]!);
  return last_s + trigger.delay_s;
}

/** Whether an event is for this flyer: freed pieces keep the commands to their own bodies. Unitless. */
export function concerns({ index, state }: PlanRun, flyer: Flyer, event: number): boolean {
  const body = index.bodyOf[event]!;
  if (body < 0) return flyer.main;
  if (!flyer.main && index.events[event]!.action.kind === 'hold') return false;
  if (flyer.bodies.includes(body)) return true;
  return flyer.main && !state.freed.some((freed) => freed.flyer.bodies.includes(body));
}

/** Whether the propellant of this flyer has come down to an event's level at mission time t, s. */
export function levelReached(run: PlanRun, flyer: Flyer, event: number, t: number): boolean {
  const { reached } = run.state;
  if (reached !== null && reached.event === event && reached.time_s === t) return true;
  const level = excess_kg(run, flyer, event);
  return level !== null && level(t) <= 0;
}

/** For a propellant event of this flyer: what is left at t' less tail-off less the level, as a function of t'. */
function excess_kg(
  run: PlanRun,
  flyer: Flyer,
  event: number,
  from_s?: number,
): ((t: number) => number) | null {
  const level = run.index.levels[event] ?? null;
  if (level === null || isSettled(run, event)) return null;
  const { body, mass_kg } = level;
  if (!flyer.bodies.includes(body)) return null;
  const left = run.state.propellant_kg[body]!;
  return (t) =>
    left -
    (from_s === undefined ? 0 : burned_kg(flyer.batches, body, from_s, t)) -
    tailOff_kg(flyer.batches, body, t) -
    mass_kg;
}

/** What falls due within this of each other, s, comes at once: two sums for the same time differ by rounding, which must not make a span. */
export const AT_ONCE_s = 1e-9;

/**
 * When something next happens to a flyer after mission time t, by the clock or by propellant, s; not by that of the body
 * `throttled`, if any. Notes in the state which level is reached then.
 */
export function nextTime_s(run: PlanRun, flyer: Flyer, t: number, throttled: number): number {
  const { index, state } = run;
  const { events } = index;
  let next = clockTime_s(run, flyer, t);
  state.reached = null;
  for (let i = 0; i < events.length; i++) {
    const level = index.levels[i] ?? null;
    if (level === null || !Number.isNaN(state.fired_s[i]!)) continue;
    const excess = excess_kg(run, flyer, i, t);
    if (excess === null || !(excess(t) > 0)) continue;
    const { body } = level;
    if (body === throttled) continue;
    // Far enough to burn all that is left; flows only change at `next`.
    const flow = leastFlow_kgps(flyer.batches, body, t);
    const horizon = Math.min(next, flow > 0 ? t + state.propellant_kg[body]! / flow + 1 : next);
    if (horizon === Infinity || !(excess(horizon) <= 0)) continue;
    state.looked_s = Math.max(state.looked_s, horizon);
    const time_s = findRoot(excess, t, horizon, 1e-12);
    if (time_s < next) {
      next = time_s;
      state.reached = { event: i, time_s };
    } else if (time_s === next && state.reached === null) {
      state.reached = { event: i, time_s };
    }
  }
  // A cut comes just when its level is reached.
  if (state.reached !== null) return next;
  const after = clockTime_s(run, flyer, next);
  return after - next < AT_ONCE_s ? after : next;
}

/** The first mission time after t, s, at which something is due to a flyer by the clock; +Infinity when nothing is. */
function clockTime_s(run: PlanRun, flyer: Flyer, t: number): number {
  const { index, state } = run;
  let next = Infinity;
  for (let i = 0; i < index.events.length; i++) {
    if (!Number.isNaN(state.fired_s[i]!) || !concerns(run, flyer, i)) continue;
    const due = dueTime_s(run, i);
    if (due > t && due < next) next = due;
  }
  for (const batch of flyer.batches) next = Math.min(next, nextBreak_s(batch, t));
  if (flyer.main) for (const at of state.lawBreaks_s) if (at > t) next = Math.min(next, at);
  if (flyer.main && state.held_s > t) next = Math.min(next, state.held_s);
  return Math.min(next, state.pushes.nextBreak_s(flyer.bodies, t));
}

/** When the first body has burned all but its residual, engines as commanded now, if before `next`; else `next`. s */
export function dryBefore_s({ index, state }: PlanRun, flyer: Flyer, t: number, next: number): number {
  let dry = next;
  for (const body of flyer.bodies) {
    const left = state.propellant_kg[body]! - (index.bodies[body]!.data.propellant?.residual_kg ?? 0);
    const flow = leastFlow_kgps(flyer.batches, body, t);
    const far = Math.min(dry, flow > 0 ? t + Math.max(0, left) / flow + 1 : dry);
    if (far === Infinity) continue;
    const rest = (at: number): number => left - burned_kg(flyer.batches, body, t, at);
    // A cut that comes just then is no running dry.
    if (rest(far) < -1e-6) dry = left <= 0 ? t : findRoot(rest, t, far, 1e-12);
  }
  return dry;
}

/** Whether a state trigger may still come about on the main flight, or a limit be reached. Unitless. */
export function isWaiting(run: PlanRun, flyer: Flyer): boolean {
  const { index, given, state } = run;
  if (!given.waits) return false;
  return (
    state.holdEvent >= 0 ||
    index.waited.some((event) => Number.isNaN(state.fired_s[event]!) && concerns(run, flyer, event))
  );
}

/** Least flow of a body's engines between t_s and the next break, as commanded now, kg/s: it may be shifted until then. */
function leastFlow_kgps(batches: readonly Batch[], body: number, t_s: number): number {
  let sum = 0;
  for (const batch of batches) {
    if (batch.body !== body) continue;
    const flow = Math.min(fullFlow_kgps(batch, t_s), fullFlow_kgps(batch, nextBreak_s(batch, t_s)));
    sum += flow * batch.transient.at(t_s);
  }
  return sum;
}
