/** Which ignition the propellant of a body is looked at for, and when it comes. */
import type { CompiledStudy } from '../../flight/compile.ts';
import type { FlightRecord } from '../../flight/record.ts';
import { settlingOf, type StagingSettling } from './staging.ts';

/** Mission times of the last cut-off before an ignition and of its start command, and the start's delay. s */
export interface IgnitionTimes {
  readonly cutoff_s: number;
  readonly command_s: number;
  readonly delay_s: number;
}

/** Before an overlap the propellant has never been without thrust: its history starts so long before the first thrust, s. */
const BEFORE_s = 1;

/** Times about an ignition (the event's id) of a recorded flight, s; NaN where the flight never came to one of them. */
export function ignitionTimes(compiled: CompiledStudy, record: FlightRecord, event: string): IgnitionTimes {
  const { events } = compiled.study.sequence;
  const { eventTimes_s } = record.plan;
  const index = events.findIndex(({ id }) => id === event);
  const { trigger, action } = events[index]!;
  const command_s = eventTimes_s[index]!;
  const groups = action.kind === 'light' ? compiled.study.vehicle.bodies[action.body]!.engineGroups : {};
  const delay_s = action.kind === 'light' ? groups[action.group]!.startUp.delay_s : 0;
  const cuts_s = events.flatMap((each, i) => {
    if (trigger.kind === 'gap') return each.id === trigger.cutoff ? [eventTimes_s[i]!] : [];
    return each.action.kind === 'cut' && eventTimes_s[i]! <= command_s ? [eventTimes_s[i]!] : [];
  });
  return { cutoff_s: cuts_s.length === 0 ? Number.NaN : Math.max(...cuts_s), command_s, delay_s };
}

/** The event that first lights a body (its id): that of a gap where there is one. Null when the sequence has none. Unitless. */
export function ignitionEvent(compiled: CompiledStudy, body: string): string | null {
  const lights = compiled.study.sequence.events.filter(
    ({ action }) => action.kind === 'light' && action.body === body,
  );
  return (lights.find(({ trigger }) => trigger.kind === 'gap') ?? lights[0])?.id ?? null;
}

/**
 * The settling of a body's (its id) propellant before an ignition of a recorded flight, from the last cut-off to the first
 * thrust, or to mission time `until_s` (s). Null where the body has no tanks or the flight never came to that.
 */
export function settlingBefore(
  compiled: CompiledStudy,
  record: FlightRecord,
  body: string,
  event: string,
  until_s?: number,
): StagingSettling | null {
  const { cutoff_s, command_s, delay_s } = ignitionTimes(compiled, record, event);
  const first_s = until_s ?? command_s + delay_s;
  const from_s = Math.min(cutoff_s, first_s - BEFORE_s);
  return Number.isNaN(from_s) ? null : settlingOf(compiled, record, body, from_s, first_s);
}
