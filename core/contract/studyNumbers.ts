/** Reads and changes one value of a study by its path, as the command's `--set` and the window's fields do. */
import type { JsonObject, JsonValue } from './json.ts';
import { validateStudy, type LoadResult } from './load.ts';
import { childAt, followPath, type Steps } from './places.ts';
import { describeValue, didYouMean, makeProblem, oneOf, quote, type Problem } from './problem.ts';
import { describeAllowed, knownKeys, schemaAt } from './schemaWalk.ts';
import { studySchema, type Study } from './study.ts';

export type PathResult<Value> =
  { readonly ok: true; readonly value: Value } | { readonly ok: false; readonly problem: Problem };

/**
 * What stands at a dotted path such as `vehicle.bodies.upper.dryMass_kg` or, with an event's id or index,
 * `sequence.events.kick.action.law.angle_deg`; in the unit of the path's last word. A path that leads nowhere is a
 * problem that names the first wrong word's place and the words that are known there.
 */
export function getByPath(study: Study, path: string): PathResult<JsonValue> {
  const found = followPath(study, path);
  if (found.missing === undefined) return { ok: true, value: found.value as JsonValue };
  return {
    ok: false,
    problem: missingPlace(path, found.missing.word, found.missing.rest, found.missing.known),
  };
}

/** As `getByPath`, and a problem where no number stands. In the unit of the path's last word. */
export function getNumberByPath(study: Study, path: string): PathResult<number> {
  const found = getByPath(study, path);
  if (!found.ok) return found;
  if (typeof found.value === 'number') return { ok: true, value: found.value };
  return { ok: false, problem: makeProblem(path, describeValue(found.value), 'the path of a number') };
}

/**
 * A new study that differs in one value, checked as a whole; the given study stays as it is. The value is in the unit
 * of the path's last word, degrees for angles. A key that may be left out, such as `target.inclination_deg`, may be
 * set where it is missing. A triangular spread beyond which its number is set moves with it (`movedSpread`). Fails as `loadStudy` does: `invalid` for a path that the schema does not know.
 */
export function setByPath(study: Study, path: string, value: JsonValue): LoadResult {
  const found = followPath(study, path);
  let steps: Steps = found.steps;
  if (found.missing !== undefined) {
    const { word, rest, known } = found.missing;
    const place = schemaAt(studySchema, study, found.steps);
    const keys = place === undefined ? [] : knownKeys(place, found.value);
    if (rest > 0 || !keys.includes(word)) {
      const words = [...new Set([...keys, ...known])];
      return { ok: false, code: 'invalid', problems: [missingPlace(path, word, rest, words)] };
    }
    steps = [...found.steps, word];
  }
  const changed = withValue(study as unknown as JsonValue, steps, value);
  const moved = movedSpread(study, path, value);
  return validateStudy(
    moved === null
      ? changed
      : withValue(changed, ['provenance', moved.key, 'spread'], {
          shape: 'triangular',
          low: moved.low,
          high: moved.high,
        }),
  );
}

/** A triangular spread that goes with its number, in the number's unit. */
export interface MovedSpread {
  /** Of the provenance. */
  readonly key: string;
  readonly low: number;
  readonly high: number;
}

/**
 * What becomes of the triangular spread of a number that is set beyond it: it keeps its width and its peak and goes with the
 * number, since a triangle without its number in it is none. Null where there is no such spread, or the value lies in it. In
 * the number's unit.
 */
export function movedSpread(study: Study, path: string, value: JsonValue): MovedSpread | null {
  const { steps, value: before, missing } = followPath(study, path);
  if (missing !== undefined || typeof before !== 'number' || typeof value !== 'number') return null;
  const place = JSON.stringify(steps);
  const found = Object.entries(study.provenance).find(
    ([key]) => key === path || JSON.stringify(followPath(study, key).steps) === place,
  );
  const spread = found?.[1].spread;
  if (found === undefined || spread?.shape !== 'triangular') return null;
  if (spread.low <= value && value <= spread.high) return null;
  const by = value - before;
  // Rounding must not leave the number outside.
  return { key: found[0], low: Math.min(spread.low + by, value), high: Math.max(spread.high + by, value) };
}

/** What a path allows, as a phrase, or undefined where the schema knows no such place. In the unit of its last word. */
export function allowedAtPath(study: Study, path: string): string | undefined {
  const { steps, missing } = followPath(study, path);
  if (missing !== undefined && missing.rest > 0) return undefined;
  const place = schemaAt(studySchema, study, missing === undefined ? steps : [...steps, missing.word]);
  return place === undefined ? undefined : describeAllowed(place);
}

function missingPlace(path: string, word: string, rest: number, known: readonly string[]): Problem {
  const words = path.split('.');
  const upTo = words.slice(0, words.length - rest).join('.');
  const allowed = oneOf(known, 'a path that ends before it');
  return makeProblem(upTo, `the unknown name ${quote(word)}`, allowed, didYouMean(word, known));
}

function withValue(node: JsonValue | undefined, steps: Steps, value: JsonValue): JsonValue {
  const [step, ...rest] = steps;
  if (step === undefined) return value;
  const child = withValue(childAt(node, step) as JsonValue | undefined, rest, value);
  if (Array.isArray(node))
    return (node as readonly JsonValue[]).map((each, i) => (i === step ? child : each));
  return { ...(node as JsonObject), [step]: child };
}
