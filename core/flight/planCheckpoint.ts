/** Places from which a plan made under other givens can go on, since it comes past them just the same. */
import { AT_ONCE_s, dueTime_s } from './planClock.ts';
import type { PlanIndex } from './planIndex.ts';
import type { PlanGiven, PlanState } from './planState.ts';

/** Where a plan can go on: just before what happens at the start of a segment. */
export interface Checkpoint {
  readonly state: PlanState;
  readonly time_s: number;
  /** Number of segments before it, and whether one of them has no drag. */
  readonly segments: number;
  readonly bare: boolean;
  readonly given: PlanGiven;
}

/**
 * Whether a plan made under other givens comes past a checkpoint just as it stands, to the bit. Events count whose time is
 * given from without; what follows from them is in the state.
 */
export function comesPast(index: PlanIndex, from: Checkpoint, given: PlanGiven): boolean {
  const { state, time_s, given: before } = from;
  if (before === given) return true;
  const then = before.history;
  const now = given.history;
  if (then.loose && !now.loose) return false;
  if (from.bare && before.waits !== given.waits) return false;
  for (let i = 0; i < from.segments; i++) {
    if (then.modes[i] !== now.modes[i] || then.turns_s[i] !== now.turns_s[i]) return false;
    const mark = then.marks[i];
    const other = now.marks[i];
    if (mark === other) continue;
    if (mark === undefined || other === undefined) return false;
    if (mark.saved_kg !== other.saved_kg || mark.first !== other.first || mark.last !== other.last)
      return false;
  }
  const looked_s = Math.max(time_s + AT_ONCE_s, state.looked_s);
  const later = (due_s: number): boolean => Number.isNaN(due_s) || due_s > looked_s;
  for (let event = 0; event < index.events.length; event++) {
    const fired_s = state.fired_s[event]!;
    const { action } = index.events[event]!;
    if (action.kind === 'hold' && !Number.isNaN(fired_s) && then.levels[event] !== now.levels[event])
      return false;
    if (!isGivenAnew(index, event, before, given)) continue;
    const due_s = dueTime_s({ index, given, state }, event);
    if (!Number.isNaN(fired_s)) {
      if (due_s !== fired_s) return false;
      continue;
    }
    const dueBefore_s = dueTime_s({ index, given: before, state }, event);
    if (state.pushes.awaits(event) && !(Number.isNaN(due_s) && Number.isNaN(dueBefore_s))) return false;
    // The segment before may end here for its sake.
    if (state.reached?.event === event && due_s !== time_s) return false;
    if (state.reached?.event !== event && !later(due_s)) return false;
    if (!later(dueBefore_s)) return false;
    // A level that is searched for again might have been found earlier.
    if (index.levels[event] !== null && Number.isNaN(due_s)) return false;
  }
  return true;
}

/** Whether what is given of an event's time differs. */
function isGivenAnew(index: PlanIndex, event: number, one: PlanGiven, other: PlanGiven): boolean {
  const settled = one.history.happened_s[event] ?? Number.NaN;
  const now = other.history.happened_s[event] ?? Number.NaN;
  if (!Object.is(settled, now)) return true;
  const tie = index.ties[event] ?? null;
  if (!Number.isNaN(now) || tie === null || !(tie.offset_s < 0)) return false;
  return !Object.is(one.assumed_s[tie.root], other.assumed_s[tie.root]);
}
