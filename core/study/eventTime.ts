/** The number by which an event of the sequence is set in time: where it stands, what it says, the same study with another. */
import type { SequenceEvent, Trigger } from '../contract/sequence.ts';
import type { Study } from '../contract/study.ts';

/** Triggers whose time is set by a number of seconds; all others are found by the flight. */
type TimedTrigger = Extract<Trigger, { kind: 'time' | 'after' | 'before' | 'gap' }>;

const KEYS = { time: 'time_s', after: 'delay_s', before: 'lead_s', gap: 'gap_s' } as const;
/** What the document allows, s; the schema says the same, and a test holds the two together. */
const LIMITS_s = {
  time: { least_s: -600, most_s: 100_000 },
  after: { least_s: 0, most_s: 100_000 },
  before: { least_s: 0, most_s: 100_000 },
  gap: { least_s: -60, most_s: 600 },
} as const;

export interface EventTime {
  /** Where it stands in the document. */
  readonly path: string;
  /** What the number is, in words: "gap after MECO". */
  readonly label: string;
  readonly value_s: number;
  /** +1 when a greater number makes the event later, −1 when earlier. */
  readonly sense: 1 | -1;
  readonly least_s: number;
  readonly most_s: number;
}

/** The number of seconds that sets an event's time; null when the flight finds it, or there is no such event. */
export function eventTime(study: Study, id: string): EventTime | null {
  const { events } = study.sequence;
  const trigger = events.find((event) => event.id === id)?.trigger;
  if (trigger === undefined || !isTimed(trigger)) return null;
  const key = KEYS[trigger.kind];
  return {
    path: `sequence.events.${id}.trigger.${key}`,
    label: labelOf(trigger, events),
    value_s: valueOf_s(trigger),
    sense: trigger.kind === 'before' ? -1 : 1,
    ...LIMITS_s[trigger.kind],
  };
}

/**
 * Sets the number (s) of an event in a draft of the study, in place, rounded to the millisecond and kept within what the
 * document allows. Does nothing when the event has none.
 */
export function setEventTime(draft: Study, id: string, value_s: number): void {
  const trigger = draft.sequence.events.find((event) => event.id === id)?.trigger;
  if (trigger === undefined || !isTimed(trigger) || Number.isNaN(value_s)) return;
  const { least_s, most_s } = LIMITS_s[trigger.kind];
  const value = Math.min(most_s, Math.max(least_s, Math.round(value_s * 1000) / 1000));
  switch (trigger.kind) {
    case 'time':
      trigger.time_s = value;
      break;
    case 'after':
      trigger.delay_s = value;
      break;
    case 'before':
      trigger.lead_s = value;
      break;
    case 'gap':
      trigger.gap_s = value;
      break;
  }
}

/** The coarsest round step (s) of 1, 2 or 5 times a power of ten that a pixel of so many seconds can still tell apart. */
export function dragStep_s(secondsPerPixel: number): number {
  const ten = 10 ** Math.floor(Math.log10(secondsPerPixel));
  const share = secondsPerPixel / ten;
  const step = (share <= 1 ? 1 : share <= 2 ? 2 : share <= 5 ? 5 : 10) * ten;
  return Math.min(1, Math.max(0.01, step));
}

function isTimed(trigger: Trigger): trigger is TimedTrigger {
  return trigger.kind in KEYS;
}

function valueOf_s(trigger: TimedTrigger): number {
  switch (trigger.kind) {
    case 'time':
      return trigger.time_s;
    case 'after':
      return trigger.delay_s;
    case 'before':
      return trigger.lead_s;
    case 'gap':
      return trigger.gap_s;
  }
}

function labelOf(trigger: TimedTrigger, events: readonly SequenceEvent[]): string {
  const name = (id: string): string => events.find((event) => event.id === id)?.name ?? id;
  switch (trigger.kind) {
    case 'time':
      return 'mission time';
    case 'after':
      return `after ${trigger.events.map(name).join(', ')}`;
    case 'before':
      return `before ${name(trigger.event)}`;
    case 'gap':
      return `gap after ${name(trigger.cutoff)}`;
  }
}
