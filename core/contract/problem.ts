/** How a mistake in a document is told: where, what was received, what is allowed, and all of it in one sentence. */

/** One mistake. `path` is a dotted path into the document, or a line and column where there is no document yet. */
export interface Problem {
  readonly path: string;
  readonly received: string;
  readonly allowed: string;
  readonly sentence: string;
}

/** Longest piece of a received text that is quoted back, in characters. */
const LONGEST_QUOTE = 60;
/** Most names that a list of allowed names spells out. */
const MOST_NAMES = 12;

/**
 * Puts a problem together. `received` and `allowed` are phrases that fit "received …, allowed is …"; `hint` is a
 * clause that ends the sentence. An empty path stands for the document itself. Unitless.
 */
export function makeProblem(path: string, received: string, allowed: string, hint?: string): Problem {
  const place = path === '' ? 'the study' : path;
  const end = hint === undefined ? '.' : `; ${hint}${hint.endsWith('?') ? '' : '.'}`;
  return { path, received, allowed, sentence: `${place}: received ${received}, allowed is ${allowed}${end}` };
}

/** A value as it is quoted in a sentence: short texts and numbers as they are written, the rest by their kind. */
export function describeValue(value: unknown): string {
  switch (typeof value) {
    case 'undefined':
      return 'nothing';
    case 'string':
      return value === '' ? 'an empty text' : quote(value);
    case 'number':
    case 'boolean':
    case 'bigint':
      return String(value);
    default:
      if (value === null) return 'null';
      if (!Array.isArray(value)) return 'an object';
      return value.length === 1 ? 'a list of 1 entry' : `a list of ${value.length} entries`;
  }
}

/** A text in quotation marks, cut where it is long. */
export function quote(value: string): string {
  const letters = [...value];
  const shown =
    letters.length > LONGEST_QUOTE ? `${letters.slice(0, LONGEST_QUOTE - 1).join('')}…` : letters.join('');
  return JSON.stringify(shown);
}

/**
 * Names in quotation marks, joined by commas and an "or"; beyond a dozen, the rest is only counted. An empty list is
 * `none`, a phrase such as "nothing, since there are no bodies".
 */
export function oneOf(names: readonly string[], none: string): string {
  if (names.length === 0) return none;
  const shown = names.slice(0, MOST_NAMES).map(quote);
  const rest = names.length - shown.length;
  if (rest > 0) return `${shown.join(', ')} or one of ${rest} more`;
  const last = shown.pop() ?? '';
  return shown.length === 0 ? last : `${shown.join(', ')} or ${last}`;
}

/** The clause that proposes the nearest known name, or nothing when no name is near. */
export function didYouMean(received: string, known: readonly string[]): string | undefined {
  const near = nearestName(received, known);
  return near === undefined ? undefined : `did you mean ${quote(near)}?`;
}

/**
 * The known name that is fewest edits away, where that is few for the name's length (a third of it, two at least);
 * the first one on a tie. Undefined when none is that near. Case counts as half an edit. Unitless.
 */
export function nearestName(received: string, known: readonly string[]): string | undefined {
  let nearest: string | undefined;
  let least = Number.POSITIVE_INFINITY;
  for (const name of known) {
    const edits = countEdits(received, name);
    const most = Math.max(2, Math.floor(Math.max(received.length, name.length) / 3));
    // Two names that share nothing are not near, however short they are.
    if (edits <= most && edits < Math.max(received.length, name.length) && edits < least) {
      nearest = name;
      least = edits;
    }
  }
  return nearest;
}

/**
 * Number of edits that turn one text into the other: a letter inserted, left out, replaced (half an edit where only
 * the case differs), or two neighbours swapped. R. W. Lowrance, R. A. Wagner, Journal of the ACM 22 (1975) 177, in
 * the restricted form that edits no part twice. Dimensionless.
 */
export function countEdits(from: string, to: string): number {
  const width = to.length + 1;
  let beforeLast = new Float64Array(width);
  let last = Float64Array.from({ length: width }, (_, j) => j);
  for (let i = 1; i <= from.length; i++) {
    const row = new Float64Array(width);
    row[0] = i;
    for (let j = 1; j < width; j++) {
      const a = from[i - 1]!;
      const b = to[j - 1]!;
      const replace = a === b ? 0 : a.toLowerCase() === b.toLowerCase() ? 0.5 : 1;
      row[j] = Math.min(last[j]! + 1, row[j - 1]! + 1, last[j - 1]! + replace);
      if (i > 1 && j > 1 && a === to[j - 2] && b === from[i - 2]) {
        row[j] = Math.min(row[j]!, beforeLast[j - 2]! + 1);
      }
    }
    beforeLast = last;
    last = row;
  }
  return last[to.length]!;
}
