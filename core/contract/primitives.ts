/** Small schemas that the others share, and how zod is run. */
import { z } from 'zod';

// The window's content policy forbids code made from text, so zod must not compile its schemas. This stands in the
// module that every schema imports first, since zod looks at it when a schema is made.
z.config({ jitless: true });

/** A name used as a key or a reference: letters, digits, hyphens; starts with a letter; 40 at most. */
export const identifier = z
  .string()
  .regex(/^[A-Za-z][A-Za-z0-9-]{0,39}$/)
  .describe('a name of up to 40 letters, digits and hyphens that starts with a letter');

/** A short text for people: a title, a name, a source. */
export const text = z.string().min(1).max(400).describe('a text of 1 to 400 characters');
export const positive = z.number().positive();
export const nonNegative = z.number().min(0);
/** From nothing to all, dimensionless. */
export const fraction = z.number().min(0).max(1);
/** A number of like things, such as engines. */
export const count = z.number().int().min(1).max(100);
