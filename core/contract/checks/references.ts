/** What the checks share: places in the study, and names that must exist. */
import { formatPath } from '../places.ts';
import { didYouMean, makeProblem, oneOf, quote, type Problem } from '../problem.ts';
import type { Study } from '../study.ts';

/** A place within an event, as a path that names the event by its id where it can. Indices count from 0. */
export function inEvent(study: Study, event: number, ...steps: (string | number)[]): string {
  return formatPath(study, ['sequence', 'events', event, ...steps]);
}

/** The problem of a name that is not among those known, or nothing when it is. `what` is such as "a body". Unitless. */
export function checkName(path: string, name: string, known: readonly string[], what: string): Problem[] {
  if (known.includes(name)) return [];
  const allowed = oneOf(known, `nothing, since the study has no such thing as ${what}`);
  return [makeProblem(path, `${quote(name)}, which is not ${what}`, allowed, didYouMean(name, known))];
}

/** A problem for each name that stands in a list for the second time. Unitless; indices count from 0. */
export function checkRepeats(names: readonly string[], pathOf: (index: number) => string): Problem[] {
  return names.flatMap((name, i) =>
    names.indexOf(name) < i ? [makeProblem(pathOf(i), `${quote(name)} a second time`, 'each name once')] : [],
  );
}
