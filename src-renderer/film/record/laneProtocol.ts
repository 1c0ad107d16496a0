/** What a recording and its lanes say to each other. A lane is a worker that draws and encodes whole segments by itself. */
import type { Film } from '../../../core/contract/film.ts';
import type { FilmFormat } from '../../../core/contract/filmChannels.ts';
import type { FilmSegment, SegmentSpan } from '../../../core/replay/film/segment.ts';
import type { FrameRate } from '../../../core/replay/film/rate.ts';
import type { SceneParts, SolvedFlight } from '../picture/scene.ts';

/** A face of the page's type, as a worker can load it. */
export interface Face {
  readonly family: string;
  /** As in a style sheet, addresses made whole. */
  readonly source: string;
  readonly descriptors: FontFaceDescriptors;
}

/** A solved flight without what is compiled from its study: functions do not cross. */
export type SentFlight = Omit<SolvedFlight, 'compiled'>;

export interface LaneOrders {
  readonly parts: Omit<SceneParts, 'main' | 'compare'> & {
    readonly main: SentFlight;
    readonly compare: SentFlight | null;
  };
  readonly film: Film;
  readonly faces: readonly Face[];
  readonly settings: LaneSettings;
}

export interface LaneSettings {
  readonly width_px: number;
  readonly height_px: number;
  readonly rate: FrameRate;
  readonly format: FilmFormat;
  readonly frameCode: boolean;
  /** Bits a second; no matter for pictures. */
  readonly bitrate: number;
  /** Frame numbers of the film in the order in which they are recorded. */
  readonly frames: readonly number[];
}

export type ToLane =
  | { readonly kind: 'begin'; readonly orders: LaneOrders }
  | { readonly kind: 'make'; readonly span: SegmentSpan }
  | { readonly kind: 'pause'; readonly paused: boolean };

export type FromLane =
  /** It can take a segment: one before may still be on its way through the encoder. */
  | { readonly kind: 'free' }
  | { readonly kind: 'drawn' }
  /** A picture small enough to look at while it goes on. */
  | { readonly kind: 'glimpse'; readonly picture: ImageBitmap }
  | { readonly kind: 'made'; readonly segment: FilmSegment }
  /** The message is a sentence. */
  | { readonly kind: 'failed'; readonly message: string };
