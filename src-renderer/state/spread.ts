/** Reading a spread's reply, and how large a spread the window asks for. */
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
