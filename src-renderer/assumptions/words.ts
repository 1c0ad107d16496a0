/** Assumptions in words. */
import { certainty, isInAnswer, type Assumption } from '../../core/contract/assumptions.ts';
import { readable } from '../../core/units/readable.ts';

/** One sentence on how much of the answer stands on trust, and how many numbers more the study holds. */
export function countSentence(all: readonly Assumption[]): string {
  const under = all.filter(isInAnswer);
  const count = (level: 0 | 1 | 2): number => under.filter((each) => certainty(each) === level).length;
  const none = count(0);
  const sourced = count(1) + count(2);
  const vouched =
    none === 0
      ? 'each has a source'
      : `${sourced} have a source, ${none === 1 ? 'one has' : `${none} have`} none`;
  const beside = all.length - under.length;
  const more = beside === 0 ? '' : ` ${beside} more are of other ways of staging and of flights home.`;
  return `The answer stands on ${under.length} numbers: ${vouched}, and ${count(2)} say how uncertain they are.${more}`;
}

/** How well a number is known, in a few words. */
export function spreadWords({ path, provenance }: Assumption): string {
  const spread = provenance?.spread;
  if (spread === undefined) return '';
  const low = readable(path, spread.low);
  const high = readable(path, spread.high);
  const unit = low.unit === high.unit ? '' : ` ${low.unit}`;
  const shape = { uniform: 'anywhere from', triangular: 'most likely itself,', normal: 'two thirds within' }[
    spread.shape
  ];
  return `${shape} ${low.figure}${unit} to ${high.figure} ${high.unit}`.trim();
}
