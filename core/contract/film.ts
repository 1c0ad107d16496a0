/** The film of a study: cues, each a moment of film time tied to a moment of mission time, and what is on show from there. */
import { z } from 'zod';
import { identifier, nonNegative } from './primitives.ts';

/** A moment of the flight. By an event it follows the flight when that is solved anew. */
const momentSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('time'), time_s: z.number().min(-600).max(100_000) }),
  /** So long after (before, when negative) an event of the log: one of the sequence, or one that the flight finds. */
  z.strictObject({
    kind: z.literal('event'),
    event: z.string().min(1).max(120),
    offset_s: z.number().min(-100_000).max(100_000).default(0),
  }),
]);

const cameraSchema = z.strictObject({
  stance: z.enum(['beside', 'above']).default('beside'),
  zoom: z.number().min(1).max(40).default(1),
  /** A body that the picture keeps in its middle. */
  follow: identifier.optional(),
});

/** What the pointer is on: a figure of a body, or a knot of the braid. */
const pointerSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('nothing') }),
  z.strictObject({ kind: z.literal('figure'), body: identifier, figure: z.enum(['height', 'speed']) }),
  z.strictObject({ kind: z.literal('knot'), event: z.string().min(1).max(120) }),
]);

/** What is left out stays as the cue before had it. */
const cueSchema = z.strictObject({
  /** Film time. */
  at_s: nonNegative.max(7200),
  /** The word of the narration, counted from 0, that it comes with: its film time then follows that word. */
  word: z.number().int().min(0).max(5000).optional(),
  moment: momentSchema,
  /** How mission time comes here from the cue before: it runs, or it stands there and jumps. */
  arrive: z.enum(['run', 'jump']).default('run'),
  /** A plain sentence; empty for none. */
  caption: z.string().max(240).optional(),
  /** What the large plate shows: a drawing of the flight, the sweep, or a card of words. */
  plate: z
    .enum(['title', 'map', 'staging', 'landing', 'compare', 'chart', 'answer', 'assumptions', 'caution'])
    .optional(),
  camera: cameraSchema.optional(),
  /** Whether the bodies' figures stand in the margin. */
  figures: z.boolean().optional(),
  pointer: pointerSchema.optional(),
});

/** What is said over the film, and when. */
const narrationSchema = z.strictObject({
  text: z.string().max(20_000),
  /** Film time of the first word. */
  from_s: nonNegative.max(7200).default(0),
  /** How fast it is spoken, pauses included, where no words are lined up with a recording. */
  wordsPerMinute: z.number().min(60).max(300).default(150),
  /** Words, counted from 0, whose film time was read off a recording. */
  lined: z
    .array(z.strictObject({ word: z.number().int().min(0).max(5000), at_s: nonNegative.max(7200) }))
    .max(500)
    .default([]),
});

export const filmSchema = z.strictObject({
  sheet: z.enum(['paper', 'night']).default('paper'),
  /** Film time at which it ends. */
  length_s: z.number().min(0.5).max(7200),
  /** The staging gap of the second variant, for the plate that sets two beside each other. */
  compareGap_s: z.number().min(-60).max(600).optional(),
  cues: z.array(cueSchema).min(1).max(200),
  narration: narrationSchema.optional(),
});

export type Film = z.infer<typeof filmSchema>;
export type FilmCue = z.infer<typeof cueSchema>;
export type FilmNarration = z.infer<typeof narrationSchema>;
export type FilmMoment = z.infer<typeof momentSchema>;
export type FilmPlate = NonNullable<FilmCue['plate']>;
export type FilmPointer = z.infer<typeof pointerSchema>;
