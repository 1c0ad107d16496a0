/** Claims in words for the window: paths by the names of what they lead to. */
import { listAssumptions } from '../../core/contract/assumptions.ts';
import type { Study } from '../../core/contract/study.ts';

/** Names of a study's numbers by path, longest path first. */
export function numberNames(study: Study): Map<string, string> {
  const entries: (readonly [string, string])[] = [];
  for (const { path, part, name, values } of listAssumptions(study)) {
    entries.push([path, `${part}: ${name}`]);
    if (values.length > 1)
      values.forEach((_, i) => entries.push([`${path}.${i}`, `${part}: ${name} (${i + 1})`]));
  }
  return new Map(entries.sort(([p], [q]) => q.length - p.length));
}

/** A sentence in which each path of a number is replaced by its name in quotation marks. */
export function plainly(sentence: string, names: ReadonlyMap<string, string>): string {
  return sentence.replace(/[A-Za-z][\w-]*(?:\.[\w-]+)+/g, (path) => {
    const name = names.get(path);
    return name === undefined ? path : `“${name}”`;
  });
}

/** How far a job is, in words: pieces of work and time left. */
export function progressWords(done: number, of: number, left_s: number): string {
  const left = Number.isFinite(left_s)
    ? left_s < 90
      ? `, ${Math.ceil(left_s)} s left`
      : `, ${Math.ceil(left_s / 60)} min left`
    : '';
  return `${Math.floor(done)} of ${Math.round(of)} solves${left}`;
}
