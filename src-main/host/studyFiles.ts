/** Text files as the desktop side reads and writes them: studies, demos, exports. */
import { constants } from 'node:fs';
import { open, readdir, stat } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { Readable } from 'node:stream';
import { writeFile } from 'atomically';
import { codeOf, HostFailure, reasonOf } from './failure.ts';

/** How the name of a study's file ends. */
export const STUDY_ENDING = '.plumeline.json';

/** Largest file that is read, in bytes; the contract allows as many characters. */
const LARGEST_FILE = 20_000_000;

/** Windows has no such flag, and no such pipes. */
const NOT_WAITING = (constants as Partial<typeof constants>).O_NONBLOCK ?? 0;

/**
 * The text of a UTF-8 file. Throws HostFailure: `notFound`, `notReadable` (also for what is no regular file or no UTF-8)
 * or `tooLarge`.
 */
export async function readTextFile(path: string): Promise<string> {
  const name = basename(path);
  let bytes: Buffer;
  try {
    // Opened without waiting: a pipe with nothing at its other end must not hold the host.
    const file = await open(path, constants.O_RDONLY | NOT_WAITING);
    try {
      const found = await file.stat();
      if (!found.isFile()) throw new HostFailure('notReadable', `“${name}” cannot be read: it is no file.`);
      if (found.size > LARGEST_FILE) throw tooLarge(name, found.size);
      bytes = await file.readFile();
    } finally {
      await file.close();
    }
  } catch (error) {
    if (error instanceof HostFailure) throw error;
    if (codeOf(error) === 'ENOENT') throw new HostFailure('notFound', `“${name}” is not there.`, error);
    throw new HostFailure('notReadable', `“${name}” cannot be read: ${reasonOf(error)}.`, error);
  }
  // It may have grown since.
  if (bytes.length > LARGEST_FILE) throw tooLarge(name, bytes.length);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch (error) {
    throw new HostFailure('notReadable', `“${name}” cannot be read: it is no UTF-8 text.`, error);
  }
}

function tooLarge(name: string, size: number): HostFailure {
  const megabytes = (size / 1e6).toFixed(1);
  return new HostFailure(
    'tooLarge',
    `“${name}” has ${megabytes} MB, and at most ${LARGEST_FILE / 1e6} MB are read.`,
  );
}

/**
 * Writes a text, or the bytes that one in base64 stands for, as a whole or not at all: the new content goes to a file beside it, which then takes its name.
 * Throws HostFailure `notWritable`; the old content then stands.
 */
export async function writeTextFile(
  path: string,
  text: string,
  encoding: 'utf8' | 'base64' = 'utf8',
): Promise<void> {
  const name = basename(path);
  if (await isOtherThanFile(path)) {
    throw new HostFailure(
      'notWritable',
      `“${name}” cannot be written: something else of this name is in the way.`,
    );
  }
  try {
    // Handed over as a stream, since a text is written by one call of the system, and when the disk fills up that call
    // writes a part and calls it success. A stream goes on until all is written or an error comes.
    await writeFile(path, Readable.from([Buffer.from(text, encoding)]));
  } catch (error) {
    const reason = codeOf(error) === 'ENOENT' ? 'its folder is not there' : reasonOf(error);
    throw new HostFailure('notWritable', `“${name}” cannot be written: ${reason}.`, error);
  }
}

/** Whether a folder, a device or the like has this path: writing would put a file in its place. */
async function isOtherThanFile(path: string): Promise<boolean> {
  try {
    return !(await stat(path)).isFile();
  } catch {
    // Nothing there, or nothing that may be looked at: then writing will say why.
    return false;
  }
}

/** The name and text of a demo study. Throws HostFailure `notFound` when the folder has no demo of this name. */
export async function readDemo(folder: string, id: string): Promise<{ name: string; text: string }> {
  const name = `${id}${STUDY_ENDING}`;
  // Looked up in the listing, so that no name can lead out of the folder.
  if (!(await readdir(folder)).includes(name)) {
    throw new HostFailure('notFound', `There is no demo study “${id}”.`);
  }
  return { name, text: await readTextFile(join(folder, name)) };
}
