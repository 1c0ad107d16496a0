/** Folders and names in them, for choosing a file without a dialog of the system. */
import { readdir, stat } from 'node:fs/promises';
import { basename, dirname, join, sep } from 'node:path';
import { HostFailure, reasonOf } from './failure.ts';
import { STUDY_ENDING } from './studyFiles.ts';

export interface Entry {
  readonly name: string;
  readonly path: string;
  readonly kind: 'folder' | 'study' | 'other';
}

/** So many entries of a folder are shown; the rest is counted. */
const MOST_ENTRIES = 2000;
const LONGEST_NAME = 255;
const ORDER = { folder: 0, study: 1, other: 2 };
const byName = new Intl.Collator('en', { numeric: true });

/**
 * What stands in a folder, hidden files and what is neither file nor folder left out. Throws HostFailure `notFound` or
 * `notReadable`.
 */
export async function listFolder(path: string): Promise<{ entries: Entry[]; leftOut: number }> {
  let names: string[];
  try {
    names = await readdir(path);
  } catch (error) {
    throw new HostFailure('notReadable', `“${nameOf(path)}” cannot be opened: ${reasonOf(error)}.`, error);
  }
  const shown = names.filter((name) => !name.startsWith('.') && name.length <= LONGEST_NAME);
  const found = await Promise.all(shown.map((name) => entryOf(path, name)));
  const entries = found
    .filter((entry) => entry !== undefined)
    .sort((a, b) => ORDER[a.kind] - ORDER[b.kind] || byName.compare(a.name, b.name));
  return { entries: entries.slice(0, MOST_ENTRIES), leftOut: Math.max(0, entries.length - MOST_ENTRIES) };
}

async function entryOf(folder: string, name: string): Promise<Entry | undefined> {
  const path = join(folder, name);
  try {
    const found = await stat(path);
    if (found.isDirectory()) return { name, path, kind: 'folder' };
    if (!found.isFile()) return undefined;
    return { name, path, kind: name.endsWith(STUDY_ENDING) ? 'study' : 'other' };
  } catch {
    // A link that leads nowhere, or a file that has just gone: nothing that could be opened.
    return undefined;
  }
}

/** Whether there is a file or folder of this path. */
export async function exists(path: string): Promise<boolean> {
  try {
    await stat(path);
    return true;
  } catch {
    return false;
  }
}

/** Whether there is a folder of this path. */
export async function isFolder(path: string): Promise<boolean> {
  try {
    return (await stat(path)).isDirectory();
  } catch {
    return false;
  }
}

/** The folder above, or undefined at the top. */
export function parentOf(path: string): string | undefined {
  const parent = dirname(path);
  return parent === path ? undefined : parent;
}

/** A folder as it is shown: its path, with the home folder as `~`. */
export function shownFolder(path: string, home: string): string {
  if (path === home) return '~';
  return path.startsWith(home + sep) ? `~${path.slice(home.length)}` : path;
}

function nameOf(path: string): string {
  return basename(path) || path;
}

/**
 * The path of a file of this name in a folder. Throws HostFailure `badRequest` for a name that is not the name of a file
 * in that very folder: one with a separator, `.` and `..`, and what the platform forbids.
 */
export function pathInFolder(folder: string, name: string, platform: NodeJS.Platform): string {
  const problem = problemOfName(name, platform);
  if (problem !== undefined)
    throw new HostFailure('badRequest', `“${name}” cannot be the name of a file: ${problem}.`);
  return join(folder, name);
}

function problemOfName(name: string, platform: NodeJS.Platform): string | undefined {
  if (/[/\\]/.test(name)) return 'it has a slash or backslash in it';
  if (name === '.' || name === '..') return 'it means a folder';
  // eslint-disable-next-line no-control-regex -- these are what is looked for
  if (/[\u0000-\u001f\u007f]/.test(name)) return 'it has a control character in it';
  if (Buffer.byteLength(name) > LONGEST_NAME) return 'it is too long';
  if (platform !== 'win32') return undefined;
  if (/[<>:"|?*]/.test(name)) return 'none of < > : " | ? * may be in it';
  if (/[ .]$/.test(name)) return 'it may not end with a full stop or a space';
  if (/^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i.test(name)) return 'the system keeps this name for itself';
  return undefined;
}
