/** Works out a flight's plan from the sequence: see `planTypes.ts` for what a plan is. */
import type { Study } from '../contract/study.ts';
import type { Action, SequenceEvent } from '../contract/sequence.ts';
import type { EngineGroup } from '../contract/vehicle.ts';
import { findRoot } from '../math/roots.ts';
import { findArrangement } from '../vehicle/drag.ts';
import { splitAtLink, type CompiledBody } from '../vehicle/structure.ts';
import {
  burned_kg,
  cut,
  fullFlow_kgps,
  fullRates,
  fullThrust_N,
  light,
  nextBreak_s,
  shift,
  tailOff_kg,
  throttle,
  type Batch,
} from './commands.ts';
import { heldSpan, limitedBatches, throttledBurn } from './holdPlan.ts';
import { NO_HISTORY, type History } from './history.ts';
import {
  PlanError,
  type Branch,
  type Burn,
  type FlightPlan,
  type HeldSpan,
  type PlannedGap,
  type Segment,
} from './planTypes.ts';
import { PlanPushes } from './planPushes.ts';
import type { AirAtRelease } from './pushes.ts';
import { findUnknownRoots, settleLeads, tiedTime_s, tieEvents, type Schedule } from './schedule.ts';
import { isStateTrigger } from './stateTriggers.ts';
import { lawBreaksAfter_s } from './steering/lawBreak.ts';

/** How long a freed piece is followed when nothing more happens to it, s; it has come down long before. */
const BRANCH_LIMIT_s = 7200;
/** Most segments of one flight; beyond this the sequence goes round in circles. */
const MOST_SEGMENTS = 1000;

const NO_AIR: AirAtRelease = new Map();

/** Bodies that fly together, with their engines. */
interface Flyer {
  bodies: number[];
  batches: Batch[];
  readonly main: boolean;
}

interface Followed {
  readonly segments: Segment[];
  readonly end_s: number;
  /** Events that fired at the end, with no segment after them. */
  readonly fired: number[];
  readonly brokenOff?: PlanError;
}

interface Freed {
  readonly flyer: Flyer;
  readonly fromBranch: number;
  readonly fromSegment: number;
  readonly time_s: number;
}

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
  return planOn(study, bodies, NO_HISTORY, dependsOnState(study), air);
}

/** Whether the study's plan depends on where the vehicle is: on a state trigger, or on a limit that is held. Unitless. */
export function dependsOnState(study: Study): boolean {
  return study.sequence.events.some(
    ({ trigger, action }) => isStateTrigger(trigger) || action.kind === 'hold',
  );
}

/**
 * The plan of a flight that has come some way, by what it has found. The part that has been flown comes out as it was. With
 * `waits`, what is not in the history may still come about, a state trigger or a limit that is reached: what cannot be
 * planned without it then breaks the plan off instead of throwing. Without, it never does. Pieces set free are followed where
 * the history asks for them. While a limit throttles, nobody knows the masses beforehand: the plan then ends with that
 * segment until the history has its mark. Throws PlanError as `planFlight`. Mission time in s.
 */
export function planOn(
  study: Study,
  bodies: readonly CompiledBody[],
  history: History,
  waits: boolean,
  air: AirAtRelease = NO_AIR,
): FlightPlan {
  const schedule = tieEvents(study.sequence.events);
  const assumed = findUnknownRoots(study, schedule).filter(
    (root) => !Number.isNaN(history.assumed_s[root] ?? NaN),
  );
  for (const root of assumed) schedule.assumed_s[root] = history.assumed_s[root]!;
  const planner = (): Planner => new Planner(study, bodies, schedule, history, waits, air);
  settleLeads(study.sequence.events, schedule, (root) => planner().timeOf(root), waits, assumed);
  return planner().run();
}

/** What is wrong where bodies (ids) fly together that no drag is given for. */
export function noDrag(ids: readonly string[]): PlanError {
  return new PlanError(
    'vehicle.aerodynamics',
    `has no entry for the bodies ${ids.join(', ')} flying together`,
  );
}

class Planner {
  private readonly events: readonly SequenceEvent[];
  private readonly propellant_kg: number[];
  private readonly fired_s: number[];
  private readonly isVoid: boolean[];
  private readonly commanded: Batch[][];
  private readonly freed: Freed[] = [];
  /** Engine groups whose performance an event has changed, by body and group. */
  private readonly shifted = new Map<string, EngineGroup>();
  private readonly payloadBody: number;
  private readonly pushes: PlanPushes;
  private release_s = Number.NaN;
  private lawBreaks_s: readonly number[] = [];
  private lawEvent = -1;
  /** The hold in force on the main flight, −1 when there is none; and what holds have saved so far. */
  private holdEvent = -1;
  private saved_kg = 0;
  /** No new law sets in on the main flight before, s. */
  private held_s = -Infinity;
  /** Index of the branch in hand, −1 for the main flight. */
  private branch = -1;
  /** The propellant event whose level is reached at the end of the segment in hand. */
  private reached: { event: number; time_s: number } | null = null;

  constructor(
    private readonly study: Study,
    private readonly bodies: readonly CompiledBody[],
    private readonly schedule: Schedule,
    private readonly history: History,
    private readonly waits: boolean,
    air: AirAtRelease,
  ) {
    this.events = study.sequence.events;
    this.propellant_kg = bodies.map((body) => body.load_kg);
    this.fired_s = this.events.map(() => Number.NaN);
    this.isVoid = this.events.map(() => false);
    this.commanded = this.events.map(() => []);
    this.payloadBody = this.indexOf(study.payload.ridesOn);
    this.pushes = new PlanPushes(study, bodies, air);
  }

  run(): FlightPlan {
    const whole: Flyer = { bodies: this.bodies.map((_, i) => i), batches: [], main: true };
    const main = this.follow(whole, this.firstTime_s(), -1);
    const branches: Branch[] = [];
    // Pieces freed by pieces are appended while this runs.
    for (let i = 0; this.history.pieces && i < this.freed.length; i++) {
      const { flyer, fromBranch, fromSegment, time_s } = this.freed[i]!;
      this.branch = i;
      this.pushes.feelPlumes(
        flyer.bodies,
        [...main.segments, ...branches.flatMap((branch) => branch.segments)],
        flyer.batches,
      );
      const bodies = [...flyer.bodies];
      const id = bodies.map((b) => this.bodies[b]!.id).join('+');
      branches.push({
        id,
        bodies,
        fromBranch,
        fromSegment,
        segments: this.followFreed(flyer, time_s),
      });
    }
    // A root not yet reached may still move.
    if (!this.waits) this.checkLeads();
    const released = main.segments.find((segment) => !segment.held);
    if (released === undefined) {
      if (main.brokenOff !== undefined) throw main.brokenOff;
      throw new PlanError(
        'sequence.events',
        'no event releases the vehicle; one must have the action "release"',
      );
    }
    return {
      segments: main.segments,
      branches,
      eventTimes_s: this.fired_s.map((time, i) => (this.isVoid[i]! ? Number.NaN : time)),
      dueTimes_s: [...this.fired_s],
      brokenOff: main.brokenOff ?? null,
      gaps: this.gaps(),
      release_s: this.release_s,
      insertion_s: main.end_s,
      firedAtEnd: main.fired,
      pushes: this.pushes.pushes,
      liftoffMass_kg: released.mass_kg,
    };
  }

  /** A lead that reaches back before the sequence starts cannot be kept. */
  private checkLeads(): void {
    this.events.forEach((event, index) => {
      const tie = this.schedule.ties[index];
      if (tie === null || tie === undefined) return;
      // Whether what the flight assumes comes true is the flight's business.
      if (!Number.isNaN(this.history.assumed_s[tie.root] ?? Number.NaN)) return;
      const late_s = this.fired_s[index]! - this.fired_s[tie.root]! - tie.offset_s;
      if (late_s > 1e-6) {
        throw new PlanError(
          `sequence.events.${event.id}.trigger`,
          `comes ${(-tie.offset_s).toFixed(3)} s before "${this.events[tie.root]!.id}", which is ${late_s.toFixed(3)} s ` +
            'before anything starts; allowed is a shorter lead',
        );
      }
      if (
        late_s < -1e-6 ||
        (Number.isNaN(late_s) && !Number.isNaN(this.fired_s[index]!) && tie.offset_s < 0)
      ) {
        throw new PlanError(
          `sequence.events.${event.id}.trigger`,
          `leads up to "${this.events[tie.root]!.id}", whose time changed after it had come about`,
        );
      }
    });
  }

  /** When an event of the main flight comes about under the times assumed so far, s; NaN when it does not. */
  timeOf(event: number): number {
    const whole: Flyer = { bodies: this.bodies.map((_, i) => i), batches: [], main: true };
    this.follow(whole, this.firstTime_s(), event);
    return this.fired_s[event]!;
  }

  /** What is only planned for as long as no state trigger comes about may have pieces that never fly. */
  private followFreed(flyer: Flyer, start_s: number): Segment[] {
    try {
      return this.follow(flyer, start_s, -1).segments;
    } catch (error) {
      if (this.waits && error instanceof PlanError) return [];
      throw error;
    }
  }

  /** Runs one flyer to its end, or until an event (index, −1 for none) has come about. */
  private follow(flyer: Flyer, start_s: number, until: number): Followed {
    const segments: Segment[] = [];
    try {
      return this.followInto(segments, flyer, start_s, until);
    } catch (error) {
      if (!(error instanceof PlanError) || !flyer.main || !this.isWaiting(flyer)) throw error;
      return { segments, end_s: segments.at(-1)?.end_s ?? start_s, fired: [], brokenOff: error };
    }
  }

  /** Whether a state trigger may still come about on the main flight, or a limit be reached. */
  private isWaiting(flyer: Flyer): boolean {
    return (
      this.waits &&
      (this.holdEvent >= 0 ||
        this.events.some(
          ({ trigger, action }, i) =>
            (isStateTrigger(trigger) || action.kind === 'hold') &&
            Number.isNaN(this.fired_s[i]!) &&
            this.concerns(flyer, i),
        ))
    );
  }

  /** When the first body has burned all but its residual, engines as commanded now, if before `next`; else `next`. s */
  private dryBefore_s(flyer: Flyer, t: number, next: number): number {
    let dry = next;
    for (const body of flyer.bodies) {
      const left = this.propellant_kg[body]! - (this.bodies[body]!.data.propellant?.residual_kg ?? 0);
      const flow = leastFlow_kgps(flyer.batches, body, t);
      const far = Math.min(dry, flow > 0 ? t + Math.max(0, left) / flow + 1 : dry);
      if (far === Infinity) continue;
      const rest = (at: number): number => left - burned_kg(flyer.batches, body, t, at);
      // A cut that comes just then is no running dry.
      if (rest(far) < -1e-6) dry = left <= 0 ? t : findRoot(rest, t, far, 1e-12);
    }
    return dry;
  }

  private followInto(segments: Segment[], flyer: Flyer, start_s: number, until: number): Followed {
    const last = this.events.findIndex((event) => event.id === this.study.sequence.finalCutoff);
    let t = start_s;
    for (;;) {
      const fired = this.fireDue(flyer, t, segments.length);
      this.pushes.schedule(flyer.bodies, t, (event) => this.dueTime_s(event));
      if (until >= 0 && !Number.isNaN(this.fired_s[until]!)) return { segments, end_s: t, fired };
      const quiet = flyer.batches.every((b) => b.transient.nextBreak_s(t) === Infinity && !b.transient.lit);
      if (flyer.main && quiet && !Number.isNaN(this.fired_s[last]!)) return { segments, end_s: t, fired };
      const held = flyer.main ? this.heldBatches(flyer, t) : [];
      const mode = held.length === 0 ? 'idle' : (this.history.modes[segments.length] ?? 'idle');
      // A segment is laid out as commanded; what a limit makes of it comes in by its mark.
      for (const batch of held) batch.held = 1;
      let next = this.nextTime_s(flyer, t, mode === 'idle' ? -1 : held[0]!.body);
      if (flyer.main) next = Math.min(next, this.history.turns_s[segments.length] ?? Infinity);
      const mark = mode === 'idle' ? undefined : this.history.marks[segments.length];
      if (mode !== 'idle' && mark === undefined) {
        const end_s = next === Infinity ? t + BRANCH_LIMIT_s : next;
        segments.push(this.segment(flyer, t, end_s, fired, segments.length));
        const brokenOff = new PlanError('sequence.events', `at ${t.toFixed(1)} s a limit begins to throttle`);
        return { segments, end_s, fired: [], brokenOff };
      }
      if (flyer.main && mode === 'idle' && this.isWaiting(flyer)) {
        const dry = this.dryBefore_s(flyer, t, next);
        const end_s = dry === Infinity ? t + BRANCH_LIMIT_s : dry;
        if (next === Infinity || end_s < next) {
          if (end_s > t) segments.push(this.segment(flyer, t, end_s, fired, segments.length));
          const why =
            dry === Infinity
              ? 'nothing more happens, and nothing that was waited for has come about'
              : 'propellant runs dry before the trigger of a cut has come about';
          const brokenOff = new PlanError('sequence.events', `at ${end_s.toFixed(1)} s ${why}`);
          return { segments, end_s, fired: [], brokenOff };
        }
      }
      if (next === Infinity) {
        if (flyer.main) {
          if (until >= 0) return { segments, end_s: t, fired };
          throw new PlanError(
            'sequence.finalCutoff',
            `"${this.study.sequence.finalCutoff}" never comes about: after ${t.toFixed(1)} s no event is due and no ` +
              'propellant burns; check its trigger and what it waits for',
          );
        }
        next = t + BRANCH_LIMIT_s;
        segments.push(this.segment(flyer, t, next, fired, segments.length));
        return { segments, end_s: next, fired: [] };
      }
      segments.push(this.segment(flyer, t, next, fired, segments.length));
      if (segments.length > MOST_SEGMENTS) {
        throw new PlanError(
          'sequence.events',
          `more than ${MOST_SEGMENTS} spans between events; is one re-triggering?`,
        );
      }
      for (const body of flyer.bodies) {
        this.propellant_kg[body] = this.propellant_kg[body]! - burned_kg(flyer.batches, body, t, next);
        if (mark !== undefined && body === held[0]!.body) this.propellant_kg[body] += mark.saved_kg;
        // What is residual never burns.
        const { id, data } = this.bodies[body]!;
        const short_kg = (data.propellant?.residual_kg ?? 0) - this.propellant_kg[body];
        if (short_kg > 1e-6 && !this.history.loose) {
          throw new PlanError(
            `vehicle.bodies.${id}.propellant`,
            `runs dry before ${next.toFixed(1)} s; a cut with a "propellant" trigger on "${id}" must come earlier`,
          );
        }
      }
      this.pushes.spend(flyer.bodies, t, next);
      if (mark !== undefined) {
        this.saved_kg += mark.saved_kg;
        for (const batch of held) batch.held = mark.last;
      }
      t = next;
    }
  }

  /** Engines that the limit in force throttles when it must: all of one body that burn fully. */
  private heldBatches(flyer: Flyer, t: number): Batch[] {
    const action = this.holdAction();
    if (action?.limit.kind !== 'sensedAcceleration' || Number.isNaN(this.release_s)) return [];
    return limitedBatches(flyer.batches, this.indexOf(action.body), action.groups, t);
  }

  /** Ends the hold in force: what burns goes back to its commanded throttle, what is tailing off keeps its own. */
  private endHold(flyer: Flyer): void {
    this.holdEvent = -1;
    for (const batch of flyer.batches) if (batch.transient.lit) batch.held = 1;
  }

  private firstTime_s(): number {
    const times = this.events.flatMap((e) => (e.trigger.kind === 'time' ? [e.trigger.time_s] : []));
    if (times.length === 0)
      throw new PlanError('sequence.events', 'no event has a "time" trigger, so nothing starts');
    return Math.min(...times);
  }

  /** Mission time at which a pending event is due by the clock, s; NaN when not known yet or not by the clock. */
  private dueTime_s(index: number): number {
    if (this.isSettled(index)) return this.history.happened_s[index]!;
    const { trigger } = this.events[index]!;
    const tie = this.schedule.ties[index];
    if (tie !== null && tie !== undefined) return tiedTime_s(tie, this.schedule, this.fired_s);
    if (trigger.kind === 'time') return trigger.time_s;
    if (trigger.kind === 'after') {
      return (
        trigger.events.reduce((at, id) => Math.max(at, this.fired_s[this.eventIndex(id)]!), -Infinity) +
        trigger.delay_s
      );
    }
    return Number.NaN;
  }

  private isSettled(index: number): boolean {
    return !Number.isNaN(this.history.happened_s[index] ?? Number.NaN);
  }

  /** Whether an event is for this flyer: freed pieces keep the commands to their own bodies. */
  private concerns(flyer: Flyer, index: number): boolean {
    const { action } = this.events[index]!;
    if (action.kind === 'release' || action.kind === 'steer' || action.kind === 'endHold') return flyer.main;
    if (action.kind === 'hold' && !flyer.main) return false;
    const body = this.indexOf(action.kind === 'part' ? action.link : action.body);
    if (flyer.bodies.includes(body)) return true;
    return flyer.main && !this.freed.some((freed) => freed.flyer.bodies.includes(body));
  }

  /** Fires all that is due at t, in list order, until nothing more is. */
  private fireDue(flyer: Flyer, t: number, segment: number): number[] {
    const fired: number[] = [];
    this.lawEvent = -1;
    for (let i = 0; i < this.events.length; i++) {
      if (!Number.isNaN(this.fired_s[i]!) || !this.concerns(flyer, i)) continue;
      if (t < this.held_s && this.events[i]!.action.kind === 'steer') continue;
      if (!(this.dueTime_s(i) <= t) && !this.levelReached(flyer, i, t)) continue;
      this.fired_s[i] = t;
      this.isVoid[i] = !this.apply(flyer, i, t, segment);
      if (!this.isVoid[i]) fired.push(i);
      i = -1;
    }
    return fired;
  }

  private levelReached(flyer: Flyer, index: number, t: number): boolean {
    if (this.reached !== null && this.reached.event === index && this.reached.time_s === t) return true;
    const level = this.excess_kg(flyer, index);
    return level !== null && level(t) <= 0;
  }

  /** For a propellant event of this flyer: what is left at t' less tail-off less the level, as a function of t'. */
  private excess_kg(flyer: Flyer, index: number, from_s?: number): ((t: number) => number) | null {
    const { trigger } = this.events[index]!;
    if (trigger.kind !== 'propellant' || this.isSettled(index)) return null;
    const body = this.indexOf(trigger.body);
    if (!flyer.bodies.includes(body)) return null;
    const level = trigger.left === 'reserves' ? this.bodies[body]!.protected_kg : trigger.left.mass_kg;
    const left = this.propellant_kg[body]!;
    return (t) =>
      left -
      (from_s === undefined ? 0 : burned_kg(flyer.batches, body, from_s, t)) -
      tailOff_kg(flyer.batches, body, t) -
      level;
  }

  /** When something next happens by the clock or by propellant, s; not by that of the body `throttled`, if any. */
  private nextTime_s(flyer: Flyer, t: number, throttled: number): number {
    let next = Infinity;
    for (let i = 0; i < this.events.length; i++) {
      if (!Number.isNaN(this.fired_s[i]!) || !this.concerns(flyer, i)) continue;
      const due = this.dueTime_s(i);
      if (due > t && due < next) next = due;
    }
    for (const batch of flyer.batches) next = Math.min(next, nextBreak_s(batch, t));
    if (flyer.main) for (const at of this.lawBreaks_s) if (at > t) next = Math.min(next, at);
    if (flyer.main && this.held_s > t) next = Math.min(next, this.held_s);
    next = Math.min(next, this.pushes.nextBreak_s(flyer.bodies, t));
    this.reached = null;
    for (let i = 0; i < this.events.length; i++) {
      if (!Number.isNaN(this.fired_s[i]!)) continue;
      const excess = this.excess_kg(flyer, i, t);
      if (excess === null || !(excess(t) > 0)) continue;
      const body = this.indexOf((this.events[i]!.trigger as { body: string }).body);
      if (body === throttled) continue;
      // Far enough to burn all that is left; flows only change at `next`.
      const flow = leastFlow_kgps(flyer.batches, body, t);
      const horizon = Math.min(next, flow > 0 ? t + this.propellant_kg[body]! / flow + 1 : next);
      if (horizon === Infinity || !(excess(horizon) <= 0)) continue;
      const time_s = findRoot(excess, t, horizon, 1e-12);
      if (time_s < next) {
        next = time_s;
        this.reached = { event: i, time_s };
      } else if (time_s === next && this.reached === null) {
        this.reached = { event: i, time_s };
      }
    }
    return next;
  }

  /** Carries out an event's action; false when there was nothing for it to act on. */
  private apply(flyer: Flyer, index: number, t: number, segment: number): boolean {
    const { action, id } = this.events[index]!;
    switch (action.kind) {
      case 'release':
        this.release_s = t;
        return true;
      case 'steer':
        this.lawEvent = index;
        this.lawBreaks_s = lawBreaksAfter_s(action.law).map((after_s) => t + after_s);
        return true;
      case 'endHold':
        if (this.holdEvent < 0 || this.holdEvent !== this.eventIndex(action.hold)) return false;
        this.endHold(flyer);
        return true;
      case 'part':
        return this.part(flyer, this.indexOf(action.link), t, segment, id);
      default: {
        const body = this.indexOf(action.body);
        if (!flyer.bodies.includes(body)) return false;
        if (action.kind === 'hold') {
          this.endHold(flyer);
          this.holdEvent = index;
          if (action.limit.kind === 'dynamicPressure') {
            const level = this.history.levels[index] ?? 1;
            for (const batch of flyer.batches) {
              if (batch.body !== body || !batch.transient.lit) continue;
              if (action.groups?.includes(batch.group) === false) continue;
              batch.held = Math.max(level, Math.min(1, batch.engine.throttle.least / batch.throttle));
            }
          }
          return true;
        }
        if (action.kind === 'shift') {
          // Also what is lit later burns so.
          const { thrustVacuum_N, ispVacuum_s } = action;
          const engine = this.bodies[body]!.data.engineGroups[action.group]!;
          this.shifted.set(`${body} ${action.group}`, { ...engine, thrustVacuum_N, ispVacuum_s });
          if (shift(flyer.batches, { ...action, body }, t) === null) {
            throw new PlanError(
              `sequence.events.${id}.action.over_s`,
              `received ${action.over_s ?? 0} while "${action.group}" still starts up, allowed is a change at once, or later`,
            );
          }
          return true;
        }
        const done =
          action.kind === 'light'
            ? light(
                flyer.batches,
                this.bodies,
                { ...action, body, engines: action.engines },
                t,
                this.shifted.get(`${body} ${action.group}`),
              )
            : action.kind === 'cut'
              ? cut(flyer.batches, { ...action, body, group: action.group }, t)
              : throttle(flyer.batches, { ...action, body }, t);
        if (done === null) {
          throw new PlanError(
            `sequence.events.${id}.action`,
            `changes the throttle of engines of "${action.body}" slowly while they still start up, allowed is a change at ` +
              'once, or later',
          );
        }
        this.commanded[index] = done;
        return done.length > 0;
      }
    }
  }

  private part(flyer: Flyer, link: number, t: number, segment: number, id: string): boolean {
    if (!flyer.bodies.includes(link)) return false;
    if (flyer.main && Number.isNaN(this.release_s)) {
      throw new PlanError(
        `sequence.events.${id}`,
        'parts the vehicle while it stands on the pad; release it first',
      );
    }
    const { above, below } = splitAtLink(this.bodies, flyer.bodies, link);
    const stays = flyer.main ? (above.includes(this.payloadBody) ? above : below) : below;
    const goes = stays === above ? below : above;
    const batches = flyer.batches.filter((batch) => goes.includes(batch.body));
    if (flyer.main) this.held_s = t + this.pushes.hold_s(link);
    this.pushes.release(link, { above, below }, flyer.batches, this.propellant_kg, t);
    flyer.batches = flyer.batches.filter((batch) => stays.includes(batch.body));
    flyer.bodies = stays;
    const limited = this.holdAction();
    if (flyer.main && limited !== null && goes.includes(this.indexOf(limited.body))) this.holdEvent = -1;
    this.freed.push({
      flyer: { bodies: goes, batches, main: false },
      fromBranch: this.branch,
      fromSegment: segment,
      time_s: t,
    });
    return true;
  }

  private heldSpan(
    flyer: Flyer,
    held: readonly Batch[],
    burns: readonly Burn[],
    total: Parameters<typeof heldSpan>[4],
    start_s: number,
    end_s: number,
    segment: number,
    limit_mps2: number,
  ): HeldSpan {
    const limit = {
      event: this.holdEvent,
      limit_mps2,
      mode: this.history.modes[segment] ?? 'idle',
      saved_kg: this.saved_kg,
    };
    const { body } = held[0]!;
    const own = flyer.batches.filter((batch) => batch.body === body && !held.includes(batch));
    const felt = this.pushes.feltShare(body, flyer.bodies);
    return heldSpan(limit, held, own, burns, total, felt, start_s, end_s);
  }

  /** The hold in force, null when there is none. */
  private holdAction(): Extract<Action, { kind: 'hold' }> | null {
    const action = this.events[this.holdEvent]?.action;
    return action?.kind === 'hold' ? action : null;
  }

  private segment(flyer: Flyer, start_s: number, end_s: number, fired: number[], segment: number): Segment {
    const held = flyer.main ? this.heldBatches(flyer, start_s) : [];
    const full: Burn[] = [];
    /** Of those that a limit may throttle, their indices. */
    const limited: number[] = [];
    let area = 0;
    let areaRate = 0;
    for (const batch of flyer.batches) {
      const fraction = batch.transient.at(start_s);
      const rate = batch.transient.rateAfter_ps(start_s);
      if (fraction === 0 && rate === 0) continue;
      const { engines } = batch;
      const thrust_N = fullThrust_N(batch, start_s);
      const flow_kgps = fullFlow_kgps(batch, start_s);
      const rates = fullRates(batch, start_s);
      area += engines * batch.engine.exitArea_m2 * fraction;
      areaRate += engines * batch.engine.exitArea_m2 * rate;
      if (held.includes(batch)) limited.push(full.length);
      full.push({
        body: batch.body,
        group: batch.group,
        engines,
        thrust_N: thrust_N * fraction,
        thrustRate_Nps: thrust_N * rate + rates.thrust_Nps * fraction,
        flow_kgps: flow_kgps * fraction,
        flowRate_kgps2: flow_kgps * rate + rates.flow_kgps2 * fraction,
      });
    }
    const ids = flyer.bodies.map((body) => this.bodies[body]!.id);
    const arrangement = findArrangement(this.study.vehicle.aerodynamics, ids);
    // Something that is waited for may yet part them: the plan goes on, the flight would not.
    if (arrangement < 0 && !(flyer.main && this.isWaiting(flyer))) throw noDrag(ids);
    const pushed = this.pushes.at(flyer.bodies, start_s);
    const totalOf = (burns: readonly Burn[]): Parameters<typeof heldSpan>[4] => {
      const total = (pick: (burn: Burn) => number): number =>
        burns.reduce((sum, burn) => sum + pick(burn), 0);
      const felt = (burn: Burn): number => this.pushes.feltShare(burn.body, flyer.bodies);
      return {
        thrust_N: total((b) => b.thrust_N * felt(b)) + pushed.force_N,
        thrustRate_Nps: total((b) => b.thrustRate_Nps * felt(b)) + pushed.rate_Nps,
        flow_kgps: total((b) => b.flow_kgps) + pushed.flow_kgps,
        flowRate_kgps2: total((b) => b.flowRate_kgps2),
      };
    };
    let burns: readonly Burn[] = full;
    let hold: HeldSpan | undefined;
    const inForce = flyer.main ? this.holdAction() : null;
    if (held.length > 0 && inForce?.limit.kind === 'sensedAcceleration') {
      hold = this.heldSpan(
        flyer,
        held,
        full,
        totalOf(full),
        start_s,
        end_s,
        segment,
        inForce.limit.acceleration_mps2,
      );
      const mark = hold.mode === 'idle' ? undefined : this.history.marks[segment];
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
        (sum, b) => sum + this.bodies[b]!.dry_kg + this.propellant_kg[b]! - this.pushes.spent_kg[b]!,
        0,
      ),
      propellant_kg: [...this.propellant_kg],
      burns,
      ...(hold === undefined ? {} : { hold }),
      ...(inForce?.limit.kind !== 'dynamicPressure'
        ? {}
        : { steady: { event: this.holdEvent, level: this.history.levels[this.holdEvent] ?? 1 } }),
      lawEvent: flyer.main ? this.lawEvent : -1,
      held: flyer.main && Number.isNaN(this.release_s),
      fired,
    };
  }

  private gaps(): PlannedGap[] {
    return this.events.flatMap((event, index) => {
      if (event.trigger.kind !== 'gap' || Number.isNaN(this.fired_s[index]!)) return [];
      const cutoff = this.eventIndex(event.trigger.cutoff);
      const half = (batches: Batch[], rising: boolean): number =>
        batches.length === 0 ? Number.NaN : Math.max(...batches.map((b) => b.transient.halfTime_s(rising)));
      return [
        {
          event: index,
          command_s: this.fired_s[index]! - this.fired_s[cutoff]!,
          effective_s: half(this.commanded[index]!, true) - half(this.commanded[cutoff]!, false),
        },
      ];
    });
  }

  private indexOf(id: string): number {
    return this.bodies.findIndex((body) => body.id === id);
  }

  private eventIndex(id: string): number {
    return this.events.findIndex((event) => event.id === id);
  }
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
