/**
 * A segment of a recorded film: some pictures encoded by themselves, so that one that stands need never be made again.
 */

/** One picture as it was encoded; film time in s. */
export interface FilmPacket {
  /** Whether it can be decoded without the ones before. */
  readonly key: boolean;
  readonly timestamp_s: number;
  readonly duration_s: number;
  readonly data: Uint8Array;
  /** Its transparency, encoded by itself; null for none. */
  readonly alpha: Uint8Array | null;
}

/** Pictures of a segment in order, and what a decoder must be told of them, as text. */
export interface FilmSegment {
  /** Counted from 0. */
  readonly number: number;
  readonly packets: readonly FilmPacket[];
  /** The decoder's configuration as JSON; empty for pictures that need none. */
  readonly config: string;
}

/** A span of pictures that is recorded as one segment. */
export interface SegmentSpan {
  readonly number: number;
  /** The first picture and the one after the last, by their place in the film. */
  readonly from: number;
  readonly to: number;
}

/** A film's pictures cut into segments of so many; the last one takes what is left. Counts are whole and positive. */
export function segmentSpans(pictures: number, each: number): SegmentSpan[] {
  const spans: SegmentSpan[] = [];
  for (let from = 0; from < pictures; from += each)
    spans.push({ number: spans.length, from, to: Math.min(pictures, from + each) });
  return spans;
}
