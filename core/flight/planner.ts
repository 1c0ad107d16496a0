/** Goes through a sequence, flyer by flyer and segment by segment. */
import { burned_kg } from './commands.ts';
import { carryOut, heldBatches } from './planActions.ts';
import { concerns, dryBefore_s, dueTime_s, isWaiting, levelReached, nextTime_s } from './planClock.ts';
import { layOut } from './planSegment.ts';
import type { Checkpoint } from './planCheckpoint.ts';
import type { Flyer, PlanRun } from './planState.ts';
import { PlanError, type BreakOff, type Segment } from './planTypes.ts';

/** How long a freed piece is followed when nothing more happens to it, s; it has come down long before. */
const BRANCH_LIMIT_s = 7200;
/** Most segments of one flight; beyond this the sequence goes round in circles. */
const MOST_SEGMENTS = 1000;

/** Where a flyer has been followed to; mission time in s. */
export interface Followed {
  readonly end_s: number;
  /** Events that fired at the end, with no segment after them. */
  readonly fired: readonly number[];
  readonly brokenOff?: BreakOff;
  /** It was not to be followed further. */
  readonly open?: boolean;
}

/** How far to follow a flyer: until an event (index, −1 for none) has come about, or so many segments are laid out. */
export interface Until {
  readonly event: number;
  readonly segments: number;
}

/** The segments of a flyer as they are laid out, and where to go on from; checkpoints are kept of the main flight alone. */
export interface Line {
  readonly segments: Segment[];
  readonly checkpoints: Checkpoint[] | null;
}

/**
 * Runs one flyer from mission time `start_s` (s) to its end, or as far as wanted. What
 * waits for something that only the flight can find breaks off where it cannot go on without. Throws PlanError.
 */
export function follow(run: PlanRun, line: Line, flyer: Flyer, start_s: number, until: Until): Followed {
  try {
    return followInto(run, line, flyer, start_s, until);
  } catch (error) {
    if (!(error instanceof PlanError) || !flyer.main || !isWaiting(run, flyer)) throw error;
    return { end_s: line.segments.at(-1)?.end_s ?? start_s, fired: [], brokenOff: error };
  }
}

function followInto(run: PlanRun, line: Line, flyer: Flyer, start_s: number, until: Until): Followed {
  const { index, given, state } = run;
  const { history } = given;
  const { segments } = line;
  const last = index.finalCutoff;
  let t = start_s;
  const add = (end_s: number, fired: readonly number[]): void => {
    segments.push(layOut(run, flyer, t, end_s, fired, segments.length));
  };
  for (;;) {
    keep(run, line, t);
    if (segments.length >= until.segments) return { end_s: t, fired: [], open: true };
    const fired = fireDue(run, flyer, t, segments.length);
    state.pushes.schedule(flyer.bodies, t, (event) => dueTime_s(run, event));
    if (until.event >= 0 && !Number.isNaN(state.fired_s[until.event]!)) return { end_s: t, fired };
    const quiet = flyer.batches.every((b) => b.transient.nextBreak_s(t) === Infinity && !b.transient.lit);
    if (flyer.main && quiet && !Number.isNaN(state.fired_s[last]!)) return { end_s: t, fired };
    const held = flyer.main ? heldBatches(run, flyer, t) : [];
    const mode = held.length === 0 ? 'idle' : (history.modes[segments.length] ?? 'idle');
    // A segment is laid out as commanded; what a limit makes of it comes in by its mark.
    for (const batch of held) batch.held = 1;
    let next = nextTime_s(run, flyer, t, mode === 'idle' ? -1 : held[0]!.body);
    if (flyer.main) next = Math.min(next, history.turns_s[segments.length] ?? Infinity);
    const mark = mode === 'idle' ? undefined : history.marks[segments.length];
    if (mode !== 'idle' && mark === undefined) {
      const end_s = next === Infinity ? t + BRANCH_LIMIT_s : next;
      add(end_s, fired);
      return { end_s, fired: [], brokenOff: breakOff(t, 'a limit begins to throttle') };
    }
    if (flyer.main && mode === 'idle' && isWaiting(run, flyer)) {
      const dry = dryBefore_s(run, flyer, t, next);
      const end_s = dry === Infinity ? t + BRANCH_LIMIT_s : dry;
      if (next === Infinity || end_s < next) {
        if (end_s > t) add(end_s, fired);
        const why =
          dry === Infinity
            ? 'nothing more happens, and nothing that was waited for has come about'
            : 'propellant runs dry before the trigger of a cut has come about';
        return { end_s, fired: [], brokenOff: breakOff(end_s, why) };
      }
    }
    if (next === Infinity) {
      if (flyer.main && until.event >= 0) return { end_s: t, fired };
      if (flyer.main) throw neverEnds(run, t);
      next = t + BRANCH_LIMIT_s;
      add(next, fired);
      return { end_s: next, fired: [] };
    }
    add(next, fired);
    if (segments.length > MOST_SEGMENTS) {
      throw new PlanError(
        'sequence.events',
        `more than ${MOST_SEGMENTS} spans between events; is one re-triggering?`,
      );
    }
    burn(run, flyer, t, next, mark === undefined ? -1 : held[0]!.body, mark?.saved_kg ?? 0);
    if (mark !== undefined) for (const batch of held) batch.held = mark.last;
    t = next;
  }
}

function breakOff(time_s: number, why: string): BreakOff {
  return { path: 'sequence.events', reason: `at ${time_s.toFixed(1)} s ${why}` };
}

function keep({ state, given }: PlanRun, { segments, checkpoints }: Line, time_s: number): void {
  if (checkpoints === null) return;
  const before = checkpoints.at(-1);
  if (before?.segments === segments.length) return;
  const bare = before?.bare === true || (segments.at(-1)?.arrangement ?? 0) < 0;
  checkpoints.push({ state: state.copy(), time_s, segments: segments.length, bare, given });
}

/** Takes what burns from t to next off the tanks; a limit on the engines of a body has saved so much of it. */
function burn(
  { index, given, state }: PlanRun,
  flyer: Flyer,
  t: number,
  next: number,
  savedOn: number,
  saved_kg: number,
): void {
  for (const body of flyer.bodies) {
    let left_kg = state.propellant_kg[body]! - burned_kg(flyer.batches, body, t, next);
    if (body === savedOn) left_kg += saved_kg;
    state.propellant_kg[body] = left_kg;
    // What is residual never burns.
    const { id, data } = index.bodies[body]!;
    const short_kg = (data.propellant?.residual_kg ?? 0) - left_kg;
    if (short_kg > 1e-6 && !given.history.loose) {
      throw new PlanError(
        `vehicle.bodies.${id}.propellant`,
        `runs dry before ${next.toFixed(1)} s; a cut with a "propellant" trigger on "${id}" must come earlier`,
      );
    }
  }
  state.pushes.spend(flyer.bodies, t, next);
  if (savedOn >= 0) state.saved_kg += saved_kg;
}

/** Fires all that is due at t, in list order, until nothing more is. */
function fireDue(run: PlanRun, flyer: Flyer, t: number, segment: number): number[] {
  const { index, state } = run;
  const fired: number[] = [];
  state.lawEvent = -1;
  state.kicks = segment === 0 ? (flyer.kicks ?? []) : [];
  for (let i = 0; i < index.events.length; i++) {
    if (!Number.isNaN(state.fired_s[i]!) || !concerns(run, flyer, i)) continue;
    if (t < state.held_s && index.events[i]!.action.kind === 'steer') continue;
    if (!(dueTime_s(run, i) <= t) && !levelReached(run, flyer, i, t)) continue;
    state.fired_s[i] = t;
    state.isVoid[i] = !carryOut(run, flyer, i, t, segment);
    if (!state.isVoid[i]) fired.push(i);
    i = -1;
  }
  return fired;
}

function neverEnds({ index }: PlanRun, t: number): PlanError {
  return new PlanError(
    'sequence.finalCutoff',
    `"${index.study.sequence.finalCutoff}" never comes about: after ${t.toFixed(1)} s no event is due and no ` +
      'propellant burns; check its trigger and what it waits for',
  );
}
