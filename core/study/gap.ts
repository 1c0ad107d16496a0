/** The staging gap of a study: where it stands, and the same study with another. */
import type { Study } from '../contract/study.ts';

/** The study has no such gap. */
export class GapError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'GapError';
  }
}

/**
 * Id of the event whose trigger is a gap: the named one, or the study's first. Throws GapError when there is none or the
 * name is another's. Unitless.
 */
export function gapEvent(study: Study, id?: string): string {
  const gaps = study.sequence.events.filter((event) => event.trigger.kind === 'gap').map((event) => event.id);
  if (gaps.length === 0) {
    throw new GapError(
      'sequence.events: received no event with a "gap" trigger, allowed is a study whose ignition has one; there is no gap to vary',
    );
  }
  if (id !== undefined && !gaps.includes(id)) {
    throw new GapError(`gap event: received "${id}", allowed is ${gaps.join(', ')}`);
  }
  return id ?? gaps[0]!;
}

/** Whether any event of the study has a gap that can be varied. Unitless. */
export function hasGap(study: Study): boolean {
  return study.sequence.events.some(({ trigger }) => trigger.kind === 'gap');
}

/** The gap (s) that is set beside a study's own where nobody names one: a wait where that is short, none where it is long. */
export function otherGap_s(own_s: number): number {
  return own_s < 5 ? 10 : 0;
}

/** The gap (s) of an event of the study; NaN when its trigger is none. */
export function gapOf_s(study: Study, event: string): number {
  const trigger = study.sequence.events.find((e) => e.id === event)?.trigger;
  return trigger?.kind === 'gap' ? trigger.gap_s : Number.NaN;
}

/** The same study with another gap (s) at an event; the rest is shared, nothing is changed in place. */
export function withGap(study: Study, event: string, gap_s: number): Study {
  return {
    ...study,
    sequence: {
      ...study.sequence,
      events: study.sequence.events.map((e) =>
        e.id === event && e.trigger.kind === 'gap' ? { ...e, trigger: { ...e.trigger, gap_s } } : e,
      ),
    },
  };
}
