/** Works out a flight's plan from the sequence: see `planTypes.ts` for what a plan is. */
import type { Study } from '../contract/study.ts';
import type { CompiledBody } from '../vehicle/structure.ts';
import type { Batch } from './commands.ts';
import { NO_HISTORY, type History } from './history.ts';
import { follow, type Followed, type Line, type Until } from './planner.ts';
import { PlanIndex } from './planIndex.ts';
import { comesPast } from './planCheckpoint.ts';
import { PlanState, type PlanGiven, type PlanRun } from './planState.ts';
import { PlanError, type Branch, type FlightPlan, type PlannedGap, type Segment } from './planTypes.ts';
import type { AirAtRelease } from './pushes.ts';
import { findUnknownRoots, settleLeads } from './schedule.ts';
import { isStateTrigger } from './stateTriggers.ts';

const NO_AIR: AirAtRelease = new Map();

/**
 * The plan of the study's flight: commands, flows, masses and partings against mission time (s); `air` is the drag (N) that
 * springs work against.
 * Throws PlanError when the sequence cannot be flown to an insertion: it names the path and the reason.
 */
export function planFlight(
  study: Study,
  bodies: readonly CompiledBody[],
  air: AirAtRelease = NO_AIR,
): FlightPlan {
  return new Planning(study, bodies, air).make(NO_HISTORY, dependsOnState(study));
}

/** Whether the study's plan depends on where the vehicle is: on a state trigger, or on a limit that is held. Unitless. */
export function dependsOnState(study: Study): boolean {
  return study.sequence.events.some(
    ({ trigger, action }) => isStateTrigger(trigger) || action.kind === 'hold',
  );
}

/**
 * Makes plans of one study, again and again as its flight finds what a plan cannot know. Each goes on from the last one,
 * from the first segment on which what is given anew has a part: the plan is to the bit what it would be from the start.
 */
export class Planning {
  /** Segments of the main flight that have been laid out so far, and plans made. */
  laidOut = 0;
  plans = 0;
  private index: PlanIndex;
  private readonly unknownRoots: readonly number[];
  private line: Line = { segments: [], checkpoints: [] };
  /** What each body protected when the last plan was made, kg. */
  private readonly protected_kg: Float64Array;

  /** What the bodies protect may change between plans; nothing else of them does. */
  constructor(
    private readonly study: Study,
    private readonly bodies: readonly CompiledBody[],
    private readonly air: AirAtRelease = NO_AIR,
  ) {
    this.index = new PlanIndex(study, bodies, air);
    this.unknownRoots = findUnknownRoots(study, this.index.ties);
    this.protected_kg = Float64Array.from(bodies, (body) => body.protected_kg);
  }

  /**
   * The plan of a flight that has come some way, by what it has found. The part that has been flown comes out as it was. With
   * `waits`, what is not in the history may still come about, a state trigger or a limit that is reached: what cannot be
   * planned without it then breaks the plan off instead of throwing. Without, it never does. Pieces set free are followed
   * where the history asks for them. While a limit throttles, nobody knows the masses beforehand: the plan then ends with
   * that segment until the history has its mark. After `most` segments it may stop, unless something that leads up to what
   * comes later needs more. Throws PlanError as `planFlight`. Mission time in s.
   */
  make(history: History, waits: boolean, most = Number.POSITIVE_INFINITY): FlightPlan {
    this.plans += 1;
    this.heedReserves();
    const { index } = this;
    const kept = copyOf(history);
    const assumed_s = index.events.map(() => Number.NaN);
    const known = this.unknownRoots.filter((root) => !Number.isNaN(history.assumed_s[root] ?? Number.NaN));
    for (const root of known) assumed_s[root] = history.assumed_s[root]!;
    const given = (): PlanGiven => ({ assumed_s: [...assumed_s], history: kept, waits });
    const timeOf = (root: number): number =>
      this.walk(given(), { event: root, segments: Infinity }).run.state.fired_s[root]!;
    settleLeads(index.events, { ties: index.ties, assumed_s }, timeOf, waits, known);
    const { run, main } = this.walk(given(), { event: -1, segments: most });
    const segments = [...this.line.segments];
    const branches = kept.pieces && main.open !== true ? followFreed(run, segments) : [];
    // A root not yet reached may still move.
    if (!waits && main.open !== true) checkLeads(run);
    return planOf(run, main, segments, branches);
  }

  /** Begins anew where a body protects another mass than when the last plan was made: cut-offs at reserves come at other levels. */
  private heedReserves(): void {
    const { bodies, protected_kg } = this;
    if (bodies.every((body, i) => body.protected_kg === protected_kg[i])) return;
    bodies.forEach((body, i) => (protected_kg[i] = body.protected_kg));
    this.index = new PlanIndex(this.study, bodies, this.air);
    this.line = { segments: [], checkpoints: [] };
  }

  /** Follows the main flight as far as wanted. */
  private walk(given: PlanGiven, until: Until): { readonly run: PlanRun; readonly main: Followed } {
    const { index, line } = this;
    const all = line.checkpoints!;
    let last = all.length - 1;
    while (last >= 0 && !comesPast(index, all[last]!, given)) last -= 1;
    const from = all[last];
    const segments = line.segments.slice(0, from?.segments ?? 0);
    this.line = { segments, checkpoints: all.slice(0, last + 1) };
    const run: PlanRun = { index, given, state: from?.state.copy() ?? PlanState.begin(index) };
    const { state } = run;
    const start_s = from?.time_s ?? index.firstTime_s();
    if (until.event >= 0 && !Number.isNaN(state.fired_s[until.event]!))
      return { run, main: { end_s: start_s, fired: [] } };
    const before = segments.length;
    try {
      return { run, main: follow(run, this.line, state.flyer, start_s, until) };
    } finally {
      this.laidOut += segments.length - before;
    }
  }
}

/** What a flight goes on to change is kept as it is. */
function copyOf(history: History): History {
  const { assumed_s, levels, happened_s, modes, turns_s, marks } = history;
  return {
    ...history,
    assumed_s: [...assumed_s],
    levels: [...levels],
    happened_s: [...happened_s],
    modes: [...modes],
    turns_s: [...turns_s],
    marks: [...marks],
  };
}

/** Follows the pieces that partings have set free. Those freed by pieces are appended while this runs. */
function followFreed(run: PlanRun, main: readonly Segment[]): Branch[] {
  const { index, state } = run;
  const branches: Branch[] = [];
  for (let i = 0; i < state.freed.length; i++) {
    const { flyer, fromBranch, fromSegment, time_s } = state.freed[i]!;
    state.branch = i;
    state.pushes.feelPlumes(
      flyer.bodies,
      [...main, ...branches.flatMap((branch) => branch.segments)],
      flyer.batches,
    );
    const bodies = [...flyer.bodies];
    const id = bodies.map((b) => index.bodies[b]!.id).join('+');
    const line: Line = { segments: [], checkpoints: null };
    let { segments } = line;
    try {
      follow(run, line, flyer, time_s, { event: -1, segments: Infinity });
    } catch (error) {
      // What is only planned for as long as no state trigger comes about may have pieces that never fly.
      if (!run.given.waits || !(error instanceof PlanError)) throw error;
      segments = [];
    }
    branches.push({ id, bodies, fromBranch, fromSegment, segments });
  }
  return branches;
}

/** A lead that reaches back before the sequence starts cannot be kept. */
function checkLeads({ index, given, state }: PlanRun): void {
  index.events.forEach((event, i) => {
    const tie = index.ties[i];
    if (tie === null || tie === undefined) return;
    // Whether what the flight assumes comes true is the flight's business.
    if (!Number.isNaN(given.history.assumed_s[tie.root] ?? Number.NaN)) return;
    const late_s = state.fired_s[i]! - state.fired_s[tie.root]! - tie.offset_s;
    if (late_s > 1e-6) {
      throw new PlanError(
        `sequence.events.${event.id}.trigger`,
        `comes ${(-tie.offset_s).toFixed(3)} s before "${index.events[tie.root]!.id}", which is ${late_s.toFixed(3)} s ` +
          'before anything starts; allowed is a shorter lead',
      );
    }
    if (late_s < -1e-6 || (Number.isNaN(late_s) && !Number.isNaN(state.fired_s[i]!) && tie.offset_s < 0)) {
      throw new PlanError(
        `sequence.events.${event.id}.trigger`,
        `leads up to "${index.events[tie.root]!.id}", whose time changed after it had come about`,
      );
    }
  });
}

function planOf(
  { index, state }: PlanRun,
  main: Followed,
  segments: Segment[],
  branches: Branch[],
): FlightPlan {
  const released = segments.find((segment) => !segment.held);
  if (released === undefined) {
    if (main.brokenOff !== undefined) throw new PlanError(main.brokenOff.path, main.brokenOff.reason);
    throw new PlanError(
      'sequence.events',
      'no event releases the vehicle; one must have the action "release"',
    );
  }
  const open = main.open === true;
  return {
    segments,
    branches,
    eventTimes_s: state.fired_s.map((time, i) => (state.isVoid[i]! ? Number.NaN : time)),
    dueTimes_s: state.fired_s,
    open,
    brokenOff: main.brokenOff ?? null,
    gaps: open ? [] : gapsOf(index, state),
    release_s: state.release_s,
    insertion_s: main.end_s,
    firedAtEnd: main.fired,
    pushes: state.pushes.pushes,
    liftoffMass_kg: released.mass_kg,
  };
}

function gapsOf(index: PlanIndex, { fired_s, commanded }: PlanState): PlannedGap[] {
  const half = (batches: readonly Batch[], rising: boolean): number =>
    batches.length === 0 ? Number.NaN : Math.max(...batches.map((b) => b.transient.halfTime_s(rising)));
  return index.events.flatMap(({ trigger }, event) => {
    if (trigger.kind !== 'gap' || Number.isNaN(fired_s[event]!)) return [];
    const cutoff = index.eventIndex(trigger.cutoff);
    return [
      {
        event,
        command_s: fired_s[event]! - fired_s[cutoff]!,
        effective_s: half(commanded[event]!, true) - half(commanded[cutoff]!, false),
      },
    ];
  });
}
