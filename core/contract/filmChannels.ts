/**
 * What crosses between the window and the desktop side for a film: bytes go to disk as they are made, in pieces with their
 * place in the file. A film that the command asked for comes as a job, and is reported on.
 */
import { z } from 'zod';
// Before the first schema: it sets how zod runs.
import './primitives.ts';

const token = z.string().min(1).max(100);
const name = z.string().min(1).max(255);
const bytes = z.number().int().min(0);

/** Most bytes of one piece. */
export const LARGEST_PIECE = 8_000_000;
const piece = z.base64().max(Math.ceil(LARGEST_PIECE / 3) * 4);

/**
 * What a film is recorded as. `webm` VP9, `av1` AV1 in WebM, `mp4` H.264, `webm-alpha` VP9 with transparency, `png` and
 * `png-alpha` pictures by number in a folder, `prores` ProRes 4444 by a program ffmpeg of the system.
 */
export const FILM_FORMATS = ['webm', 'mp4', 'av1', 'webm-alpha', 'png', 'png-alpha', 'prores'] as const;
export type FilmFormat = (typeof FILM_FORMATS)[number];

const rate = z.strictObject({
  numerator: z.number().int().min(1).max(999_999),
  denominator: z.number().int().min(1).max(999_999),
});

const job = z.strictObject({
  /** Content of the study's file. */
  study: z.string().max(20_000_000),
  file: z.strictObject({ token, name }),
  width_px: z.number().int().min(128).max(8192),
  height_px: z.number().int().min(128).max(8192),
  rate,
  format: z.enum(FILM_FORMATS),
  /** Null: as the study's film has it. */
  sheet: z.enum(['paper', 'night']).nullable(),
  /** Length of a film that is told by itself, where the study has none of its own. */
  length_s: z.number().min(0.5).max(7200),
  /** Only these pictures, film time; null for all. */
  stills_s: z.array(z.number().min(0).max(7200)).min(1).max(1000).nullable(),
  frameCode: z.boolean(),
  /** Begins at the first picture even where a recording that broke off could go on. */
  anew: z.boolean(),
  /** Sound to lie under it, WAV or MP3. */
  sound: z.strictObject({ name, data: z.base64().max(200_000_000) }).nullable(),
});

export type FilmJob = z.infer<typeof job>;

/**
 * All that decides the bytes of a recording, by names that people read. A recording goes on only where all of it is as it was.
 */
const identity = z.record(z.string().min(1).max(60), z.string().max(500));

export type FilmIdentity = z.infer<typeof identity>;

const report = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('solving'), done: bytes, of: bytes }),
  z.strictObject({ kind: z.literal('recording'), done: bytes, of: bytes, left_s: z.number().min(0) }),
  z.strictObject({ kind: z.literal('done'), frames: bytes, sentence: z.string().max(2000) }),
  z.strictObject({
    kind: z.literal('failed'),
    reason: z.enum(['noAnswer', 'badFilm', 'cannotRecord']),
    sentences: z.array(z.string().max(2000)).min(1).max(50),
  }),
]);

export type FilmReport = z.infer<typeof report>;

export const filmChannels = {
  /** The film that this window was opened for; null in a window for people. */
  'film.job': { request: z.strictObject({}), response: job.nullable() },
  /** How it goes; the answer says whether to go on. */
  'film.report': { request: report, response: z.strictObject({ goOn: z.boolean() }) },
  /** Whether the system has a program ffmpeg. */
  'film.tools': { request: z.strictObject({}), response: z.strictObject({ ffmpeg: z.boolean() }) },
  /**
   * Opens a place to write to: one file, a folder of numbered pictures, or a program that takes pictures. What stood there
   * stands until the film is closed. What a recording that broke off has left beside it is taken up: segments of a journal,
   * pictures of a folder, each counted from the first on. Refused (`otherRecording`) where they are of another recording.
   */
  'film.open': {
    request: z.strictObject({
      token,
      kind: z.enum(['file', 'pictures', 'prores']),
      rate,
      /** What is going to be written, as far as one can tell; refused when there is no room for it. */
      expected_bytes: bytes,
      /** Null: nothing is kept to go on from, and nothing is taken up. */
      identity: identity.nullable(),
      /** Drops what stands from before. */
      anew: z.boolean(),
    }),
    response: z.strictObject({ sink: token, name, free_bytes: bytes, pictures: bytes, segments: bytes }),
  },
  /** Adds to the film's journal: a whole segment, in pieces of which the last one is marked. */
  'film.keep': {
    request: z.strictObject({ sink: token, data: piece, last: z.boolean() }),
    response: z.strictObject({}),
  },
  /** A piece of a segment in the journal, from a byte on; empty at its end. */
  'film.kept': {
    request: z.strictObject({ sink: token, segment: bytes, from: bytes }),
    response: z.strictObject({ data: piece }),
  },
  /**
   * Writes a piece: into the file at a position, or as the picture of a number. `closing` marks what ends a file that has
   * to be ended because the disk is filling up: it may use the last of the room.
   */
  'film.write': {
    request: z.strictObject({
      sink: token,
      picture: z.number().int().min(0).max(9_999_999).nullable(),
      position: bytes,
      data: piece,
      closing: z.boolean(),
    }),
    response: z.strictObject({}),
  },
  /** Writes a text beside the film, whole or not at all: captions, telemetry. */
  'film.beside': {
    request: z.strictObject({
      sink: token,
      ending: z.string().regex(/^[a-z0-9-]{1,20}(\.[a-z0-9]{1,10})?$/),
      text: z.string().max(100_000_000),
    }),
    response: z.strictObject({ name }),
  },
  /** Ends it. Kept, a file takes its name; else nothing of it stays but, `later`, what the recording can go on from. */
  'film.close': {
    request: z.strictObject({ sink: token, keep: z.boolean(), later: z.boolean() }),
    response: z.strictObject({ name, bytes }),
  },
} as const;
