/** Assumptions in words. */
import { certainty, type Assumption } from '../../core/contract/assumptions.ts';
import { readable } from '../../core/units/readable.ts';

/** One sentence on how much of the study stands on trust. */
export function countSentence(all: readonly Assumption[]): string {
  const count = (level: 0 | 1 | 2): number => all.filter((each) => certainty(each) === level).length;
  const none = count(0);
  const sourced = count(1) + count(2);
  const vouched =
    none === 0
      ? 'each has a source'
      : `${sourced} have a source, ${none === 1 ? 'one has' : `${none} have`} none`;
  return `The answer stands on ${all.length} numbers: ${vouched}, and ${count(2)} say how uncertain they are.`;
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
