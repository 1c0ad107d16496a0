/** Claims of a study: what somebody says a change is worth, and what a fair comparison holds fixed. */
import { z } from 'zod';
import { identifier, text } from './primitives.ts';

/** Numbers of the study set to values, by path, each in its own unit. */
const changesSchema = z
  .record(z.string(), z.number())
  .describe('an object that maps paths of numbers to their values');

const variantSchema = z.strictObject({ name: text, set: changesSchema.default({}) });

export const claimSchema = z.strictObject({
  id: identifier,
  /** In the words of whoever makes it. */
  statement: text,
  /** What the change is held against. */
  baseline: z.strictObject({
    name: text,
    set: changesSchema.default({}),
    /** The shortest gap that this baseline can really achieve, and why; needed where a gap is among the changes. */
    leastGap_s: z.number().min(-60).max(600).optional(),
    leastGapWhy: text.optional(),
  }),
  change: variantSchema,
  /** What is compared. */
  measure: z.enum(['payload']).default('payload'),
  /** At least so much more, as a share of the baseline's: 0.1 is ten percent. */
  statedGain: z.number().min(-1).max(10),
  /** Numbers that must be the same in both variants, by path or by the start of one, with words for what they are. */
  same: z.array(z.strictObject({ what: text, paths: z.array(z.string().min(1)).min(1) })).default([]),
  /** Other ways to draw the comparison, each judged like the claim itself. */
  assumptions: z
    .array(
      z.strictObject({
        id: identifier,
        words: text,
        baseline: changesSchema.default({}),
        change: changesSchema.default({}),
      }),
    )
    .default([]),
});

export type Claim = z.infer<typeof claimSchema>;
