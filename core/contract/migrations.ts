/**
 * Carries study files of older formats forward, one format at a time. To add a step when the format changes: raise
 * `STUDY_FORMAT` by one, append a migration from the number before it, and add a file of the old format with a check
 * to test/core/contract/migrations.test.ts. Steps that have shipped are never edited.
 */
import type { JsonObject } from './json.ts';
import { describeValue, makeProblem, type Problem } from './problem.ts';

export interface Migration {
  /** The format that it reads; it writes the next one. */
  readonly from: number;
  /** What changed between the two, for people. */
  readonly change: string;
  /** A new document of the next format. The `format` number is raised by `migrate`, not here. */
  readonly apply: (document: JsonObject) => JsonObject;
}

/** Format 1 is the first. */
export const MIGRATIONS: readonly Migration[] = [];

export type MigrationResult =
  | { readonly ok: true; readonly document: JsonObject; readonly applied: readonly Migration[] }
  | {
      readonly ok: false;
      readonly code: 'newerFormat' | 'olderFormat' | 'invalid';
      readonly problem: Problem;
    };

/**
 * Brings a document to format `current` by the chain's steps, each from the format that the one before it wrote. The
 * document itself is left as it is. Fails with `invalid` when `format` is no whole number, `newerFormat` when it is
 * above `current`, `olderFormat` when no step reads it. Throws RangeError when the chain itself has a hole, since that
 * is a fault of the program. Format numbers are dimensionless.
 */
export function migrate(document: JsonObject, chain: readonly Migration[], current: number): MigrationResult {
  checkChain(chain, current);
  const format = document['format'];
  const first = chain[0]?.from ?? current;
  const allowed = first === current ? `${current}` : `a whole number from ${first} to ${current}`;
  if (typeof format !== 'number' || !Number.isInteger(format)) {
    const received = format === undefined ? 'nothing (the key is missing)' : describeValue(format);
    return { ok: false, code: 'invalid', problem: makeProblem('format', received, allowed) };
  }
  if (format > current) {
    const hint = 'the file was written by a newer version of the program, which can open it';
    return { ok: false, code: 'newerFormat', problem: makeProblem('format', String(format), allowed, hint) };
  }
  if (format < first) {
    return { ok: false, code: 'olderFormat', problem: makeProblem('format', String(format), allowed) };
  }
  const applied = chain.filter((step) => step.from >= format);
  const migrated = applied.reduce<JsonObject>(
    (older, step) => ({ ...step.apply(older), format: step.from + 1 }),
    document,
  );
  return { ok: true, document: migrated, applied };
}

function checkChain(chain: readonly Migration[], current: number): void {
  for (const [i, step] of chain.entries()) {
    const next = chain[i + 1]?.from ?? current;
    if (step.from + 1 !== next) {
      throw new RangeError(
        `migrations: after the step from ${step.from} comes ${next}; allowed is ${step.from + 1}`,
      );
    }
  }
}
