/** Reads the study's schema: what stands at a path, which keys are known there, and what is allowed, in words. */
import { z } from 'zod';
import { isJsonObject } from './json.ts';
import { oneOf } from './problem.ts';

type Schema = z.core.$ZodType;

/** Takes off what only says that a value may be left out. Unitless. */
export function unwrap(schema: Schema): Schema {
  let inner = schema;
  while (inner instanceof z.ZodOptional || inner instanceof z.ZodDefault) inner = inner.unwrap();
  return inner;
}

/** zod types the entries of an object of unknown shape as `any`. */
function shapeOf(object: z.ZodObject): z.core.$ZodShape {
  return object.shape;
}

function isOptional(schema: Schema): boolean {
  return schema instanceof z.ZodOptional || schema instanceof z.ZodDefault;
}

/** The shapes of an object that the value can have: one, or all of a union's where its kind does not say which. */
function objectsOf(schema: Schema, value: unknown): z.ZodObject[] {
  const inner = unwrap(schema);
  if (inner instanceof z.ZodObject) return [inner];
  if (!(inner instanceof z.ZodUnion)) return [];
  const objects = inner.options.flatMap((option) => objectsOf(option, value));
  const tag = inner instanceof z.ZodDiscriminatedUnion ? inner.def.discriminator : undefined;
  if (tag === undefined || !isJsonObject(value)) return objects;
  const matching = objects.filter((object) => {
    const literal = shapeOf(object)[tag];
    return literal instanceof z.ZodLiteral && literal.values.has(value[tag] as z.core.util.Literal);
  });
  return matching.length > 0 ? matching : objects;
}

/**
 * The schema of what stands at `path` in a document, or undefined where the schema knows no such place. The document
 * decides which of several kinds of object is meant; it need not be valid. Unitless.
 */
export function schemaAt(
  schema: Schema,
  document: unknown,
  path: readonly PropertyKey[],
): Schema | undefined {
  let here: Schema | undefined = schema;
  let value: unknown = document;
  for (const key of path) {
    here = childOf(here, value, key);
    if (here === undefined) return undefined;
    value =
      (isJsonObject(value) || Array.isArray(value)) && Object.hasOwn(value, key)
        ? (value as Record<PropertyKey, unknown>)[key]
        : undefined;
  }
  return here;
}

function childOf(schema: Schema, value: unknown, key: PropertyKey): Schema | undefined {
  const inner = unwrap(schema);
  if (inner instanceof z.ZodRecord) return inner.valueType;
  if (inner instanceof z.ZodArray) return typeof key === 'number' ? inner.element : undefined;
  for (const object of objectsOf(inner, value)) {
    const name = String(key);
    const shape = shapeOf(object);
    if (Object.hasOwn(shape, name)) return shape[name];
  }
  return undefined;
}

/** Keys that the schema knows in an object such as `value`; empty for a record, whose keys are free. Unitless. */
export function knownKeys(schema: Schema, value: unknown): string[] {
  return [...new Set(objectsOf(schema, value).flatMap((object) => Object.keys(shapeOf(object))))];
}

/** What a place allows, as a phrase that fits "allowed is …". Numbers in the unit of the place's key. */
export function describeAllowed(schema: Schema, value?: unknown): string {
  const inner = unwrap(schema);
  const own = z.globalRegistry.get(inner as z.ZodType)?.description;
  if (own !== undefined) return own;
  if (inner instanceof z.ZodNumber) return describeNumber(inner);
  if (inner instanceof z.ZodString) return describeText(inner);
  if (inner instanceof z.ZodLiteral)
    return [...inner.values].map((each) => JSON.stringify(each)).join(' or ');
  if (inner instanceof z.ZodEnum) return oneOf(inner.options.map(String), 'nothing');
  if (inner instanceof z.ZodArray) return describeList(inner);
  if (inner instanceof z.ZodRecord)
    return `an object that maps ${describeAllowed(inner.keyType)} to its value`;
  if (inner instanceof z.ZodDiscriminatedUnion) {
    const tag = inner.def.discriminator;
    return `an object whose ${tag} is ${oneOf(kindsOf(inner), 'nothing')}`;
  }
  if (inner instanceof z.ZodUnion)
    return inner.options.map((option) => describeAllowed(option, value)).join(' or ');
  if (inner instanceof z.ZodObject) return describeObject(inner);
  throw new TypeError(
    `the study's schema uses ${inner._zod.def.type}, which describeAllowed has no words for`,
  );
}

/** The kinds that a discriminated union tells apart. */
export function kindsOf(union: z.ZodDiscriminatedUnion): string[] {
  const tag = union.def.discriminator;
  return union.options.flatMap((option) => {
    const literal = option instanceof z.ZodObject ? shapeOf(option)[tag] : undefined;
    return literal instanceof z.ZodLiteral ? [...literal.values].map(String) : [];
  });
}

function describeNumber(schema: z.ZodNumber): string {
  const { type, minimum, exclusiveMinimum, maximum, exclusiveMaximum } = z.toJSONSchema(schema);
  const what = type === 'integer' ? 'a whole number' : 'a number';
  if (minimum !== undefined && maximum !== undefined) return `${what} from ${minimum} to ${maximum}`;
  const bounds: string[] = [];
  if (minimum !== undefined) bounds.push(`at least ${minimum}`);
  if (exclusiveMinimum !== undefined) bounds.push(`above ${exclusiveMinimum}`);
  if (maximum !== undefined) bounds.push(`at most ${maximum}`);
  if (exclusiveMaximum !== undefined) bounds.push(`below ${exclusiveMaximum}`);
  if (bounds.length === 0) return what;
  return `${what} ${bounds[0]!.startsWith('at') ? 'of ' : ''}${bounds.join(' and ')}`;
}

function describeText(schema: z.ZodString): string {
  const { minLength, maxLength } = schema;
  if (maxLength === null) return 'a text';
  return minLength === null
    ? `a text of at most ${maxLength} characters`
    : `a text of ${minLength} to ${maxLength} characters`;
}

function describeList(schema: z.ZodArray): string {
  const least = z.toJSONSchema(schema).minItems ?? 0;
  if (least === 0) return 'a list';
  return least === 1 ? 'a list of at least 1 entry' : `a list of at least ${least} entries`;
}

function describeObject(schema: z.ZodObject): string {
  const needed = Object.entries(shapeOf(schema)).filter(([, child]) => !isOptional(child));
  const names = needed.map(([key]) => key);
  if (names.length === 0) return 'an object';
  return `an object with ${names.length === 1 ? 'the key' : 'the keys'} ${names.join(', ')}`;
}

/** Whether a place takes whole numbers alone. Unitless. */
export function isWhole(schema: Schema): boolean {
  const inner = unwrap(schema);
  return inner instanceof z.ZodNumber && z.toJSONSchema(inner).type === 'integer';
}

/** Whether a place by itself allows a value; how it fits the rest of a document is not asked. */
export function allowsValue(schema: Schema, value: unknown): boolean {
  return z.core.safeParse(schema, value).success;
}
