/** A film's bytes on their way to the host's disk, piece by piece, each at its position; and a journal to go on from. */
import type { StreamTargetChunk } from 'mediabunny';
import { LARGEST_PIECE } from '../../../core/contract/filmChannels.ts';
import type { FilmSegment } from '../../../core/replay/film/segment.ts';
import { HostError, type Host } from '../../bridge/host.ts';
import { packSegment, unpackSegment } from './segmentBytes.ts';

/** Bytes as base64 text. */
function toBase64(bytes: Uint8Array): string {
  const native = (bytes as { toBase64?: () => string }).toBase64;
  if (native !== undefined) return native.call(bytes);
  let text = '';
  for (let i = 0; i < bytes.length; i += 32_768)
    text += String.fromCharCode(...bytes.subarray(i, i + 32_768));
  return btoa(text);
}

function fromBase64(text: string): Uint8Array {
  return Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
}

export class DiskStream {
  /** The sentence with which the disk refused to take more; null while it takes. */
  full: string | null = null;
  /** Set when not even the end of the file could be written. */
  broken: string | null = null;

  constructor(
    private readonly host: Host,
    readonly sink: string,
  ) {}

  /** For a muxer: it may write backward. A disk that fills up is noted, not thrown, so that the file can still be ended. */
  readonly writable = new WritableStream<StreamTargetChunk>({
    write: async ({ data, position }) => {
      for (let from = 0; from < data.length; from += LARGEST_PIECE)
        await this.put(data.subarray(from, from + LARGEST_PIECE), position + from);
    },
  });

  /** A picture of a sequence; whether it could be written: a disk that fills up is noted. */
  async picture(number: number, data: Uint8Array): Promise<boolean> {
    const request = { sink: this.sink, picture: number, position: 0, data: toBase64(data), closing: false };
    return this.unlessFull(async () => {
      await this.host.request('film.write', request);
    });
  }

  /** Adds a segment to the journal; whether it stands there now: a disk that fills up is noted. */
  async keep(segment: FilmSegment): Promise<boolean> {
    const bytes = packSegment(segment);
    return this.unlessFull(async () => {
      for (let from = 0; from < bytes.length; from += LARGEST_PIECE) {
        const data = toBase64(bytes.subarray(from, from + LARGEST_PIECE));
        const last = from + LARGEST_PIECE >= bytes.length;
        await this.host.request('film.keep', { sink: this.sink, data, last });
      }
    });
  }

  /** A segment that stands in the journal. */
  async kept(segment: number): Promise<FilmSegment> {
    const pieces: Uint8Array[] = [];
    let from = 0;
    for (;;) {
      const { data } = await this.host.request('film.kept', { sink: this.sink, segment, from });
      if (data === '') break;
      const piece = fromBase64(data);
      pieces.push(piece);
      from += piece.length;
    }
    const bytes = new Uint8Array(from);
    let at = 0;
    for (const piece of pieces) {
      bytes.set(piece, at);
      at += piece.length;
    }
    return unpackSegment(bytes);
  }

  private async unlessFull(write: () => Promise<void>): Promise<boolean> {
    try {
      await write();
      return true;
    } catch (error) {
      if (!(error instanceof HostError) || error.code !== 'diskFull') throw error;
      this.full ??= error.message;
      return false;
    }
  }

  private async put(data: Uint8Array, position: number): Promise<void> {
    if (this.broken !== null) return;
    const request = { sink: this.sink, picture: null, position, data: toBase64(data) };
    try {
      await this.host.request('film.write', { ...request, closing: this.full !== null });
    } catch (error) {
      if (!(error instanceof HostError) || error.code !== 'diskFull') throw error;
      if (this.full !== null) {
        this.broken = error.message;
        return;
      }
      this.full = error.message;
      await this.put(data, position);
    }
  }
}
