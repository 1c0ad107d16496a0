/** Turns what zod says about a document into problems with a path, what was received and what is allowed. */
import { z } from 'zod';
import { formatPath, valueAt } from './places.ts';
import { describeValue, didYouMean, makeProblem, oneOf, quote, type Problem } from './problem.ts';
import { describeAllowed, kindsOf, knownKeys, schemaAt, unwrap } from './schemaWalk.ts';

type Issue = z.core.$ZodIssue;
type Path = readonly PropertyKey[];

/** The problems of a document that a schema refused, in the order in which zod found them. Unitless. */
export function problemsOf(schema: z.ZodType, document: unknown, issues: readonly Issue[]): Problem[] {
  return issues.flatMap((issue) => problemsOfOne(schema, document, issue, []));
}

function problemsOfOne(schema: z.ZodType, document: unknown, issue: Issue, above: Path): Problem[] {
  const path = [...above, ...issue.path];
  const at = formatPath(document, path);
  const value = valueAt(document, path);
  switch (issue.code) {
    case 'unrecognized_keys':
      return issue.keys.map((key) => unknownKey(schema, document, path, key));
    case 'invalid_key':
      return [badKey(schema, document, path)];
    case 'custom':
      // The schema's own rules carry what is allowed as their message.
      return [makeProblem(at, describeReceived(value), issue.message)];
    case 'invalid_union': {
      // Of several alternatives, the one whose kind fits is meant; what is wrong lies deeper in it.
      const fitting = issue.errors.filter((branch) => branch.every((inner) => !isWrongKind(inner)));
      const only = fitting.length === 1 ? fitting[0] : undefined;
      if (only !== undefined) return only.flatMap((inner) => problemsOfOne(schema, document, inner, path));
      return [refused(schema, document, path)];
    }
    default:
      return [refused(schema, document, path)];
  }
}

function isWrongKind(issue: Issue): boolean {
  return issue.path.length === 0 && (issue.code === 'invalid_type' || issue.code === 'invalid_value');
}

function describeReceived(value: unknown): string {
  return value === undefined ? 'nothing (the key is missing)' : describeValue(value);
}

function refused(schema: z.ZodType, document: unknown, path: Path): Problem {
  const value = valueAt(document, path);
  const allowed = describePlace(schema, document, path);
  const at = formatPath(document, path);
  const hint = typeof value === 'string' ? didYouMean(value, wordsIn(schema, document, path)) : undefined;
  return makeProblem(at, describeReceived(value), allowed, hint);
}

/** The kind of a kind-tagged object is one of all its kinds, whichever of them the document names. */
function describePlace(schema: z.ZodType, document: unknown, path: Path): string {
  const kinds = kindsAt(schema, document, path);
  if (kinds !== undefined) return oneOf(kinds, 'nothing');
  const place = schemaAt(schema, document, path);
  return place === undefined ? 'a value that the schema knows' : describeAllowed(place);
}

function kindsAt(schema: z.ZodType, document: unknown, path: Path): string[] | undefined {
  const parent = schemaAt(schema, document, path.slice(0, -1));
  const inner = parent === undefined ? undefined : unwrap(parent);
  if (!(inner instanceof z.ZodDiscriminatedUnion) || path.at(-1) !== inner.def.discriminator)
    return undefined;
  return kindsOf(inner);
}

function wordsIn(schema: z.ZodType, document: unknown, path: Path): string[] {
  const kinds = kindsAt(schema, document, path);
  if (kinds !== undefined) return kinds;
  const place = schemaAt(schema, document, path);
  const inner = place === undefined ? undefined : unwrap(place);
  return inner instanceof z.ZodEnum ? inner.options.map(String) : [];
}

function unknownKey(schema: z.ZodType, document: unknown, path: Path, key: string): Problem {
  const place = schemaAt(schema, document, path);
  const known = place === undefined ? [] : knownKeys(place, valueAt(document, path));
  const at = formatPath(document, [...path, key]);
  return makeProblem(at, `the unknown key ${quote(key)}`, oneOf(known, 'no key'), didYouMean(key, known));
}

function badKey(schema: z.ZodType, document: unknown, path: Path): Problem {
  const record = schemaAt(schema, document, path.slice(0, -1));
  const inner = record === undefined ? undefined : unwrap(record);
  const allowed =
    inner instanceof z.ZodRecord ? describeAllowed(inner.keyType) : 'a key that the schema knows';
  return makeProblem(formatPath(document, path), `the key ${quote(String(path.at(-1)))}`, allowed);
}
