/** Part files of a spread: a slice of its members as plain data, to be continued or merged with others. */
import { isJsonObject, type JsonValue } from '../../contract/json.ts';
import { MOST_LISTED, SpreadTally } from './tally.ts';
import type { MemberFailure } from './members.ts';
import type { Node } from './dyadic.ts';
import type { SpreadHeader } from './header.ts';

/** The number that this version writes. */
const PART_FORMAT = 1;

export interface SpreadPart {
  readonly plumelineSpread: number;
  readonly header: SpreadHeader;
  /** Runs of members that are in, from the first to before the last, in order. */
  readonly members: readonly (readonly [number, number])[];
  readonly nodes: readonly Node[];
  /** By quantity: bin and count in turn, bins without members left out; bin 0 lies below the lowest edge. */
  readonly histograms: readonly (readonly number[])[];
  /** How many draws of a case had no answer, by status. */
  readonly failureCounts: Readonly<Record<string, number>>;
  /** Those of the first members, with their sentences. */
  readonly failures: readonly MemberFailure[];
}

/** Why a file is no part, or parts cannot be put together, as a sentence. */
export class PartError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'PartError';
  }
}

/** A tally as plain data; equal members give equal data, however they came. Units as in the header. */
export function partOf(tally: SpreadTally): SpreadPart {
  return {
    plumelineSpread: PART_FORMAT,
    header: tally.header,
    members: tally.sums.covered().map(({ from, to }) => [from, to] as const),
    nodes: tally.sums.nodes(),
    histograms: tally.histograms.map((histogram) =>
      [...histogram].flatMap((count, bin) => (count > 0 ? [bin, count] : [])),
    ),
    failureCounts: Object.fromEntries([...tally.failureCounts].sort(([p], [q]) => (p < q ? -1 : 1))),
    failures: tally.failures,
  };
}

/** The tally that a part holds; the part stays as it is. Units as in the header. */
export function tallyOf(part: SpreadPart): SpreadTally {
  const tally = new SpreadTally(part.header);
  mergeInto(tally, part);
  return tally;
}

/**
 * Parts of one spread put together; any order gives the same. Throws PartError where they are of different studies, seeds,
 * engines or cases, or hold the same members. Units as in the header.
 */
export function mergeParts(parts: readonly SpreadPart[]): SpreadPart {
  const [first, ...rest] = parts;
  if (first === undefined) throw new PartError('parts: received none, allowed is one or more.');
  const tally = tallyOf(first);
  rest.forEach((part, i) => {
    const why = mismatch(first.header, part.header);
    if (why !== null) throw new PartError(`Part ${i + 2} does not belong with part 1: ${why}.`);
    try {
      mergeInto(tally, part);
    } catch (error) {
      if (error instanceof RangeError)
        throw new PartError(`Part ${i + 2} overlaps with those before it: ${error.message}.`);
      throw error;
    }
  });
  return partOf(tally);
}

function mergeInto(tally: SpreadTally, part: SpreadPart): void {
  for (const node of part.nodes) tally.sums.add(node);
  part.histograms.forEach((pairs, q) => {
    const histogram = tally.histograms[q]!;
    for (let i = 0; i < pairs.length; i += 2) histogram[pairs[i]!] = histogram[pairs[i]!]! + pairs[i + 1]!;
  });
  for (const [status, count] of Object.entries(part.failureCounts)) {
    tally.failureCounts.set(status, (tally.failureCounts.get(status) ?? 0) + count);
  }
  tally.listFailures(part.failures.slice(0, MOST_LISTED));
}

/** Why two headers are not of one spread, as a clause, or null when they are. Unitless. */
export function mismatch(a: SpreadHeader, b: SpreadHeader): string | null {
  if (a.inputsHash !== b.inputsHash)
    return `it is of another study (inputs ${b.inputsHash}, not ${a.inputsHash})`;
  if (a.seed !== b.seed) return `it has the seed ${b.seed}, not ${a.seed}`;
  if (a.engine !== b.engine)
    return `it was computed by an engine with other elementary functions (fingerprint ${b.engine}, not ${a.engine})`;
  if (a.indices !== b.indices) return 'one of them has indices and the other has not';
  if (JSON.stringify(a) !== JSON.stringify(b))
    return 'it compares other cases, or was made by another version of the program';
  return null;
}

/** A part from its parsed file. Throws PartError, naming the place, when it is none. Units as in the header. */
export function readPart(document: JsonValue, name: string): SpreadPart {
  const refuse = (place: string, allowed: string): never => {
    throw new PartError(`${name}: ${place} is missing or not what it should be; allowed is ${allowed}.`);
  };
  if (!isJsonObject(document) || document['plumelineSpread'] !== PART_FORMAT)
    return refuse('plumelineSpread', `a part file of format ${PART_FORMAT}, as spread writes it with --out`);
  const { header, nodes, histograms, failures, failureCounts } = document;
  if (!isJsonObject(header) || !['quantities', 'inputs', 'cases'].every((key) => Array.isArray(header[key])))
    return refuse('header', 'that of a spread');
  const part = document as unknown as SpreadPart;
  const { length } = new SpreadTally(part.header).layout;
  const isNode = (node: JsonValue): boolean =>
    isJsonObject(node) && isNumbers([node['level'], node['index']]) && isNumbers(node['sums'], length);
  if (!isList(nodes) || !nodes.every(isNode)) return refuse('nodes', `a list of blocks of ${length} numbers`);
  const bands = part.header.quantities.length;
  if (!isList(histograms) || histograms.length !== bands || !histograms.every((each) => isNumbers(each)))
    return refuse('histograms', `a list of ${bands} lists of numbers`);
  if (!isList(failures) || !isJsonObject(failureCounts)) return refuse('failures', 'a list');
  return part;
}

function isList(value: JsonValue | undefined): value is readonly JsonValue[] {
  return Array.isArray(value);
}

/** Whether a value is a list of finite numbers, of so many where a length is given. */
function isNumbers(value: JsonValue | undefined | readonly unknown[], length?: number): boolean {
  if (!Array.isArray(value)) return false;
  const list: readonly unknown[] = value;
  return (length === undefined || list.length === length) && list.every((each) => Number.isFinite(each));
}
