/**
 * Everything that crosses between the window and the desktop side: channel → request and response. Both hosts serve the
 * same table; requests are parsed on arrival, responses before they are trusted.
 *
 * The desktop side keeps paths; the window holds tokens that mean nothing elsewhere and last as long as the host runs.
 */
import { z } from 'zod';
// Before the first schema: it sets how zod runs.
import './primitives.ts';
import { evidenceChannels } from './evidenceChannels.ts';
import { filmChannels } from './filmChannels.ts';

const token = z.string().min(1).max(100);
const fileName = z.string().min(1).max(255);
const fileText = z.string().max(20_000_000);

/** A file that the window may read or write by its token. */
const fileHandle = z.strictObject({ token, name: fileName });

const folderEntry = z.strictObject({
  token,
  name: fileName,
  kind: z.enum(['folder', 'study', 'other']),
});

const chosen = z.discriminatedUnion('outcome', [
  z.strictObject({ outcome: z.literal('chosen'), file: fileHandle }),
  z.strictObject({ outcome: z.literal('cancelled') }),
  /** This host has no dialog of its own: the window shows the folders itself, by `folder.list`. */
  z.strictObject({ outcome: z.literal('browse') }),
]);

export const channels = {
  'app.info': {
    request: z.strictObject({}),
    response: z.strictObject({ version: z.string(), host: z.enum(['electron', 'loopback']) }),
  },
  /** The study named on the command line, to be opened first; null when there was none. */
  'app.startStudy': {
    request: z.strictObject({}),
    response: fileHandle.nullable(),
  },
  'demo.list': {
    request: z.strictObject({}),
    response: z.array(z.strictObject({ id: z.string(), title: z.string() })),
  },
  'demo.read': {
    request: z.strictObject({ id: z.string().min(1).max(100) }),
    response: z.strictObject({ name: fileName, text: fileText }),
  },
  'file.choose': {
    request: z.strictObject({
      purpose: z.enum(['open', 'save']),
      suggestedName: fileName,
      /** File name ending without the dot: `plumeline.json`, `svg`, `csv`. */
      ending: z.string().regex(/^[a-z0-9.]{1,20}$/),
    }),
    response: chosen,
  },
  'file.read': {
    request: z.strictObject({ token }),
    response: z.strictObject({ name: fileName, text: fileText }),
  },
  /** Atomic: the old content stands until the new one is wholly written. */
  'file.write': {
    request: z.strictObject({
      token,
      text: fileText,
      /** `base64`: the text stands for bytes, such as a picture's; `utf8` when left out. */
      encoding: z.enum(['utf8', 'base64']).optional(),
    }),
    response: z.strictObject({ name: fileName }),
  },
  'folder.list': {
    request: z.strictObject({
      /** Null: where the last file was, else the home folder. */ token: token.nullable(),
    }),
    response: z.strictObject({
      token,
      name: z.string(),
      /** Null at the top. */
      parent: token.nullable(),
      /** Folders first, then studies, then other files, each by name. */
      entries: z.array(folderEntry),
      /** How many entries of a very large folder are not among them. */
      leftOut: z.number().int().min(0),
    }),
  },
  /** A file name in a folder as a token, to be read or written; tells whether one stands there already. */
  'folder.file': {
    request: z.strictObject({ folder: token, name: fileName }),
    response: z.strictObject({ file: fileHandle, exists: z.boolean() }),
  },
  'recent.list': {
    request: z.strictObject({}),
    response: z.array(z.strictObject({ file: fileHandle, folder: z.string() })),
  },
  'settings.read': {
    request: z.strictObject({}),
    response: z.strictObject({ sheet: z.enum(['paper', 'night']) }),
  },
  'settings.write': {
    request: z.strictObject({ sheet: z.enum(['paper', 'night']) }),
    response: z.strictObject({}),
  },
  ...evidenceChannels,
  ...filmChannels,
} as const;

export type Channel = keyof typeof channels;
export type Request<C extends Channel> = z.infer<(typeof channels)[C]['request']>;
export type Response<C extends Channel> = z.infer<(typeof channels)[C]['response']>;

/** What a host answers: ok with the response, or an error with a code and one sentence. */
export type Answer<C extends Channel> =
  | { readonly ok: true; readonly value: Response<C> }
  | { readonly ok: false; readonly code: HostErrorCode; readonly message: string };

export const hostErrorCodes = [
  'badRequest',
  'unknownChannel',
  'unknownToken',
  'notFound',
  'notReadable',
  'notWritable',
  'tooLarge',
  /** There is no room on the disk, or what is left is kept for ending a file well. */
  'diskFull',
  'otherRecording',
  /** Not this window's request: wrong token, host, origin or frame. */
  'refused',
  'internal',
] as const;
export type HostErrorCode = (typeof hostErrorCodes)[number];
