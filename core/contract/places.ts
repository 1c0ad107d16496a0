/**
 * Dotted paths into a study, as people write them: `vehicle.bodies.upper.dryMass_kg`,
 * `vehicle.aerodynamics.0.referenceArea_m2`, and for an event its id: `sequence.events.kick.action.law.angle_deg`.
 */
import { isJsonObject } from './json.ts';

/** The steps from the document's root: keys of objects, indices of lists. */
export type Steps = readonly (string | number)[];

const EVENTS = ['sequence', 'events'];

function isEvents(steps: Steps): boolean {
  return steps.length === 2 && steps[0] === EVENTS[0] && steps[1] === EVENTS[1];
}

/** The id of an event, where it has one that no other event has. */
function idAt(events: unknown, index: number): string | undefined {
  if (!Array.isArray(events)) return undefined;
  const ids = events.map((event: unknown) => (isJsonObject(event) ? event['id'] : undefined));
  const id = ids[index];
  return typeof id === 'string' && id !== '' && ids.indexOf(id) === ids.lastIndexOf(id) ? id : undefined;
}

/** What stands one step further in, or undefined. Only own properties count. */
export function childAt(value: unknown, step: PropertyKey): unknown {
  if (Array.isArray(value)) return typeof step === 'number' ? (value as unknown[])[step] : undefined;
  return isJsonObject(value) && Object.hasOwn(value, step) ? value[String(step)] : undefined;
}

/** What stands at the end of the steps, or undefined. Only own properties count. */
export function valueAt(document: unknown, steps: readonly PropertyKey[]): unknown {
  return steps.reduce<unknown>((value, step) => childAt(value, step), document);
}

/**
 * Steps as a path that people read: dots between, an event by its id where it has one of its own, a key that holds a
 * dot (as those of `provenance` do) in brackets and quotation marks. Indices count from 0.
 */
export function formatPath(document: unknown, steps: readonly PropertyKey[]): string {
  let path = '';
  let value = document;
  const taken: (string | number)[] = [];
  for (const raw of steps) {
    const step = typeof raw === 'number' ? raw : String(raw);
    const id = isEvents(taken) && typeof step === 'number' ? idAt(value, step) : undefined;
    const word = id ?? String(step);
    if (/[.\s"]/.test(word) || word === '') path += `[${JSON.stringify(word)}]`;
    else path += path === '' ? word : `.${word}`;
    value = childAt(value, step);
    taken.push(step);
  }
  return path;
}

/** How far a path leads into a document. */
export interface Found {
  /** The steps that were taken; all of the path when `missing` is undefined. */
  readonly steps: Steps;
  /** What stands where the steps end. */
  readonly value: unknown;
  /** The first word of the path that leads nowhere, and the words that would lead on. */
  readonly missing?: { readonly word: string; readonly known: readonly string[]; readonly rest: number };
}

/** Follows a dotted path from the root of a document as far as it leads. Indices count from 0. */
export function followPath(document: unknown, path: string): Found {
  const words = path.split('.');
  const steps: (string | number)[] = [];
  let value = document;
  for (const [i, word] of words.entries()) {
    const step = stepFor(value, steps, word);
    if (step === undefined) {
      return { steps, value, missing: { word, known: knownWords(value, steps), rest: words.length - i - 1 } };
    }
    steps.push(step);
    value = childAt(value, step);
  }
  return { steps, value };
}

function stepFor(value: unknown, steps: Steps, word: string): string | number | undefined {
  if (!Array.isArray(value)) return isJsonObject(value) && Object.hasOwn(value, word) ? word : undefined;
  if (/^(?:0|[1-9]\d*)$/.test(word) && Number(word) < value.length) return Number(word);
  if (!isEvents(steps)) return undefined;
  const index = value.findIndex((_, i) => idAt(value, i) === word);
  return index < 0 ? undefined : index;
}

function knownWords(value: unknown, steps: Steps): string[] {
  if (!Array.isArray(value)) return isJsonObject(value) ? Object.keys(value) : [];
  return value.map((_, i) => (isEvents(steps) ? idAt(value, i) : undefined) ?? String(i));
}

/** Parts of a study that hold no number of the vehicle, its flight or its mission. */
const SAID_BESIDE: readonly string[] = ['format', 'provenance', 'claims', 'film'];

/** A number of a study, or a list of nothing but numbers, and where it stands. In the unit of the path's last word. */
export interface PlacedNumber {
  readonly path: string;
  readonly value: number | readonly number[];
}

/** All numbers of a study that say something of what flies or could fly, in the document's order; events by their ids. */
export function listNumbers(study: object): PlacedNumber[] {
  const found: PlacedNumber[] = [];
  const visit = (value: unknown, steps: Steps): void => {
    if (typeof value === 'number' || isNumbers(value)) found.push({ path: formatPath(study, steps), value });
    else if (Array.isArray(value)) value.forEach((each, i) => visit(each, [...steps, i]));
    else if (typeof value === 'object' && value !== null) {
      for (const [key, each] of Object.entries(value)) {
        if (steps.length > 0 || !SAID_BESIDE.includes(key)) visit(each, [...steps, key]);
      }
    }
  };
  visit(study, []);
  return found;
}

function isNumbers(value: unknown): value is number[] {
  return Array.isArray(value) && value.length > 0 && value.every((each) => typeof each === 'number');
}
