/**
 * Waits for a flight's state triggers, and plans the flight on from each that comes about. What has been flown stands:
 * the times of what the plan had found (propellant levels, leads) are settled as the flight passes them.
 */
import type { Monitor } from '../ode/driver.ts';
import { passes } from '../ode/events.ts';
import type { CompiledStudy } from './compile.ts';
import type { Motion } from './motion.ts';
import { planOn } from './plan.ts';
import { PlanError, type FlightPlan, type Segment } from './planTypes.ts';
import { tieEvents } from './schedule.ts';
import { isStateTrigger, watch } from './stateTriggers.ts';

/** The state triggers of one flying engine; times in s of mission time, events by index. See the top of the file. */
export class StateWatch {
  /** Of the segment in hand: the engine's own monitor first. */
  monitors: Monitor[] = [];
  private readonly own: readonly (Monitor | null)[];
  /** Body that must still fly along for the event to act; −1 when it needs none. */
  private readonly acted: readonly number[];
  /** Whether the plan finds the event's time by a search, so that it must be settled once it is past. */
  private readonly searched: readonly boolean[];
  private readonly happened_s: number[];
  private readonly before: number[];
  private waiting: number[] = [];
  /** Of each segment: the event whose passage ended it. */
  private ends: number[] = [];
  /** Events that came about by a jump where a segment starts; the flight does not depend smoothly on them. */
  private jumps: number[] = [];
  private shifted_s: number[] = [];

  constructor(
    private readonly compiled: CompiledStudy,
    motion: Motion,
    private readonly ground: Monitor,
  ) {
    const { events } = compiled.study.sequence;
    const { ties } = tieEvents(events);
    this.own = events.map(({ trigger }) => (isStateTrigger(trigger) ? watch(trigger, motion) : null));
    this.acted = events.map(({ action }) => {
      if (action.kind === 'release' || action.kind === 'steer') return -1;
      const id = action.kind === 'part' ? action.link : action.body;
      return compiled.bodies.findIndex((body) => body.id === id);
    });
    this.searched = events.map(
      ({ trigger }, i) => trigger.kind === 'propellant' || (ties[i]?.offset_s ?? 0) < 0,
    );
    this.happened_s = events.map(() => Number.NaN);
    this.before = events.map(() => Number.NaN);
  }

  /** Forgets the last flight. Unitless. */
  reset(): void {
    this.happened_s.fill(Number.NaN);
    this.before.fill(Number.NaN);
    this.ends = [];
    this.jumps = [];
  }

  /** Sets `monitors` for a segment that starts at (t, y); the event that a jump has put past its value, or −1. s, SI. */
  jumped(segment: Segment, t: number, y: Float64Array): number {
    this.waiting = this.own.flatMap((monitor, event) => {
      const body = this.acted[event]!;
      const acts = body < 0 || segment.bodies.includes(body);
      return monitor !== null && acts && Number.isNaN(this.happened_s[event]!) ? [event] : [];
    });
    this.monitors = [this.ground, ...this.waiting.map((event) => this.own[event]!)];
    return (
      this.waiting.find((event) => {
        const monitor = this.own[event]!;
        return passes(this.before[event]!, monitor.value(t, y), monitor.direction);
      }) ?? -1
    );
  }

  /** Keeps the values just before the segment in hand ends at (t, y). s, SI. */
  note(t: number, y: Float64Array): void {
    for (const event of this.waiting) this.before[event] = this.own[event]!.value(t, y);
  }

  /** The event behind the monitor of an index; −1 for the engine's own. */
  eventOf(monitor: number): number {
    return monitor < 1 ? -1 : this.waiting[monitor - 1]!;
  }

  /** The plan on from an event at t_s in the segment (index) that started at start_s. Throws PlanError. s */
  carryOn(plan: FlightPlan, event: number, start_s: number, t_s: number, index: number): FlightPlan {
    this.settle(plan, start_s);
    this.happened_s[event] = t_s;
    if (t_s > start_s) this.ends[index] = event;
    else this.jumps.push(event);
    return planOn(this.compiled.study, this.compiled.bodies, this.happened_s, true);
  }

  /** The plan of the whole flight, now that nothing is waited for. Throws PlanError when a lead was not kept. s */
  conclude(plan: FlightPlan): FlightPlan {
    this.settle(plan, plan.insertion_s);
    const whole = planOn(this.compiled.study, this.compiled.bodies, this.happened_s, false);
    if (whole.segments.length !== plan.segments.length) {
      throw new PlanError('sequence.events', 'what was flown differs from what is planned in the end');
    }
    return whole;
  }

  /** Begins a flight over held steps from a segment of the plan flown; false when it depends on a jump. Unitless. */
  beginShift(plan: FlightPlan, from: number): boolean {
    this.shifted_s = this.happened_s.map((time, event) => (this.own[event] === null ? Number.NaN : time));
    return this.jumps.length === 0 && from < plan.segments.length;
  }

  /** The event whose passage ended a segment, −1 when the clock did. Unitless. */
  endOf(segment: number): number {
    return this.ends[segment] ?? -1;
  }

  /** What an event of `endOf` waits for; SI. */
  monitorOf(event: number): Monitor {
    return this.own[event]!;
  }

  /** The plan when an event of `endOf` comes about at t_s instead (s); null when there is none. */
  shift(event: number, t_s: number): FlightPlan | null {
    this.shifted_s[event] = t_s;
    try {
      return planOn(this.compiled.study, this.compiled.bodies, this.shifted_s, false);
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
