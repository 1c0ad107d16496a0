/** Where numbers come from: each entry must stand beside a number. */
import { followPath } from '../places.ts';
import { describeValue, didYouMean, makeProblem, oneOf, quote, type Problem } from '../problem.ts';
import type { Study } from '../study.ts';

/**
 * Problems with provenance: a path that leads to no number of the study, the same number by two paths, and a
 * triangular spread whose number, its peak, lies outside. Spreads are in the unit of their number.
 */
export function checkProvenance(study: Study): Problem[] {
  const seen = new Map<string, string>();
  return Object.entries(study.provenance).flatMap(([path, entry]) => {
    const at = `provenance[${JSON.stringify(path)}]`;
    const { steps, value, missing } = followPath(study, path);
    if (missing !== undefined) {
      const allowed = `the path of a number, where that name is ${oneOf(missing.known, 'left out')}`;
      const hint = didYouMean(missing.word, missing.known);
      return [makeProblem(at, `a path with the unknown name ${quote(missing.word)}`, allowed, hint)];
    }
    if (typeof value !== 'number' || steps[0] === 'provenance') {
      return [makeProblem(at, `a path to ${describeValue(value)}`, 'the path of a number of the study')];
    }
    const place = JSON.stringify(steps);
    const other = seen.get(place);
    seen.set(place, path);
    if (other !== undefined) {
      return [makeProblem(at, `the number of ${quote(other)} again`, 'one entry for each number')];
    }
    const { spread } = entry;
    if (spread?.shape !== 'triangular' || (spread.low <= value && value <= spread.high)) return [];
    const received = `${spread.low} to ${spread.high} around ${value}`;
    return [makeProblem(`${at}.spread`, received, 'a triangular spread with the number itself in it')];
  });
}
