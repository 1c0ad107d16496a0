/** A sequence with its names looked up, once for all the plans that are made of it. */
import type { Action, SequenceEvent, Trigger } from '../contract/sequence.ts';
import type { Study } from '../contract/study.ts';
import type { CompiledBody } from '../vehicle/structure.ts';
import { PlanError } from './planTypes.ts';
import type { AirAtRelease } from './pushes.ts';
import { tieEvents, type Tie } from './schedule.ts';
import { isStateTrigger } from './stateTriggers.ts';

/** Of an event waiting for propellant: the body, and what is to be left of it, kg. */
interface Level {
  readonly body: number;
  readonly mass_kg: number;
}

/** What a plan asks of a study again and again; events and bodies by index, −1 for none. */
export class PlanIndex {
  readonly events: readonly SequenceEvent[];
  /** One entry an event; null when its trigger stands for itself. */
  readonly ties: readonly (Tie | null)[];
  /** The body that an event's action is about: that which parts, or whose engines are commanded. */
  readonly bodyOf: readonly number[];
  /** The events that an `after` trigger waits for; empty for others. */
  readonly afterOf: readonly (readonly number[])[];
  readonly levels: readonly (Level | null)[];
  /** Events that only the flight can bring about, a trigger or a limit that is held. */
  readonly waited: readonly number[];
  readonly finalCutoff: number;
  readonly payloadBody: number;

  constructor(
    readonly study: Study,
    readonly bodies: readonly CompiledBody[],
    readonly air: AirAtRelease,
  ) {
    const { events } = study.sequence;
    this.events = events;
    this.ties = tieEvents(events);
    this.bodyOf = events.map(({ action }) => {
      const id = bodyNamed(action);
      return id === null ? -1 : this.bodyIndex(id);
    });
    this.afterOf = events.map(({ trigger }) =>
      trigger.kind === 'after' ? trigger.events.map((id) => this.eventIndex(id)) : [],
    );
    this.levels = events.map(({ trigger }) => this.levelOf(trigger));
    this.waited = events.flatMap(({ trigger, action }, i) =>
      isStateTrigger(trigger) || action.kind === 'hold' ? [i] : [],
    );
    this.finalCutoff = this.eventIndex(study.sequence.finalCutoff);
    this.payloadBody = this.bodyIndex(study.payload.ridesOn);
  }

  private levelOf(trigger: Trigger): Level | null {
    if (trigger.kind !== 'propellant') return null;
    const body = this.bodyIndex(trigger.body);
    const { left } = trigger;
    return { body, mass_kg: left === 'reserves' ? this.bodies[body]!.protected_kg : left.mass_kg };
  }

  /** Index of a body by its id, −1 for none. Unitless. */
  bodyIndex(id: string): number {
    return this.bodies.findIndex((body) => body.id === id);
  }

  /** Index of an event by its id, −1 for none. Unitless. */
  eventIndex(id: string): number {
    return this.events.findIndex((event) => event.id === id);
  }

  /** Mission time at which the sequence begins, s. Throws PlanError when nothing in it starts by the clock. */
  firstTime_s(): number {
    const times = this.events.flatMap(({ trigger }) => (trigger.kind === 'time' ? [trigger.time_s] : []));
    if (times.length === 0)
      throw new PlanError('sequence.events', 'no event has a "time" trigger, so nothing starts');
    return Math.min(...times);
  }
}

/** The body that an action is about, null for none. */
function bodyNamed(action: Action): string | null {
  switch (action.kind) {
    case 'release':
    case 'steer':
    case 'endHold':
      return null;
    case 'part':
      return action.link;
    default:
      return action.body;
  }
}
