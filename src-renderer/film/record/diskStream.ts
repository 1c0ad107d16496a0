/** A film's bytes on their way to the host's disk, piece by piece, each at its position. */
import type { StreamTargetChunk } from 'mediabunny';
import { LARGEST_PIECE } from '../../../core/contract/filmChannels.ts';
import { HostError, type Host } from '../../bridge/host.ts';

/** Bytes as base64 text. */
function toBase64(bytes: Uint8Array): string {
  const native = (bytes as { toBase64?: () => string }).toBase64;
  if (native !== undefined) return native.call(bytes);
  let text = '';
  for (let i = 0; i < bytes.length; i += 32_768)
    text += String.fromCharCode(...bytes.subarray(i, i + 32_768));
  return btoa(text);
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

  /** A picture of a sequence. Rejects with HostError when it cannot be written. */
  async picture(number: number, data: Uint8Array): Promise<void> {
    await this.host.request('film.write', {
      ...{ sink: this.sink, picture: number, position: 0, data: toBase64(data), closing: false },
    });
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
