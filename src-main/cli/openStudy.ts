/** From what was typed to a study: a file or a demo's name, changed as `--set` and `--gap` say. */
import { stat } from 'node:fs/promises';
import { contentHash } from '../../core/contract/contentHash.ts';
import type { JsonValue } from '../../core/contract/json.ts';
import { loadStudy, type LoadResult } from '../../core/contract/load.ts';
import { describeValue } from '../../core/contract/problem.ts';
import { allowedAtPath, getByPath, movedSpread, setByPath } from '../../core/contract/studyNumbers.ts';
import type { Study } from '../../core/contract/study.ts';
import { gapEvent } from '../../core/study/gap.ts';
import { checkChanges, numberOf, type NumberChange } from '../../core/study/numbers.ts';
import { unitOfKey, type KeyUnit } from '../../core/units/keys.ts';
import { HostFailure } from '../host/failure.ts';
import { readDemo, readTextFile } from '../host/studyFiles.ts';
import { listDemos } from '../launch/demos.mjs';
import { badInput, CommandFailure, EXIT } from './exit.ts';
import type { Terminal } from './terminal.ts';

export interface StudyOptions {
  readonly set?: readonly string[];
  readonly gap?: string;
  readonly event?: string;
}

export interface OpenedStudy {
  readonly study: Study;
  /** Of the study as it is computed, changes included. */
  readonly hash: string;
}

/** So many mistakes of a file are told at once. */
const MOST_PROBLEMS = 10;

/** Reads the study and changes it. Throws CommandFailure with a sentence a mistake. */
export async function openStudy(
  terminal: Terminal,
  name: string,
  options: StudyOptions,
): Promise<OpenedStudy> {
  let study = accepted(loadStudy(await readStudy(terminal, name)), `${name}: `);
  for (const change of options.set ?? []) study = await changed(terminal, study, change);
  if (options.gap !== undefined) {
    const gap_s = await readTime('--gap', options.gap);
    study = withCheckedGap(study, '--gap', gapEvent(study, options.event), gap_s);
  }
  return { study, hash: contentHash(study) };
}

/** The same study with another gap (s) at an event, refused where no study may have it. */
export function withCheckedGap(study: Study, option: string, event: string, gap_s: number): Study {
  return accepted(setByPath(study, `sequence.events.${event}.trigger.gap_s`, gap_s), `${option}: `);
}

const SECONDS = unitOfKey('gap_s');

/** A time typed with or without a unit, in s. */
export async function readTime(option: string, text: string): Promise<number> {
  return readQuantity(option, text, SECONDS);
}

/** A length typed with or without a unit, in m. */
export async function readLength(option: string, text: string): Promise<number> {
  return readQuantity(option, text, unitOfKey('gap_m'));
}

/** A number typed with or without a unit, in the unit of its key. */
async function readQuantity(where: string, text: string, key: KeyUnit): Promise<number> {
  // The library of units takes longer to load than a flight to fly.
  const { parseQuantity } = await import('../../core/units/parse.ts');
  const result = parseQuantity(text, key.dimension, key.unit);
  if (!result.ok) throw new CommandFailure(EXIT.badInput, `${where}: ${result.sentence}`);
  // There and back, degrees lose a last digit, which would make another study of the same number.
  return key.toSi === 1 ? result.value : Number((result.value / key.toSi).toPrecision(15));
}

async function readStudy(terminal: Terminal, name: string): Promise<string> {
  const isPlainName = !/[/\\]/.test(name);
  try {
    const isFolder = await stat(name).then(
      (found) => found.isDirectory(),
      () => false,
    );
    if (isFolder && isPlainName) return await readDemoOr(terminal, name);
    return await readTextFile(name);
  } catch (error) {
    if (!(error instanceof HostFailure)) throw error;
    if (error.code !== 'notFound') throw new CommandFailure(EXIT.badInput, `STUDY: ${error.message}`);
    return readDemoOr(terminal, name);
  }
}

async function readDemoOr(terminal: Terminal, name: string): Promise<string> {
  try {
    return (await readDemo(terminal.demosFolder, name)).text;
  } catch (error) {
    const demos = await demoNames(terminal);
    if (demos.includes(name)) throw error;
    const known =
      demos.length === 0 ? '; no demos are installed' : ` or the name of a demo: ${demos.join(', ')}`;
    throw badInput('STUDY', `${describeValue(name)}, which is not there`, `the path of a study file${known}`);
  }
}

async function demoNames(terminal: Terminal): Promise<string[]> {
  try {
    return (await listDemos(terminal.demosFolder)).map((demo) => demo.id);
  } catch (error) {
    // A package without demos.
    if (error instanceof Error && 'code' in error && error.code === 'ENOENT') return [];
    throw error;
  }
}

/** One `--set path=value`; the value is read as what stands there now, or as what the key's ending says. */
async function changed(terminal: Terminal, study: Study, change: string): Promise<Study> {
  const at = change.indexOf('=');
  if (at < 1) throw badInput('--set', describeValue(change), 'path=value, such as payload.mass_kg=12 t');
  const path = change.slice(0, at).trim();
  const text = change.slice(at + 1).trim();
  const key = numberAt(study, path);
  const value = key === undefined ? readJson(text) : await readQuantity(`--set ${path}`, text, key);
  const next = accepted(setByPath(study, path, value), '--set ');
  const moved = movedSpread(study, path, value);
  if (moved !== null)
    terminal.err(
      `plumeline: ${path} is set beyond its triangular spread, which goes with it: ${moved.low} to ${moved.high}\n`,
    );
  return next;
}

/** A `path=value` whose path leads to a number, in that number's own unit. */
export async function readChange(study: Study, option: string, change: string): Promise<NumberChange> {
  const at = change.indexOf('=');
  if (at < 1)
    throw badInput(option, describeValue(change), 'path=value, such as vehicle.bodies.upper.dryMass_kg=12 t');
  const path = change.slice(0, at).trim();
  // Throws where no number stands.
  numberOf(study, path);
  const key = path.replace(/(?:\.\d+)+$/, '');
  const value = await readQuantity(`${option} ${path}`, change.slice(at + 1).trim(), unitOfKey(key));
  checkChanges(study, [{ path, value }]);
  return { path, value };
}

/** The unit of the number at a path, or that may be set there; undefined where no number stands. */
function numberAt(study: Study, path: string): KeyUnit | undefined {
  // An entry of a list has the unit of the list.
  const key = path.replace(/(?:\.\d+)+$/, '');
  const standing = getByPath(study, path);
  if (standing.ok) return typeof standing.value === 'number' ? unitOfKey(key) : undefined;
  if (allowedAtPath(study, path)?.startsWith('a number') !== true) return undefined;
  return unitOfKey(key);
}

/** JSON where it is JSON, else the text itself: `--set earth.gravity=j2` needs no quotation marks. */
function readJson(text: string): JsonValue {
  try {
    return JSON.parse(text) as JsonValue;
  } catch {
    return text;
  }
}

function accepted(result: LoadResult, before: string): Study {
  if (result.ok) return result.study;
  const sentences = result.problems.slice(0, MOST_PROBLEMS).map((problem) => `${before}${problem.sentence}`);
  const rest = result.problems.length - sentences.length;
  if (rest > 0) sentences.push(`${before}${rest} more like these.`);
  throw new CommandFailure(EXIT.badInput, sentences.join('\n'));
}
