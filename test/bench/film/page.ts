/** Runs in the browser that is measured: draws, reads back, converts, encodes the pictures of a film, each by itself and all together. */
import { loadStudy } from '../../../core/contract/load.ts';
import type { FilmFormat } from '../../../core/contract/filmChannels.ts';
import { resolveCues, type CueTrack } from '../../../core/replay/film/cueTrack.ts';
import { frameTime_s } from '../../../core/replay/film/rate.ts';
import { segmentSpans } from '../../../core/replay/film/segment.ts';
import { ComputeClient, type WorkerLike } from '../../../src-renderer/compute/client.ts';
import { loadType, Picture } from '../../../src-renderer/film/picture/picture.ts';
import type { FilmScene } from '../../../src-renderer/film/picture/scene.ts';
import { prepareFilm } from '../../../src-renderer/film/prepare.ts';
import { laneOrders, Lanes } from '../../../src-renderer/film/record/lanes.ts';
import type { LaneSettings } from '../../../src-renderer/film/record/laneProtocol.ts';
import { bitrateOf, CODECS, transparent } from '../../../src-renderer/film/record/settings.ts';
import { PixelReader } from '../../../src-renderer/film/record/pixels.ts';
import { COLOUR_SPACE, coverToI420, i420Size, toI420 } from '../../../src-renderer/film/record/video709.ts';
import '../../../src-renderer/app/base.css';

const RATE = { numerator: 30, denominator: 1 };
let scene: FilmScene;
let track: CueTrack;

export interface Wish {
  readonly width_px: number;
  readonly height_px: number;
  readonly format: FilmFormat;
  /** Every `stride`th frame of the film from `from` on, so many. */
  readonly from: number;
  readonly count: number;
  readonly stride: number;
}

const framesOf = ({ from, count, stride }: Wish): number[] =>
  Array.from({ length: count }, (_, i) => from + i * stride);

export interface Prepared {
  /** The first frame with the globe. */
  readonly globe: number;
}

/** Solves what the film needs. */
async function prepare(text: string): Promise<Prepared> {
  const loaded = loadStudy(text);
  if (!loaded.ok) throw new Error(loaded.problems[0]!.sentence);
  await loadType(document.fonts);
  const worker = new Worker(new URL('../../../src-renderer/compute/worker.ts', import.meta.url), {
    type: 'module',
  });
  const prepared = await prepareFilm(loaded.study, new ComputeClient(worker as unknown as WorkerLike), 60);
  worker.terminate();
  scene = prepared.scene;
  const cues = resolveCues(prepared.film, scene.facts);
  if (!cues.ok) throw new Error(cues.problems.join(' '));
  track = cues.track;
  const first = track.cues.find((cue) => cue.plate === 'map')?.at_s ?? 0;
  return { globe: Math.ceil((first * RATE.numerator) / RATE.denominator) };
}

export interface Made {
  /** Pictures a second. */
  readonly rate: number;
  /** Until the first picture, ms. */
  readonly begin_ms: number;
  readonly bytes: number;
  /** A sum over the bytes: other bytes, another sum. */
  readonly sum: number;
}

export interface Apart {
  readonly draw_ms: number;
  readonly read_ms: number;
  readonly convert_ms: number;
  readonly encode_ms: number;
}

/** Each step by itself, one thread after another: mean ms a picture. */
async function apart(wish: Wish): Promise<Apart> {
  const { width_px, height_px, format } = wish;
  const picture = new Picture(scene, track, {
    ...{ width_px, height_px, rate: RATE, frameCode: false },
    ground: transparent(format) ? 'transparent' : 'sheet',
  });
  const canvas = new OffscreenCanvas(width_px, height_px);
  const context = canvas.getContext('2d', { alpha: transparent(format), willReadFrequently: true })!;
  const yuv = new Uint8Array(i420Size(width_px, height_px));
  const cover = new Uint8Array(yuv.length).fill(128);
  const pixels = new PixelReader(canvas, transparent(format) ? 'keep' : 'discard');
  const sum = { draw_ms: 0, read_ms: 0, convert_ms: 0, encode_ms: 0 };
  const codec = CODECS[format];
  const full = codec === 'avc' ? 'avc1.640028' : codec === 'av1' ? 'av01.0.08M.08' : 'vp09.00.40.08';
  const encoder = new VideoEncoder({
    output: () => undefined,
    error: (error) => console.error(error.message),
  });
  encoder.configure({
    ...{ codec: full, width: width_px, height: height_px, latencyMode: 'quality' },
    bitrate: bitrateOf(width_px, height_px, RATE),
  });
  let last = performance.now();
  const took = (): number => {
    const now = performance.now();
    const ms = now - last;
    last = now;
    return ms;
  };
  const frames = framesOf(wish);
  for (const [i, frame] of frames.entries()) {
    took();
    picture.draw(context, frame);
    // One pixel read makes the browser do what it has put off.
    context.getImageData(0, 0, 1, 1);
    sum.draw_ms += took();
    const order = await pixels.read();
    sum.read_ms += took();
    if (transparent(format)) coverToI420(pixels.bytes, width_px, height_px, yuv, cover, order);
    else toI420(pixels.bytes, width_px, height_px, yuv, order);
    sum.convert_ms += took();
    const timestamp = Math.round(1e6 * frameTime_s(i, RATE));
    const sample = new VideoFrame(yuv, {
      ...{ format: 'I420', codedWidth: width_px, codedHeight: height_px, timestamp },
      colorSpace: COLOUR_SPACE,
    });
    encoder.encode(sample, { keyFrame: i % 60 === 0 });
    sample.close();
    // One at a time, so that its time is its own.
    while (encoder.encodeQueueSize > 0)
      await new Promise((resume) => encoder.addEventListener('dequeue', resume, { once: true }));
    sum.encode_ms += took();
  }
  took();
  await encoder.flush();
  sum.encode_ms += took();
  encoder.close();
  for (const key of Object.keys(sum) as (keyof typeof sum)[]) sum[key] /= frames.length;
  return sum;
}

/** Draws alone, as many as there are: pictures a second. */
function raster(wish: Wish): number {
  const { width_px, height_px, format } = wish;
  const picture = new Picture(scene, track, {
    ...{ width_px, height_px, rate: RATE, frameCode: false },
    ground: transparent(format) ? 'transparent' : 'sheet',
  });
  const canvas = new OffscreenCanvas(width_px, height_px);
  const context = canvas.getContext('2d', { alpha: transparent(format), willReadFrequently: true })!;
  const frames = framesOf(wish);
  const begun = performance.now();
  for (const frame of frames) {
    picture.draw(context, frame);
    // One pixel read makes the browser do what it has put off.
    context.getImageData(0, 0, 1, 1);
  }
  return (1000 * frames.length) / (performance.now() - begun);
}

/** Recorded by so many lanes, without a disk: pictures a second from the first picture on, and bytes. */
async function recorded(wish: Wish, lanes: number, each: number): Promise<Made> {
  const { width_px, height_px, format } = wish;
  const frames = framesOf(wish);
  const settings: LaneSettings = {
    ...{ width_px, height_px, rate: RATE, format, frameCode: false, frames },
    bitrate: bitrateOf(width_px, height_px, RATE),
  };
  const asked = performance.now();
  let begun = 0;
  let bytes = 0;
  let sum = 0;
  const work = new Lanes(
    laneOrders(scene, track, settings),
    {
      take: (segment) => {
        for (const { data, alpha } of segment.packets) {
          bytes += data.length + (alpha?.length ?? 0);
          for (let i = 0; i < data.length; i += 7) sum = (sum * 31 + data[i]!) | 0;
        }
        return Promise.resolve();
      },
      drawn: () => {
        if (begun === 0) begun = performance.now();
      },
      glimpse: (picture) => picture.close(),
    },
    lanes,
  );
  await work.run(segmentSpans(frames.length, each));
  const now = performance.now();
  return { rate: (1000 * frames.length) / (now - begun), begin_ms: begun - asked, bytes, sum };
}

Object.assign(globalThis, { bench: { prepare, apart, raster, recorded } });
