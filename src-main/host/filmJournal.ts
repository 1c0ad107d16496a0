/**
 * The journal beside a film that is being recorded: its closed segments one after the other, so that a recording that broke
 * off goes on behind the last one that is whole. Each record is a mark, its length and its checksum (CRC-32, ISO 3309), 32
 * bits each and lowest byte first, and its bytes; the first record says of which recording it is.
 */
import { open, rm, type FileHandle } from 'node:fs/promises';
import { basename } from 'node:path';
import { crc32 } from 'node:zlib';
import type { FilmIdentity } from '../../core/contract/filmChannels.ts';
import { HostFailure } from './failure.ts';

/** "PLFJ". */
const MARK = 0x4a464c50;
const HEAD = 12;
/** No segment is as large: a length above it is that of a broken record. */
const LARGEST_RECORD = 1_000_000_000;

interface Place {
  readonly at: number;
  readonly length: number;
}

export class FilmJournal {
  private pending: Buffer[] = [];

  private constructor(
    private readonly path: string,
    private readonly file: FileHandle,
    /** Of each segment, without its head. */
    private readonly places: Place[],
    private end: number,
  ) {}

  /**
   * The journal of a film. One that stands is taken up, without what was cut off at its end; `anew` drops it. Throws
   * HostFailure `otherRecording` when it is that of another recording.
   */
  static async open(film: string, identity: FilmIdentity, anew: boolean): Promise<FilmJournal> {
    const path = `${film}.journal`;
    const file = await open(path, anew ? 'w+' : 'a+').then(async (made) => {
      // Opened to be written anywhere; the call before made sure that it is there.
      await made.close();
      return open(path, 'r+');
    });
    try {
      const [first, ...segments] = await readRecords(file);
      if (first !== undefined) {
        const known = readIdentity((await readAt(file, first.at, first.length)).toString('utf8'));
        refuseOther(`“${basename(film)}”`, known, identity);
        const last = segments.at(-1) ?? first;
        const journal = new FilmJournal(path, file, segments, last.at + last.length);
        await file.truncate(journal.end);
        return journal;
      }
      await file.truncate(0);
      const journal = new FilmJournal(path, file, [], 0);
      await journal.append(Buffer.from(JSON.stringify(identity)));
      return journal;
    } catch (error) {
      await file.close();
      throw error;
    }
  }

  /** Segments that stand. */
  get segments(): number {
    return this.places.length;
  }

  /** Takes a piece of the next segment, which stands when its last piece is there. */
  async add(data: Buffer, last: boolean): Promise<void> {
    this.pending.push(data);
    if (!last) return;
    const whole = Buffer.concat(this.pending);
    this.pending = [];
    this.places.push(await this.append(whole));
  }

  /** Bytes of a segment from a place on, at most so many. Throws HostFailure where there is none of that number. */
  async read(segment: number, from: number, most: number): Promise<Buffer> {
    const place = this.places[segment];
    if (place === undefined)
      throw new HostFailure('notFound', `The journal “${basename(this.path)}” has no segment ${segment}.`);
    const length = Math.max(0, Math.min(most, place.length - from));
    return readAt(this.file, place.at + from, length);
  }

  /** Closes it; `later` leaves it for a recording that goes on, where there is anything to go on from. */
  async close(later: boolean): Promise<void> {
    await this.file.close();
    if (!later || this.places.length === 0) await rm(this.path, { force: true });
  }

  private async append(bytes: Buffer): Promise<Place> {
    const head = Buffer.alloc(HEAD);
    head.writeUInt32LE(MARK, 0);
    head.writeUInt32LE(bytes.length, 4);
    head.writeUInt32LE(crc32(bytes), 8);
    const place = { at: this.end + HEAD, length: bytes.length };
    await writeAt(this.file, Buffer.concat([head, bytes]), this.end);
    // It counts as standing only when the disk has it: a machine that goes off must not leave a hole.
    await this.file.datasync();
    this.end = place.at + place.length;
    return place;
  }
}

/** The records that are whole, up to the first one that is not. */
async function readRecords(file: FileHandle): Promise<Place[]> {
  const { size } = await file.stat();
  const places: Place[] = [];
  for (let at = 0; at + HEAD <= size;) {
    const head = await readAt(file, at, HEAD);
    const length = head.readUInt32LE(4);
    const whole = head.readUInt32LE(0) === MARK && length <= LARGEST_RECORD && at + HEAD + length <= size;
    if (!whole || crc32(await readAt(file, at + HEAD, length)) !== head.readUInt32LE(8)) break;
    places.push({ at: at + HEAD, length });
    at += HEAD + length;
  }
  return places;
}

async function readAt(file: FileHandle, position: number, length: number): Promise<Buffer> {
  const buffer = Buffer.alloc(length);
  let done = 0;
  while (done < length) {
    const { bytesRead } = await file.read(buffer, done, length - done, position + done);
    if (bytesRead === 0) break;
    done += bytesRead;
  }
  return buffer.subarray(0, done);
}

/** A disk that fills up takes a part and says so only at the next call: all of it has to be taken. */
export async function writeAt(file: FileHandle, data: Buffer, position: number): Promise<void> {
  let done = 0;
  while (done < data.length) {
    const { bytesWritten } = await file.write(data, done, data.length - done, position + done);
    if (bytesWritten === 0) throw new HostFailure('diskFull', 'The disk is full: the film ends here.');
    done += bytesWritten;
  }
}

/** What a text says of a recording; null where it says nothing. */
export function readIdentity(text: string): FilmIdentity | null {
  try {
    const read: unknown = JSON.parse(text);
    if (typeof read !== 'object' || read === null) return null;
    return Object.fromEntries(Object.entries(read).map(([name, value]) => [name, String(value)]));
  } catch {
    return null;
  }
}

/** Throws HostFailure `otherRecording` with what differs: two recordings must not become one film. */
export function refuseOther(subject: string, known: FilmIdentity | null, now: FilmIdentity): void {
  const begin = 'record under another name, or begin anew';
  if (known === null) {
    const sentence = `What stands of ${subject} does not say of which recording it is; ${begin}.`;
    throw new HostFailure('otherRecording', sentence);
  }
  const names = [...new Set([...Object.keys(known), ...Object.keys(now)])];
  const name = names.find((each) => known[each] !== now[each]);
  if (name === undefined) return;
  const words = `${known[name] ?? 'none'}, now ${now[name] ?? 'none'}`;
  const sentence = `What stands of ${subject} was recorded with another ${name} (${words}); ${begin}.`;
  throw new HostFailure('otherRecording', sentence);
}
