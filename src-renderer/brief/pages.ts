/** The pages of a brief: which a study has, and what each says in its heading. Plain data and sentences. */
import type { Claim } from '../../core/contract/claims.ts';
import type { Study } from '../../core/contract/study.ts';
import { gapEvent, gapOf_s, hasGap, otherGap_s, withGap } from '../../core/study/gap.ts';
import { withNumbers } from '../../core/study/numbers.ts';
import { fixed } from '../../core/units/figures.ts';
import type { FilmVariant } from '../film/picture/scene.ts';

export type PageId = 'question' | 'staging' | 'pair' | 'cost' | 'why' | 'verdict' | 'basis';

/** The sheet on which pages are laid out before it is scaled, and the width between its margins, px. */
export const SHEET_px = { width: 1200, height: 675 };
export const INNER_px = SHEET_px.width - 96;

/** One of two ways of flying a vehicle. */
export interface Way {
  /** In the words of whoever makes the claim; the gap where nobody made one. */
  readonly name: string;
  readonly study: Study;
}

/** How long after its ignition the slower way is looked at, s. */
export const LATER_s = 10;

/** The two ways that a claim compares, or the study's own gap and another; null where there is nothing to compare. */
export function waysOf(study: Study, claim: Claim | null): readonly [Way, Way] | null {
  if (claim !== null) {
    const { baseline, change } = claim;
    const least_s = baseline.leastGap_s ?? -Infinity;
    // A gap shorter than the baseline can achieve is not what a claim is judged against.
    const raised = Object.entries(baseline.set).map(
      ([path, value]) => [path, path.endsWith('.trigger.gap_s') ? Math.max(value, least_s) : value] as const,
    );
    const way = (name: string, set: readonly (readonly [string, number])[]): Way => ({
      name,
      study: withNumbers(
        study,
        set.map(([path, value]) => ({ path, value })),
      ),
    });
    return [way(change.name, Object.entries(change.set)), way(baseline.name, raised)];
  }
  if (!hasGap(study)) return null;
  const event = gapEvent(study);
  const own_s = gapOf_s(study, event);
  const other_s = otherGap_s(own_s);
  return [
    { name: gapName(own_s), study },
    { name: gapName(other_s), study: withGap(study, event, other_s) },
  ];
}

/** "ignition 1.5 s before the last cut-off", "10 s from the last cut-off to ignition". */
function gapName(gap_s: number): string {
  if (gap_s === 0) return 'ignition with the last cut-off';
  return gap_s < 0
    ? `ignition ${seconds(-gap_s)} before the last cut-off`
    : `ignition ${seconds(gap_s)} after the last cut-off`;
}

/** "1.5 s", "10 s". */
const seconds = (value_s: number): string => `${fixed(value_s, Number.isInteger(value_s) ? 0 : 1)} s`;

/** What happens at staging, for those who never saw one; the names of what lets go and of what is lit. */
export function stagingSentence(gap_s: number, below: string, above: string): string {
  const [lower, upper] = [below.toLowerCase(), above.toLowerCase()];
  if (gap_s < 0)
    return `The ${upper} lights ${seconds(-gap_s)} before the ${lower}’s last engines stop: something always pushes.`;
  if (gap_s === 0) return `The ${upper} lights in the instant in which the ${lower}’s last engines stop.`;
  return `The ${lower}’s last engines stop. ${seconds(gap_s)} later the ${upper} lights; until then nothing pushes.`;
}

/** How the second way falls behind the first, once both push again. Speeds in m/s, times in s. */
export function pairSentence(gaps_s: readonly [number, number], ahead_mps: number, at_s: number): string {
  const letter = ahead_mps >= 0 ? 'A' : 'B';
  const wait = Math.max(...gaps_s);
  const slower = gaps_s[0] < gaps_s[1] ? 'B' : 'A';
  const coasts = wait > 0 ? `${slower} coasts for ${seconds(wait)} and slows` : `${slower} pushes less`;
  return `${letter} is ${fixed(Math.abs(ahead_mps), 0)} m/s ahead ${seconds(at_s)} after the cut-off: ${coasts}, and gravity does not wait.`;
}

/** Since its main cut-off, the span of staging that both ways need, s. */
export function pairSpan_s(pair: readonly FilmVariant[]): { from_s: number; to_s: number } {
  const zeros = pair.map(zeroOf_s);
  return {
    from_s: Math.min(...pair.map((variant, i) => variant.staging.from_s - zeros[i]!)),
    // Until the later of them has pushed for a while.
    to_s: Math.max(
      ...pair.map((variant, i) => variant.staging.to_s - zeros[i]!),
      ...pair.map(({ gap }) => (gap?.gap_s ?? 0) + LATER_s + 2),
    ),
  };
}

/** Mission time of a flight's main cut-off command, of its parting where it has no gap, s. */
export function zeroOf_s(variant: FilmVariant): number {
  return variant.gap?.from_s ?? variant.set.joinings[1]?.time_s ?? 0;
}
