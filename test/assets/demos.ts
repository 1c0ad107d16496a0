/** The demos as the tests read them: loaded, solved cold and worked out once a file of tests. */
import { readdirSync, readFileSync } from 'node:fs';
import { expect } from 'vitest';
import { loadStudy } from '../../core/contract/load.ts';
import type { Study } from '../../core/contract/study.ts';
import { figuresOf, solved, type Figures } from './figures.ts';

const FOLDER = new URL('../../assets/demos/', import.meta.url);
const ENDING = '.plumeline.json';
export type Name = string;
/** Every demo of the folder: a new file is found, and nothing else need change. */
export const NAMES: readonly Name[] = readdirSync(FOLDER)
  .filter((file) => file.endsWith(ENDING))
  .map((file) => file.slice(0, -ENDING.length))
  .sort();

/** The file's text. */
export const textOf = (name: string): string =>
  readFileSync(new URL(`${name}.plumeline.json`, FOLDER), 'utf8');

function load(name: string): Study {
  const result = loadStudy(textOf(name));
  if (!result.ok) throw new Error(result.problems.map((problem) => problem.sentence).join('\n'));
  return result.study;
}

/** The demos whose notes say what a second of gap costs, by a block of figures. */
export const gapNames = (): Name[] => NAMES.filter((name) => study(name).notes.includes('\nFIGURES\n'));

/** Worked out once a demo, since every test below reads it. */
export function once<T>(make: (name: Name) => T): (name: Name) => T {
  const made = new Map<Name, T>();
  return (name) => {
    if (!made.has(name)) made.set(name, make(name));
    return made.get(name)!;
  };
}

export const study = once(load);
export const cold = once((name) => solved(study(name)));
export const figures = once((name) => figuresOf(study(name)));
/** What a demo's notes say on a line "label: number unit". */
export function stated(name: Name, label: string): { value: number; unit: string } {
  const line = study(name)
    .notes.split('\n')
    .find((each) => each.startsWith(`${label}: `));
  const [, number, unit] = /: (-?[\d.]+) ?(.*)$/.exec(line ?? '') ?? [];
  if (number === undefined || unit === undefined)
    throw new Error(`the notes of "${name}" have no figure "${label}"`);
  return { value: Number(number), unit };
}

/** The notes name a change of thrust, the thrust to weight that it makes, and the loss in m/s a second. */
export function expectInNotes(name: Name, change: string, now: Figures): void {
  const after = study(name).notes.split(`${change} (thrust to weight `)[1] ?? '';
  const [, weight, loss] = /^([\d.]+)\)[a-z ]* loses ([\d.]+) m\/s/.exec(after) ?? [];
  // Written with two decimals: half of the last, and a little for the solves.
  expect(Math.abs(Number(weight) - now.thrustToWeight)).toBeLessThan(0.006);
  expect(Math.abs(Number(loss) - now.velocityLoss_mpsps)).toBeLessThan(0.006);
}
