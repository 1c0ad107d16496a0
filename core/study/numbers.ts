/** Numbers of a study by their path, read and changed without checking the whole document again at every change. */
import { childAt, followPath, formatPath, listNumbers, type Steps } from '../contract/places.ts';
import { describeValue, makeProblem, oneOf } from '../contract/problem.ts';
import { allowsValue, describeAllowed, isWhole, schemaAt } from '../contract/schemaWalk.ts';
import { studySchema, type Study } from '../contract/study.ts';

/** A number of the study set to a value, in the unit of the path's last word. */
export interface NumberChange {
  readonly path: string;
  readonly value: number;
}

/** A path or value that the study does not allow; the message is a clause without its full stop. */
export class NumberError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'NumberError';
  }
}

/** What a study holds beside what is flown. */
const WORDS = ['format', 'title', 'notes', 'provenance', 'claims', 'stagingModes', 'film'];

/**
 * What answers of a study depend on: without claims, film, notes and other ways of staging, and of provenance only spreads,
 * under a common source. Two studies that are equal in this have the same answers and bands. Unitless.
 */
export function flownStudy(study: Study): Study {
  const { claims: _claims, film: _film, stagingModes: _modes, ...flown } = study;
  const provenance = Object.fromEntries(
    Object.entries(study.provenance).flatMap(([path, { spread }]) =>
      spread === undefined ? [] : [[path, { source: 'left out', spread }] as const],
    ),
  );
  return { ...flown, notes: '', provenance };
}

/** The steps to a number of the study. Throws NumberError where no number stands. Unitless. */
export function stepsToNumber(study: Study, path: string): Steps {
  const { steps, value, missing } = followPath(study, path);
  if (missing !== undefined) {
    const allowed = oneOf(missing.known, 'a path that ends before it');
    throw new NumberError(`${path}: received the unknown name "${missing.word}", allowed is ${allowed}`);
  }
  if (typeof value !== 'number' || WORDS.includes(String(steps[0])))
    throw new NumberError(
      `${path}: received ${describeValue(value)}, allowed is the path of a number that is computed with`,
    );
  return steps;
}

/** The number at a path, in the unit of the path's last word. Throws NumberError where no number stands. */
export function numberOf(study: Study, path: string): number {
  return stepsToNumber(study, path).reduce<unknown>(childAt, study) as number;
}

/**
 * The same study with other numbers, each in the unit of its path's last word; nothing is changed in place and nothing is
 * checked but that each path leads to a number. Throws NumberError where one does not.
 */
export function withNumbers(study: Study, changes: readonly NumberChange[]): Study {
  return changes.reduce(
    (changed, { path, value }) => withStep(changed, stepsToNumber(study, path), value),
    study,
  );
}

/** As `withNumbers` for one number whose steps are known. In the unit of the steps' last word. */
export function withStep(study: Study, steps: Steps, value: number): Study {
  return replaced(study, steps, 0, value) as Study;
}

function replaced(node: unknown, steps: Steps, at: number, value: number): unknown {
  if (at === steps.length) return value;
  const step = steps[at]!;
  if (Array.isArray(node)) {
    const copy = [...(node as unknown[])];
    copy[step as number] = replaced(copy[step as number], steps, at + 1, value);
    return copy;
  }
  const object = node as Record<string, unknown>;
  return { ...object, [step]: replaced(object[step], steps, at + 1, value) };
}

/**
 * Why the study cannot hold a value at the place of a number, as a sentence, or null when it can. In the unit of the steps'
 * last word; only the place's own limits are asked for.
 */
export function refusalOf(study: Study, steps: Steps, value: number): string | null {
  const place = schemaAt(studySchema, study, steps);
  if (place === undefined) throw new TypeError(`${formatPath(study, steps)} is no place of a study`);
  if (allowsValue(place, value)) return null;
  return makeProblem(formatPath(study, steps), String(value), describeAllowed(place)).sentence;
}

/** Throws NumberError unless each change leads to a number and its place allows the value. Units as in `NumberChange`. */
export function checkChanges(study: Study, changes: readonly NumberChange[]): void {
  for (const { path, value } of changes) {
    const refused = refusalOf(study, stepsToNumber(study, path), value);
    if (refused !== null) throw new NumberError(refused.replace(/\.$/, ''));
  }
}

/** Whether a number of the study counts something, so that it has no derivative. Unitless. */
export function countsWhole(study: Study, steps: Steps): boolean {
  const place = schemaAt(studySchema, study, steps);
  return place !== undefined && isWhole(place);
}

/** Paths of all numbers of the study that are computed with, in the document's order, events by their ids. Unitless. */
export function numberPaths(study: Study): string[] {
  return listNumbers(study)
    .filter(({ path }) => !WORDS.includes(path.split('.')[0]!))
    .flatMap(({ path, value }) => (typeof value === 'number' ? [path] : value.map((_, i) => `${path}.${i}`)));
}

/** The path of the gap of an event whose trigger is one. Unitless. */
export function gapPath(event: string): string {
  return `sequence.events.${event}.trigger.gap_s`;
}
