/** A judged claim in one breath, and what the stated gain would take. */
import type { Claim } from '../../contract/claims.ts';
import { readValue, type Reading } from '../curve.ts';
import type { ClaimVerdict } from './judge.ts';

/** A claim read off both ways; gains dimensionless, gaps in s, NaN where the curve does not come there. */
export interface BothWays {
  /** The gap of the baseline in the comparison that is judged. */
  readonly gap_s: number;
  /** The gain against that gap, read off the curve of the judged members. */
  readonly gain: Reading;
  /** The gap against which the stated gain is reached. */
  readonly place: Reading;
}

/** The gain at the claim's gap, and the gap at the claim's gain; null where the claim sets no gap. */
export function bothWays(claim: Claim, { curve, place }: ClaimVerdict): BothWays | null {
  const path = Object.keys(claim.baseline.set).find((each) => each.endsWith('.trigger.gap_s'));
  if (path === undefined || curve === null || place === null) return null;
  const gap_s = Math.max(claim.baseline.set[path]!, claim.baseline.leastGap_s ?? -Infinity);
  return { gap_s, gain: readValue(curve, gap_s), place };
}

const percent = (share: number): string => (100 * share).toFixed(1).replace('-', '−');

/**
 * The verdict first, then our figure with its 5 to 95 % band, then the gap that the stated gain would need. Percentages for
 * gains, seconds for gaps.
 */
export function claimAnswer(claim: Claim, verdict: ClaimVerdict): string {
  const own = verdict.variants[0];
  if (own === undefined || verdict.verdict === 'noAnswer') return verdict.sentences.at(-1) ?? '';
  const { gain } = own;
  const figure = `${percent(gain.median)} % (${percent(gain.p5)} to ${percent(gain.p95)} %)`;
  const ways = bothWays(claim, verdict);
  const against = ways === null ? '' : `against ${ways.gap_s} s `;
  const first = {
    supported: `Supported: ${against}it is ${figure}.`,
    notSupported: `Not supported: ${against}it is ${figure}.`,
    // As stated it may be settled all the same, and another reading of the claim comes out otherwise.
    dependsOnAssumption:
      own.verdict === 'dependsOnAssumption'
        ? `Open: ${against}it is ${figure}.`
        : own.verdict === 'supported'
          ? `Only under an assumption: ${against}it is ${figure}.`
          : `Not as stated: ${against}it is ${figure}.`,
  }[verdict.verdict];
  return `${first}${placeSentence(claim, ways)}`;
}

function placeSentence(claim: Claim, ways: BothWays | null): string {
  if (ways === null) return '';
  const { value, low, high } = ways.place;
  const stated = `${percent(claim.statedGain).replace(/\.0$/, '')} %`;
  if (Number.isNaN(value)) return ` ${stated} are reached at none of the gaps solved.`;
  const end = (gap_s: number): string => (Number.isNaN(gap_s) ? 'beyond' : gap_s.toFixed(1));
  return ` ${stated} would need a gap of ${value.toFixed(1)} s (${end(low)} to ${end(high)} s).`;
}
