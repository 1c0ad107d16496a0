/** Claims: their ids, and that each of their paths leads to a number that may have the value. */
import { followPath } from '../places.ts';
import { describeValue, didYouMean, makeProblem, oneOf, quote, type Problem } from '../problem.ts';
import type { Study } from '../study.ts';
import { checkRepeats } from './references.ts';

/** Problems with the claims of a study. Values in the units of their paths. */
export function checkClaims(study: Study): Problem[] {
  const claims = study.claims ?? [];
  return [
    ...checkRepeats(
      claims.map((claim) => claim.id),
      (i) => `claims.${i}.id`,
    ),
    ...claims.flatMap((claim, i) => {
      const at = `claims.${i}`;
      return [
        ...checkChanges(study, `${at}.baseline.set`, claim.baseline.set),
        ...checkChanges(study, `${at}.change.set`, claim.change.set),
        ...claim.assumptions.flatMap((assumption, k) => [
          ...checkChanges(study, `${at}.assumptions.${k}.baseline`, assumption.baseline),
          ...checkChanges(study, `${at}.assumptions.${k}.change`, assumption.change),
        ]),
        ...claim.same.flatMap(({ paths }, k) =>
          paths.flatMap((path, n) => checkPath(study, `${at}.same.${k}.paths.${n}`, path)),
        ),
        ...checkLeastGap(study, at, claim),
      ];
    }),
  ];
}

function checkPath(study: Study, at: string, path: string): Problem[] {
  const { missing } = followPath(study, path);
  if (missing === undefined) return [];
  const allowed = `a path, where that name is ${oneOf(missing.known, 'left out')}`;
  return [
    makeProblem(
      at,
      `a path with the unknown name ${quote(missing.word)}`,
      allowed,
      didYouMean(missing.word, missing.known),
    ),
  ];
}

function checkChanges(study: Study, at: string, set: Readonly<Record<string, number>>): Problem[] {
  return Object.keys(set).flatMap((path) => {
    const place = `${at}[${JSON.stringify(path)}]`;
    const wrong = checkPath(study, place, path);
    if (wrong.length > 0) return wrong;
    const { value, steps } = followPath(study, path);
    if (typeof value === 'number' && steps[0] !== 'provenance' && steps[0] !== 'claims') return [];
    return [
      makeProblem(place, `a path to ${describeValue(value)}`, 'the path of a number that is computed with'),
    ];
  });
}

/** A gap may only be compared with one that the baseline can achieve: the claim must say which. */
function checkLeastGap(
  study: Study,
  at: string,
  { baseline, change, assumptions }: NonNullable<Study['claims']>[number],
): Problem[] {
  const sets = [baseline.set, change.set, ...assumptions.flatMap((each) => [each.baseline, each.change])];
  const touched = sets.some((set) => Object.keys(set).some((path) => path.endsWith('.trigger.gap_s')));
  if (!touched || (baseline.leastGap_s !== undefined && baseline.leastGapWhy !== undefined)) return [];
  return [
    makeProblem(
      `${at}.baseline`,
      'a comparison of gaps without leastGap_s and leastGapWhy',
      'one with both: the shortest gap that the baseline can really achieve, and why',
    ),
  ];
}
