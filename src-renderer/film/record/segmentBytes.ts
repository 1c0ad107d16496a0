/** A segment of a film as bytes for the journal beside it, and back. */
import type { FilmSegment } from '../../../core/replay/film/segment.ts';

interface Head {
  readonly number: number;
  readonly config: string;
  /** Key, timestamp and duration in s, bytes, bytes of transparency (-1 for none). */
  readonly packets: readonly (readonly [boolean, number, number, number, number])[];
}

/** A segment as bytes: the length of its head (32 bits, lowest byte first), its head as JSON, then all data in order. */
export function packSegment({ number, packets, config }: FilmSegment): Uint8Array<ArrayBuffer> {
  const head: Head = {
    ...{ number, config },
    packets: packets.map(({ key, timestamp_s, duration_s, data, alpha }) => [
      ...([key, timestamp_s, duration_s, data.length] as const),
      alpha === null ? -1 : alpha.length,
    ]),
  };
  const words = new TextEncoder().encode(JSON.stringify(head));
  const size = packets.reduce((sum, { data, alpha }) => sum + data.length + (alpha?.length ?? 0), 0);
  const bytes = new Uint8Array(4 + words.length + size);
  new DataView(bytes.buffer).setUint32(0, words.length, true);
  bytes.set(words, 4);
  let at = 4 + words.length;
  for (const { data, alpha } of packets) {
    for (const part of alpha === null ? [data] : [data, alpha]) {
      bytes.set(part, at);
      at += part.length;
    }
  }
  return bytes;
}

/** The segment in bytes of `packSegment`. Throws Error when they are not such bytes. */
export function unpackSegment(bytes: Uint8Array): FilmSegment {
  const broken = new Error('The journal of the film holds something that is no segment; begin it anew.');
  if (bytes.length < 4) throw broken;
  const length = new DataView(bytes.buffer, bytes.byteOffset, bytes.length).getUint32(0, true);
  let at = 4 + length;
  if (at > bytes.length) throw broken;
  const { number, config, packets } = JSON.parse(new TextDecoder().decode(bytes.subarray(4, at))) as Head;
  const take = (size: number): Uint8Array => {
    at += size;
    if (at > bytes.length) throw broken;
    return bytes.slice(at - size, at);
  };
  const segment: FilmSegment = {
    ...{ number, config },
    packets: packets.map(([key, timestamp_s, duration_s, size, alpha]) => ({
      ...{ key, timestamp_s, duration_s, data: take(size) },
      alpha: alpha < 0 ? null : take(alpha),
    })),
  };
  if (at !== bytes.length) throw broken;
  return segment;
}
