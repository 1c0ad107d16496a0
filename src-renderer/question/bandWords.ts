/** The band in sentences. */
import { fixed } from '../../core/units/figures.ts';
import type { SpreadReply } from '../compute/protocol.ts';
import { quantityAt } from '../state/spread.ts';

/** What the draws say that a gap (s) costs against the reference. */
export function bandSentence(reply: SpreadReply, gap_s: number): string {
  const gain = quantityAt(reply, 'gain', gap_s);
  const difference = quantityAt(reply, 'difference_kg', gap_s);
  if (gain === null || difference === null || !Number.isFinite(gain.median))
    return `At ${fixed(gap_s, 0)} s nothing was drawn.`;
  // A cost is a negative gain, so that the ends change places.
  const cost = (value: number): string => fixed(-100 * value, 2);
  const kg = (value: number): string => fixed(-value, 0);
  return (
    `In two of three draws of the ${reply.inputs.length} uncertain numbers, ${fixed(gap_s, 0)} s cost ` +
    `${cost(gain.fiveSixths)} to ${cost(gain.sixth)} % (${kg(difference.fiveSixths)} to ${kg(difference.sixth)} kg), ` +
    `in nine of ten ${cost(gain.p95)} to ${cost(gain.p5)} %. Each draw solves all gaps, so that what they have in ` +
    'common falls out of the difference.'
  );
}

/** Draws without an answer, and why; empty when there are none. */
export function failureSentence(reply: SpreadReply): string {
  const { members, solved, failures } = reply.summary;
  const lost = members - solved;
  if (lost === 0) return `All ${fixed(members, 0)} draws have an answer.`;
  const why = failures[0]?.message;
  return `${fixed(lost, 0)} of ${fixed(members, 0)} draws have no answer and are left out${why === undefined ? '' : `: ${why}`}`;
}

/** The cost of a gap with its band, for the answer in words; empty without one. */
export function shortBand(reply: SpreadReply | null, gap_s: number): string {
  const gain = reply === null ? null : quantityAt(reply, 'gain', gap_s);
  if (gain === null || !Number.isFinite(gain.sixth)) return '';
  return `${fixed(-100 * gain.fiveSixths, 1)} to ${fixed(-100 * gain.sixth, 1)} %`;
}
