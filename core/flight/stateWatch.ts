/**
 * Waits for what a flight must find: state triggers, and limits that are reached. Plans the flight on from each. What has
 * been flown stands: the times of what the plan had found (propellant levels, leads) are settled as the flight passes them.
 */
import type { Monitor } from '../ode/driver.ts';
import { passes } from '../ode/events.ts';
import type { CompiledStudy } from './compile.ts';
import type { HoldMark } from './history.ts';
import { HoldWatch } from './holdWatch.ts';
import type { Motion } from './motion.ts';
import { PeakWatch } from './peakWatch.ts';
import { Planning } from './plan.ts';
import { PlanError, type FlightPlan, type HoldMode, type Segment } from './planTypes.ts';
import type { CompiledBody } from '../vehicle/structure.ts';
import { tieEvents } from './schedule.ts';
import { isStateTrigger, watch } from './stateTriggers.ts';

/**
 * Segments to plan from the one in hand on: that which comes next tells what happens at the end of this one. More would be
 * planned again as soon as something is found.
 */
export const AHEAD = 2;

/** What a monitor that has fired stands for; `none` is the engine's own. */
export type Found =
  | { readonly kind: 'none' }
  | { readonly kind: 'event'; readonly event: number }
  | { readonly kind: 'turn'; readonly to: HoldMode }
  | { readonly kind: 'peak'; readonly monitor: number }
  | { readonly kind: 'dry'; readonly body: number };

/** What ended a segment: a monitor, of an event (index) or of a turn of the limit (−1). */
export interface SegmentEnd {
  readonly monitor: Monitor;
  readonly event: number;
}

/** The waiting of one flying engine; times in s of mission time, events by index. See the top of the file. */
export class StateWatch {
  /** Of the segment in hand: the engine's own monitor first. */
  monitors: Monitor[] = [];
  private finds: Found[] = [];
  private readonly own: readonly (Monitor | null)[];
  /** Of propellant events: the level's monitor for when a limit throttles, and the body. */
  private readonly levels: readonly (Monitor | null)[];
  private readonly hold: HoldWatch;
  private readonly peak: PeakWatch;
  private readonly assumed_s: number[];
  private readonly throttles_: number[];
  /** Body that must still fly along for the event to act; −1 when it needs none. */
  private readonly acted: readonly number[];
  /** Whether the plan finds the event's time by a search, so that it must be settled once it is past. */
  private readonly searched: readonly boolean[];
  private readonly happened_s: number[];
  private readonly before: number[];
  private waiting: number[] = [];
  private modes: (HoldMode | undefined)[] = [];
  private turns_s: (number | undefined)[] = [];
  private marks: (HoldMark | undefined)[] = [];
  /** Of each segment: what ended it, when that was no clock. */
  private ends: (SegmentEnd | undefined)[] = [];
  /** Events that came about by a jump where a segment starts; the flight does not depend smoothly on them. */
  private jumps: number[] = [];
  private shifted: { happened_s: number[]; turns_s: (number | undefined)[]; marks: (HoldMark | undefined)[] };
  private known_s: readonly number[] = [];
  /** Of flights, and of flights over held steps. */
  private readonly planning: Planning;
  private readonly shifting: Planning;

  constructor(
    private readonly compiled: CompiledStudy,
    /** What they protect may change from flight to flight. */
    bodies: readonly CompiledBody[],
    motion: Motion,
    private readonly ground: Monitor,
  ) {
    const { events } = compiled.study.sequence;
    const ties = tieEvents(events);
    this.planning = new Planning(compiled.study, bodies, compiled.air);
    this.shifting = new Planning(compiled.study, bodies, compiled.air);
    this.hold = new HoldWatch(motion, (body) => bodies[body]!.data.propellant?.residual_kg ?? 0);
    this.peak = new PeakWatch(motion, compiled.setting);
    this.assumed_s = events.map(() => Number.NaN);
    this.throttles_ = events.map(() => 1);
    this.own = events.map(({ trigger }) => (isStateTrigger(trigger) ? watch(trigger, motion) : null));
    this.levels = events.map(({ trigger }) => {
      if (!compiled.holds || trigger.kind !== 'propellant') return null;
      const { left } = trigger;
      const body = bodies.find(({ id }) => id === trigger.body)!;
      return this.hold.level(() => (left === 'reserves' ? body.protected_kg : left.mass_kg));
    });
    this.acted = events.map(({ action }) => {
      if (action.kind === 'release' || action.kind === 'steer' || action.kind === 'endHold') return -1;
      const id = action.kind === 'part' ? action.link : action.body;
      return bodies.findIndex((body) => body.id === id);
    });
    this.searched = events.map(
      ({ trigger }, i) => trigger.kind === 'propellant' || (ties[i]?.offset_s ?? 0) < 0,
    );
    this.happened_s = events.map(() => Number.NaN);
    this.before = events.map(() => Number.NaN);
    this.shifted = { happened_s: [], turns_s: [], marks: [] };
  }

  /** Forgets the last flight; the times (s) of some events, by index, are known beforehand, NaN for the rest. */
  reset(known_s: readonly number[]): void {
    this.known_s = known_s;
    known_s.forEach((time, event) => (this.happened_s[event] = time));
    this.before.fill(Number.NaN);
    this.modes = [];
    this.turns_s = [];
    this.marks = [];
    this.ends = [];
    this.jumps = [];
    this.peak.reset();
  }

  /** Takes values of the study's unknowns (s, shares of throttle). */
  assume(values: Float64Array): void {
    this.compiled.unknowns.forEach(({ kind, event }, i) => {
      if (kind === 'time') this.assumed_s[event] = values[i]!;
      else this.throttles_[event] = values[i]!;
    });
  }

  /** The plan before anything is found, under what is assumed, of at least so many segments. Throws PlanError. Unitless. */
  begin(most: number): FlightPlan {
    return this.planned(true, most);
  }

  /** The plan in hand on to so many segments, or to its end; nothing has been found since. Throws PlanError. Unitless. */
  goOn(most = Number.POSITIVE_INFINITY): FlightPlan {
    return this.planned(true, most);
  }

  /** When the event of an unknown comes about in a plan, s; NaN for a throttle. */
  timeOf(plan: FlightPlan, unknown: number): number {
    const { kind, event } = this.compiled.unknowns[unknown]!;
    return kind === 'time' ? plan.dueTimes_s[event]! : Number.NaN;
  }

  /** How far the flight by a plan, anew or over held steps, is from what was assumed: s, shares of the limit. */
  readMisses(plan: FlightPlan, held: boolean, misses: Float64Array): void {
    const { events } = this.compiled.study.sequence;
    this.compiled.unknowns.forEach(({ kind, event }, i) => {
      const { action } = events[event]!;
      if (kind === 'time') misses[i] = plan.dueTimes_s[event]! - this.assumed_s[event]!;
      else if (action.kind === 'hold' && action.limit.kind === 'dynamicPressure')
        misses[i] = this.peak.greatest_Pa(event, held) / action.limit.pressure_Pa - 1;
    });
  }

  /**
   * Decides what the limit in force in a segment (index) does where it starts, at (t, y), if that has not been decided;
   * the plan on from there when it is not what was planned, else null. s, SI. Throws PlanError.
   */
  decide(plan: FlightPlan, index: number, t: number, y: Float64Array): FlightPlan | null {
    const segment = plan.segments[index]!;
    this.hold.enter(segment);
    if (segment.hold === undefined || this.modes[index] !== undefined) return null;
    const mode = this.hold.modeAt(t, y);
    this.modes[index] = mode;
    if (mode === segment.hold.mode) return null;
    this.settle(plan, segment.start_s);
    return this.planned(true, index + AHEAD);
  }

  /** Sets `monitors` for a segment that starts at (t, y); the event that a jump has put past its value, or −1. s, SI. */
  jumped(segment: Segment, t: number, y: Float64Array): number {
    this.waiting = this.own.flatMap((monitor, event) => {
      const body = this.acted[event]!;
      const acts = body < 0 || segment.bodies.includes(body);
      return monitor !== null && acts && Number.isNaN(this.happened_s[event]!) ? [event] : [];
    });
    const turns = this.hold.enter(segment);
    this.monitors = [this.ground, ...this.waiting.map((event) => this.own[event]!)];
    this.finds = [{ kind: 'none' }, ...this.waiting.map((event): Found => ({ kind: 'event', event }))];
    const add = (monitor: Monitor, found: Found): void => {
      this.monitors.push(monitor);
      this.finds.push(found);
    };
    if (this.hold.throttles) {
      const { body } = segment.hold!;
      this.levelsOf(body).forEach((event) => add(this.levels[event]!, { kind: 'event', event }));
      add(this.hold.dry, { kind: 'dry', body });
    }
    for (const { monitor, to } of turns) add(monitor, { kind: 'turn', to });
    if (segment.steady !== undefined)
      this.peak.monitors.forEach((monitor, i) => add(monitor, { kind: 'peak', monitor: i }));
    return (
      this.waiting.find((event) => {
        const monitor = this.own[event]!;
        return passes(this.before[event]!, monitor.value(t, y), monitor.direction);
      }) ?? -1
    );
  }

  /** Propellant events of a body that are still to come. */
  private levelsOf(body: number): number[] {
    const { id } = this.compiled.bodies[body]!;
    return this.compiled.study.sequence.events.flatMap(({ trigger }, event) =>
      trigger.kind === 'propellant' && trigger.body === id && Number.isNaN(this.happened_s[event]!)
        ? [event]
        : [],
    );
  }

  /** Keeps the values just before the segment in hand ends at (t, y). s, SI. */
  note(t: number, y: Float64Array): void {
    for (const event of this.waiting) this.before[event] = this.own[event]!.value(t, y);
  }

  /** What the monitor of an index stands for. */
  foundBy(monitor: number): Found {
    return this.finds[monitor] ?? { kind: 'none' };
  }

  /**
   * The plan on from what was found at (t, y) in a segment (index) that started at `from`, its state there; null when
   * the clock ended the segment and nothing was found that the plan did not know. Throws PlanError. s, SI
   */
  carryOn(
    plan: FlightPlan,
    found: Found,
    index: number,
    from: Float64Array,
    t: number,
    y: Float64Array,
  ): FlightPlan | null {
    const { start_s } = plan.segments[index]!;
    const moved = t > start_s;
    const throttled = this.hold.throttles && moved;
    if (throttled) this.marks[index] = this.mark(start_s, from, t, y);
    if (found.kind === 'none') {
      if (!throttled) return null;
      this.settle(plan, t);
      return this.planned(true, index + AHEAD);
    }
    if (found.kind === 'dry') {
      const { id } = this.compiled.bodies[found.body]!;
      throw new PlanError(
        `vehicle.bodies.${id}.propellant`,
        `runs dry while a limit throttles; a cut with a "propellant" trigger on "${id}" must come earlier`,
      );
    }
    this.settle(plan, start_s);
    if (found.kind === 'peak') {
      if (!moved) return null;
      this.turns_s[index] = t;
      this.ends[index] = { monitor: this.peak.monitors[found.monitor]!, event: -1 };
    } else if (found.kind === 'turn') {
      if (moved) {
        this.turns_s[index] = t;
        this.ends[index] = { monitor: this.monitors[this.indexOf(found)]!, event: -1 };
      }
      this.modes[moved ? index + 1 : index] = found.to;
    } else {
      this.happened_s[found.event] = t;
      if (moved) this.ends[index] = { monitor: this.monitors[this.indexOf(found)]!, event: found.event };
      else {
        this.jumps.push(found.event);
        // It changes the segment, so what the limit does there is decided anew.
        this.modes[index] = undefined;
      }
    }
    return this.planned(true, index + AHEAD);
  }

  private indexOf(found: Found): number {
    return this.finds.findIndex((each) =>
      found.kind === 'event'
        ? each.kind === 'event' && each.event === found.event
        : found.kind === 'turn' && each.kind === 'turn' && each.to === found.to,
    );
  }

  /** What the limit of the segment in hand has done between two states. s, SI. */
  private mark(start_s: number, from: Float64Array, t: number, y: Float64Array): HoldMark {
    const at = y.length - 1;
    const first = this.hold.shareAt(start_s, from);
    return { saved_kg: y[at]! - from[at]!, first, last: this.hold.shareAt(t, y) };
  }

  private planned(waits: boolean, most = Number.POSITIVE_INFINITY, pieces = !waits): FlightPlan {
    const { assumed_s, throttles_: levels, happened_s, modes, turns_s, marks } = this;
    const history = { assumed_s, levels, happened_s, modes, turns_s, marks, loose: false, pieces };
    return this.planning.make(history, waits, most);
  }

  /** The plan of the whole flight, now that nothing is waited for. Throws PlanError when a lead was not kept. s */
  conclude(plan: FlightPlan): FlightPlan {
    this.settle(plan, plan.insertion_s);
    const whole = this.planned(false);
    if (whole.segments.length !== plan.segments.length) {
      throw new PlanError('sequence.events', 'what was flown differs from what is planned in the end');
    }
    return whole;
  }

  /** The plan as far as it has come, with the pieces set free so far: of a flight that broke off. Throws as `planOn`. s */
  soFar(): FlightPlan {
    return this.planned(true, Number.POSITIVE_INFINITY, true);
  }

  /** Begins a flight over held steps from a segment of the plan flown; false when it depends on a jump. Unitless. */
  beginShift(plan: FlightPlan, from: number): boolean {
    if (this.jumps.length > 0 || from >= plan.segments.length) return false;
    const flown = this.happened_s.map((time, event) =>
      this.byFlight(event) ? time : (this.known_s[event] ?? Number.NaN),
    );
    this.shifted = { happened_s: flown, turns_s: [...this.turns_s], marks: [...this.marks] };
    return true;
  }

  /** Whether an event's time was found by the flight. */
  private byFlight(event: number): boolean {
    return this.own[event] !== null || this.ends.some((end) => end?.event === event);
  }

  /** What ended a segment, null when the clock did. Unitless. */
  endOf(segment: number): SegmentEnd | null {
    return this.ends[segment] ?? null;
  }

  /** Takes over a segment that a flight over held steps begins, so that the monitors of its end read it. Unitless. */
  enter(segment: Segment): void {
    this.hold.enter(segment);
  }

  /**
   * The plan when a segment (index) of the plan in hand that began in the state `from` ends at (t, y) instead; the same plan
   * when its end is by the clock and no limit throttled in it, null when there is none. It may stop short. s, SI
   */
  shift(plan: FlightPlan, index: number, from: Float64Array, t: number, y: Float64Array): FlightPlan | null {
    const end = this.endOf(index);
    if (this.hold.throttles) this.shifted.marks[index] = this.mark(plan.segments[index]!.start_s, from, t, y);
    else if (end === null) return plan;
    if (end !== null) {
      if (end.event >= 0) this.shifted.happened_s[end.event] = t;
      else this.shifted.turns_s[index] = t;
    }
    return this.shiftedPlan(index + AHEAD);
  }

  /** Looks for the peak at the start (t, y) of a segment (index) of the plan: s, SI. */
  look(plan: FlightPlan, index: number, t: number, y: Float64Array): void {
    this.peak.look(plan.segments[index - 1], plan.segments[index]!, index, t, y);
  }

  /** The same over held steps. s, SI */
  lookAgain(index: number, t: number, y: Float64Array): void {
    this.peak.lookAgain(index, t, y);
  }

  /** The plan of a flight over held steps, of at least so many segments or all; null when there is none. Unitless. */
  shiftedPlan(most = Number.POSITIVE_INFINITY): FlightPlan | null {
    const { assumed_s, throttles_: levels, modes } = this;
    const history = { ...this.shifted, assumed_s, levels, modes, loose: true, pieces: false };
    try {
      return this.shifting.make(history, false, most);
    } catch (error) {
      if (error instanceof PlanError) return null;
      throw error;
    }
  }

  private settle(plan: FlightPlan, until_s: number): void {
    plan.dueTimes_s.forEach((due, event) => {
      if (this.searched[event]! && due <= until_s) this.happened_s[event] = due;
    });
  }
}
