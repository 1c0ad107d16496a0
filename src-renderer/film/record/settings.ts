/** What a format asks of the encoder and of the disk. */
import { canEncodeVideo, type VideoCodec } from 'mediabunny';
import type { FilmFormat } from '../../../core/contract/filmChannels.ts';
import type { FrameRate } from '../../../core/replay/film/rate.ts';

export const CODECS: Partial<Record<FilmFormat, VideoCodec>> = {
  webm: 'vp9',
  'webm-alpha': 'vp9',
  av1: 'av1',
  mp4: 'avc',
};

export const transparent = (format: FilmFormat): boolean => format === 'webm-alpha' || format === 'png-alpha';
export const isPictures = (format: FilmFormat): boolean => format.startsWith('png');

/** Bits a pixel that flat drawings with fine type need to stand clean, by experience with these pictures. */
const BITS_PER_PIXEL = 0.16;
/** Bytes a pixel of a PNG picture of this kind at most, by experience; an estimate of room alone. */
const PNG_BYTES_PER_PIXEL = 0.25;
/** A segment of video is so long, film time in s: as much is lost at most, a lane, when a recording breaks off. */
const SEGMENT_s = 2;
/** Pictures that are drawn in one go where each is a file of its own. */
const PICTURES_AT_ONCE = 8;

export interface RecordOptions {
  readonly width_px: number;
  readonly height_px: number;
  readonly rate: FrameRate;
  readonly format: FilmFormat;
  /** Only these pictures, film time in s; null for the film. */
  readonly stills_s: readonly number[] | null;
  readonly frameCode: boolean;
  readonly sound: { readonly name: string; readonly data: Uint8Array } | null;
  /** Begins at the first picture even where a recording that broke off could go on. */
  readonly anew: boolean;
}

interface Sized {
  readonly width_px: number;
  readonly height_px: number;
  readonly rate: FrameRate;
  readonly format: FilmFormat;
}

/** Bits a second for pictures of this size (px) at this rate. */
export function bitrateOf(width: number, height: number, { numerator, denominator }: FrameRate): number {
  return Math.round(BITS_PER_PIXEL * width * height * Math.min(60, numerator / denominator));
}

/** Pictures of a segment. */
export function segmentPictures({ format, rate: { numerator, denominator } }: Sized): number {
  if (CODECS[format] === undefined) return PICTURES_AT_ONCE;
  return Math.max(1, Math.round((SEGMENT_s * numerator) / denominator));
}

/** Room that so many pictures may take, bytes. */
export function expectedBytes({ width_px, height_px, rate, format }: Sized, pictures: number): number {
  const each =
    CODECS[format] === undefined
      ? width_px * height_px * PNG_BYTES_PER_PIXEL
      : (bitrateOf(width_px, height_px, rate) / 8 / rate.numerator) * rate.denominator;
  return Math.round(1.1 * pictures * each);
}

/** Why the browser cannot record this format in this size, in a sentence; null where it can. */
export async function whyNot(format: FilmFormat, width: number, height: number): Promise<string | null> {
  if (width % 2 === 1 || height % 2 === 1) return 'The sides of a film are even numbers of pixels.';
  const codec = CODECS[format];
  if (codec === undefined) return null;
  if (typeof VideoEncoder === 'undefined') return 'This browser has no video encoder.';
  if (await canEncodeVideo(codec, { width, height, bitrate: 5_000_000 })) return null;
  return `This browser cannot encode ${format === 'mp4' ? 'H.264' : codec.toUpperCase()} at ${width}×${height}; choose another format or size.`;
}
