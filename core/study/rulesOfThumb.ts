/** Rules of thumb about the staging gap, as data, and what a study says beside them. */
import type { Anatomy } from './anatomy.ts';

/** Shares are of the payload, dimensionless. */
export interface RuleOfThumb {
  readonly words: string;
  readonly source: string;
  /** Share of the payload for one second of gap that the rule gives. */
  readonly perSecond: number;
}

export const RULES_OF_THUMB: readonly RuleOfThumb[] = [
  {
    words: 'just under 1 % of the payload for a second of gap',
    source: 'common practice, no source',
    perSecond: 0.009,
  },
  {
    words: 'about 10 % of the payload for some 10 s of gap',
    source: 'common practice, no source',
    perSecond: 0.01,
  },
];

/** Within this factor of a rule, it is called agreement. */
const NEAR = 1.25;

/**
 * A sentence for each rule: what it says, what this study says, and why they differ, from the loss between two gaps (s) at
 * which the payload was solved, the first of which has `payload_kg`. Speeds in m/s, masses in kg.
 */
export function besideRules(anatomy: Anatomy, payload_kg: number, gap_s: number): string[] {
  const perSecond = -anatomy.payload_kg / payload_kg / gap_s;
  const speed_mpsps = anatomy.velocity_mps / gap_s;
  const worth = anatomy.worth_kgpmps / payload_kg;
  const percent = (share: number): string => (100 * share).toFixed(2);
  return RULES_OF_THUMB.map((rule) => {
    const ratio = perSecond / rule.perSecond;
    const verdict =
      ratio > NEAR
        ? 'more than the rule'
        : ratio < 1 / NEAR
          ? 'less than the rule'
          : 'in agreement with the rule';
    return (
      `Rule of thumb (${rule.source}): ${rule.words}. Here ${percent(perSecond)} % for a second, ${verdict}: ` +
      `a second costs ${speed_mpsps.toFixed(2)} m/s and a metre per second ${percent(worth)} % of the payload; at that worth the rule ` +
      `would need ${(rule.perSecond / worth).toFixed(1)} m/s for a second.`
    );
  });
}
