/**
 * Events that come before something found by the flight: a lead, or a negative gap. Each is tied to a root event and
 * an offset; the root's time is assumed, the plan run, and the assumption corrected until both agree. Flow depends on
 * time alone here, so this costs no flight and is exact.
 */
import type { SequenceEvent } from '../contract/sequence.ts';
import type { Study } from '../contract/study.ts';
import { findRoot } from '../math/roots.ts';
import { PlanError } from './planTypes.ts';
import { isStateTrigger } from './stateTriggers.ts';

/** An event tied by a fixed offset (s, negative is earlier) to a root event. */
export interface Tie {
  readonly root: number;
  readonly offset_s: number;
}

export interface Schedule {
  /** One entry an event; null when its trigger stands for itself. */
  readonly ties: readonly (Tie | null)[];
  /** Assumed mission time of each root that has leads, s; NaN when not yet assumed. */
  readonly assumed_s: number[];
}

/** Ties every `before` and `gap` event to its root. Offsets in seconds. Throws PlanError on a circle. */
export function tieEvents(events: readonly SequenceEvent[]): (Tie | null)[] {
  const indexOf = (id: string, path: string): number => {
    const index = events.findIndex((event) => event.id === id);
    if (index < 0)
      throw new PlanError(path, `received "${id}", allowed is the id of an event of this sequence`);
    return index;
  };
  const follow = (index: number, depth: number): Tie => {
    const event = events[index]!;
    const path = `sequence.events.${event.id}.trigger`;
    if (depth > events.length) throw new PlanError(path, 'the triggers go round in a circle');
    const { trigger } = event;
    if (trigger.kind === 'before') {
      const base = follow(indexOf(trigger.event, `${path}.event`), depth + 1);
      return { root: base.root, offset_s: base.offset_s - trigger.lead_s };
    }
    if (trigger.kind === 'gap') {
      const base = follow(indexOf(trigger.cutoff, `${path}.cutoff`), depth + 1);
      return { root: base.root, offset_s: base.offset_s + trigger.gap_s };
    }
    if (trigger.kind === 'after' && trigger.events.length === 1) {
      const base = follow(indexOf(trigger.events[0]!, `${path}.events`), depth + 1);
      return { root: base.root, offset_s: base.offset_s + trigger.delay_s };
    }
    return { root: index, offset_s: 0 };
  };
  return events.map((event, index) =>
    event.trigger.kind === 'before' || event.trigger.kind === 'gap' ? follow(index, 0) : null,
  );
}

/**
 * Roots with leads whose time only a flight can find (event indices): state triggers, propellant levels of a body whose
 * engines a limit on acceleration throttles, and what waits for those. Leads before these cannot be settled by planning.
 */
export function findUnknownRoots(study: Study, ties: readonly (Tie | null)[]): number[] {
  const { events } = study.sequence;
  const limited = events.flatMap(({ action }) =>
    action.kind === 'hold' && action.limit.kind === 'sensedAcceleration' ? [action.body] : [],
  );
  const isUnknown = (index: number, depth: number): boolean => {
    const { trigger } = events[index]!;
    if (isStateTrigger(trigger)) return true;
    if (trigger.kind === 'propellant') return limited.includes(trigger.body);
    if (trigger.kind !== 'after' || depth > events.length) return false;
    return trigger.events.some((id) =>
      isUnknown(
        events.findIndex((event) => event.id === id),
        depth + 1,
      ),
    );
  };
  const roots = ties.flatMap((tie) => (tie !== null && tie.offset_s < 0 ? [tie.root] : []));
  return [...new Set(roots)].filter((root) => isUnknown(root, 0)).sort((p, q) => p - q);
}

/** Mission time at which a tied event is due, s, its root's time assumed or come about; NaN while unknown. */
export function tiedTime_s(tie: Tie, assumed_s: readonly number[], fired_s: readonly number[]): number {
  return (tie.offset_s < 0 ? assumed_s[tie.root]! : fired_s[tie.root]!) + tie.offset_s;
}

/** How often all roots are gone through before leads that depend on each other are given up. */
const MOST_ROUNDS = 20;
/** An assumed time agrees with the plan's to this, s. */
const AGREED_s = 1e-10;

/**
 * Finds the times of all roots that have leads, in place. `timeOf(root)` runs the plan with the times assumed so far
 * and returns when the root comes about (s, NaN when it does not). Agreement to 1e-10 s. One root's leads may decide
 * whether and when another comes about, so the roots are gone through until none moves any more.
 * Throws PlanError when no time agrees, or a root never comes about unless it `mayBeAbsent`; its leads then are not due.
 * Roots among `assumed` keep the time assumed.
 */
export function settleLeads(
  events: readonly SequenceEvent[],
  schedule: Schedule,
  timeOf: (root: number) => number,
  mayBeAbsent = false,
  assumed: readonly number[] = [],
): void {
  const longest = new Map<number, number>();
  for (const tie of schedule.ties) {
    if (tie !== null && tie.offset_s < 0 && !assumed.includes(tie.root)) {
      longest.set(tie.root, Math.max(longest.get(tie.root) ?? 0, -tie.offset_s));
    }
  }
  const fail = (root: number, why: string): PlanError =>
    new PlanError(`sequence.events.${events[root]!.id}`, `its leads cannot be scheduled: ${why}`);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    let moved = false;
    let absent = -1;
    for (const [root, lead_s] of longest) {
      const assumed = schedule.assumed_s[root]!;
      const comes = timeOf(root);
      if (Number.isNaN(comes)) absent = root;
      else if (!(Math.abs(comes - assumed) < AGREED_s)) {
        moved = true;
        settleOne(schedule, root, lead_s, comes, timeOf, (why) => fail(root, why));
      }
    }
    if (!moved && absent >= 0 && !mayBeAbsent) throw fail(absent, 'it never comes about');
    if (!moved || (longest.size === 1 && absent < 0)) return;
  }
  throw fail([...longest.keys()][0]!, 'they depend on other leads in a circle');
}

/** Finds the time of one root, the assumptions about the others standing; starts from a time near it (s). */
function settleOne(
  schedule: Schedule,
  root: number,
  lead_s: number,
  near_s: number,
  timeOf: (root: number) => number,
  fail: (why: string) => PlanError,
): void {
  const miss = (assumed: number): number => {
    schedule.assumed_s[root] = assumed;
    return timeOf(root) - assumed;
  };
  const first = miss(near_s);
  if (Math.abs(first) < AGREED_s) return;
  // Later assumptions make leads later, so the miss falls as the assumption rises; walk until it changes sign.
  const direction = Math.sign(first);
  let reach = lead_s;
  let far = near_s + direction * reach;
  let missFar = miss(far);
  for (let i = 0; i < 40 && missFar * first > 0; i++) {
    reach *= 2;
    far = near_s + direction * reach;
    missFar = miss(far);
  }
  if (!(missFar * first <= 0)) throw fail('no cut-off time agrees with them');
  miss(findRoot(miss, near_s, far, 1e-11, first, missFar));
}
