/** The one door by which a study enters: window, command and tests all load through it. */
import { canonicalText } from './canonicalText.ts';
import { crossCheck } from './crossCheck.ts';
import { problemsOf } from './issues.ts';
import { isJsonObject } from './json.ts';
import { parseJsonText } from './jsonText.ts';
import { migrate, MIGRATIONS, type Migration } from './migrations.ts';
import { describeValue, makeProblem, type Problem } from './problem.ts';
import { STUDY_FORMAT, studySchema, type Study } from './study.ts';

/**
 * Why a study was refused. `notJson`: the text is no JSON. `newerFormat`, `olderFormat`: its format number is not one
 * that this version reads. `invalid`: a value or key that the schema does not allow. `inconsistent`: each part is
 * allowed, but they do not fit each other.
 */
export type LoadFailure = 'tooLong' | 'notJson' | 'newerFormat' | 'olderFormat' | 'invalid' | 'inconsistent';

export type LoadResult =
  | { readonly ok: true; readonly study: Study }
  | { readonly ok: false; readonly code: LoadFailure; readonly problems: readonly Problem[] };

/** Longest text that is read, in characters; a study of many bodies with long notes has some 100 000. */
export const LONGEST_STUDY = 4_000_000;

/**
 * Reads a study from the text of a `*.plumeline.json` file: JSON, format and migration, schema, and how the parts fit
 * each other. Defaults are filled in. Never throws on a bad text: returns its problems, each with its path, what was
 * received and what is allowed. `chain` is the migration chain, another one than the real one in tests only.
 * Quantities are in SI units as their keys say; angles in degrees.
 */
export function loadStudy(text: string, chain: readonly Migration[] = MIGRATIONS): LoadResult {
  if (text.length > LONGEST_STUDY) {
    const allowed = `a text of at most ${LONGEST_STUDY} characters`;
    return { ok: false, code: 'tooLong', problems: [makeProblem('', `${text.length} characters`, allowed)] };
  }
  const parsed = parseJsonText(text);
  if (!parsed.ok) return { ok: false, code: 'notJson', problems: [parsed.problem] };
  return validateStudy(parsed.value, chain);
}

/** As `loadStudy`, for a document that is already parsed, such as one that came with a message. */
export function validateStudy(document: unknown, chain: readonly Migration[] = MIGRATIONS): LoadResult {
  if (!isJsonObject(document)) {
    const problem = makeProblem('', describeValue(document), 'an object with the keys of a study');
    return { ok: false, code: 'invalid', problems: [problem] };
  }
  const migrated = migrate(document, chain, STUDY_FORMAT);
  if (!migrated.ok) return { ok: false, code: migrated.code, problems: [migrated.problem] };
  const parsed = studySchema.safeParse(migrated.document);
  if (!parsed.success) {
    const problems = problemsOf(studySchema, migrated.document, parsed.error.issues);
    return { ok: false, code: 'invalid', problems };
  }
  const problems = crossCheck(parsed.data);
  if (problems.length > 0) return { ok: false, code: 'inconsistent', problems };
  return { ok: true, study: parsed.data };
}

/**
 * The text of a study's file: defaults filled in, keys in the schema's order, names of bodies, groups and the like in
 * the order in which they were given, two spaces a level, a newline at the end. Loading it gives the study back.
 * Throws StudyError when the study is not valid. Quantities are in SI units as their keys say; angles in degrees.
 */
export function saveStudy(study: Study): string {
  const result = validateStudy(study, MIGRATIONS);
  if (!result.ok) throw new StudyError(result.problems);
  return canonicalText(result.study);
}

/** A caller handed over a study that is none: names each path, what was received and what is allowed. */
export class StudyError extends Error {
  readonly problems: readonly Problem[];
  constructor(problems: readonly Problem[]) {
    super(problems.map((problem) => problem.sentence).join('\n'));
    this.name = 'StudyError';
    this.problems = problems;
  }
}
