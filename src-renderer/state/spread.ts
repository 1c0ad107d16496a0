/** Reading a spread's reply, for which study it still holds, and how large a spread the window asks for. */
import type { Study } from '../../core/contract/study.ts';
import { withGap } from '../../core/study/gap.ts';
import { flownStudy } from '../../core/study/numbers.ts';
import type { QuantitySummary } from '../../core/study/spread/summary.ts';
import type { SpreadReply } from '../compute/protocol.ts';

/** Members of the band that the window asks for by itself: quantiles to a few per cent of the band's width. */
export const USUAL_MEMBERS = 128;

/** A quantity of a reply by its key: payload_kg, difference_kg or gain of a gap (s); null when it was not counted. */
export function quantityAt(
  reply: SpreadReply,
  kind: 'payload_kg' | 'difference_kg' | 'gain',
  gap_s: number,
): QuantitySummary | null {
  const key = `${kind}.${reply.gaps_s.indexOf(gap_s)}`;
  return reply.summary.quantities.find((each) => each.key === key) ?? null;
}

/**
 * Whether what was computed for one study holds for another: what is flown is the same, the gap of `event` left aside where
 * one is named, since a sweep over it does not depend on where it stands.
 */
export function sameFlown(of: Study | null, now: Study | null, event: string | null): boolean {
  if (of === now) return true;
  if (of === null || now === null) return false;
  const text = (study: Study): string =>
    JSON.stringify(flownStudy(event === null ? study : withGap(study, event, 0)));
  return text(of) === text(now);
}
