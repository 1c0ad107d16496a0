/** Records a film frame by frame: each picture is drawn, encoded and written before the next; none is dropped or drawn twice. */
import {
  canEncodeVideo,
  CanvasSource,
  Mp4OutputFormat,
  Output,
  StreamTarget,
  VideoSample,
  VideoSampleSource,
  WebMOutputFormat,
  type VideoCodec,
} from 'mediabunny';
import type { FilmFormat } from '../../../core/contract/filmChannels.ts';
import type { CueTrack } from '../../../core/replay/film/cueTrack.ts';
import { frameCount, frameTime_s, rateName, type FrameRate } from '../../../core/replay/film/rate.ts';
import {
  chaptersText,
  cueSheetText,
  srtText,
  telemetryCsv,
  vttText,
  type TelemetrySource,
} from '../../../core/replay/film/sidecars.ts';
import { HostError, type Host } from '../../bridge/host.ts';
import { readerAt } from '../picture/mapPlate.ts';
import { Picture } from '../picture/picture.ts';
import type { FilmScene } from '../picture/scene.ts';
import type { Context } from '../picture/type.ts';
import { DiskStream } from './diskStream.ts';
import { addSound, type SoundFeed } from './sound.ts';
import { COLOUR_SPACE, i420Size, toI420 } from './video709.ts';

export interface RecordOptions {
  readonly width_px: number;
  readonly height_px: number;
  readonly rate: FrameRate;
  readonly format: FilmFormat;
  /** Only these pictures, film time in s; null for the film. */
  readonly stills_s: readonly number[] | null;
  readonly frameCode: boolean;
  readonly sound: { readonly name: string; readonly data: Uint8Array } | null;
}

export interface RecordHooks {
  /** Told before each frame; `canvas` holds the last picture. Waits while paused. `keep` ends it here and keeps what there is. */
  readonly before: (
    done: number,
    of: number,
    left_s: number,
    canvas: OffscreenCanvas,
  ) => Promise<'go' | 'keep' | 'discard'>;
}

export interface Recorded {
  readonly frames: number;
  readonly of: number;
  readonly name: string;
  /** Why it ended before its end; null when it is whole. */
  readonly short: string | null;
  readonly kept: boolean;
}

const CODECS: Partial<Record<FilmFormat, VideoCodec>> = {
  webm: 'vp9',
  'webm-alpha': 'vp9',
  av1: 'av1',
  mp4: 'avc',
};
/** Bits a pixel that flat drawings with fine type need to stand clean, by experience with these pictures. */
const BITS_PER_PIXEL = 0.16;
/** Bytes a pixel of a PNG picture of this kind at most, by experience; an estimate of room alone. */
const PNG_BYTES_PER_PIXEL = 0.25;

const transparent = (format: FilmFormat): boolean => format === 'webm-alpha' || format === 'png-alpha';
const isPictures = (format: FilmFormat): boolean => format.startsWith('png');

/** Whether the browser can record this format in this size; else a sentence. */
export async function whyNot(format: FilmFormat, width: number, height: number): Promise<string | null> {
  if (width % 2 === 1 || height % 2 === 1) return 'The sides of a film are even numbers of pixels.';
  const codec = CODECS[format];
  if (codec === undefined) return null;
  if (typeof VideoEncoder === 'undefined') return 'This browser has no video encoder.';
  if (await canEncodeVideo(codec, { width, height, bitrate: 5_000_000 })) return null;
  return `This browser cannot encode ${format === 'mp4' ? 'H.264' : codec.toUpperCase()} at ${width}×${height}; choose another format or size.`;
}

/** Records into a file token of the host. Rejects with Error whose message is a sentence; a full disk is told in `short`. */
export async function recordFilm(
  host: Host,
  token: string,
  scene: FilmScene,
  track: CueTrack,
  options: RecordOptions,
  hooks: RecordHooks,
): Promise<Recorded> {
  const { width_px, height_px, rate, format } = options;
  const cannot = await whyNot(format, width_px, height_px);
  if (cannot !== null) throw new Error(cannot);
  const total = frameCount(track.length_s, rate);
  const list = options.stills_s?.map((t) =>
    Math.min(total - 1, Math.round((t * rate.numerator) / rate.denominator)),
  );
  const frames =
    list === undefined
      ? Array.from({ length: total }, (_, i) => i)
      : [...new Set(list)].sort((p, q) => p - q);
  const picture = new Picture(scene, track, {
    ...{ width_px, height_px, rate, frameCode: options.frameCode },
    ground: transparent(format) ? 'transparent' : 'sheet',
  });
  const canvas = new OffscreenCanvas(width_px, height_px);
  // Read back each time: a canvas in memory, drawn by the same code on every machine of this browser.
  const context = canvas.getContext('2d', { alpha: transparent(format), willReadFrequently: true });
  if (context === null) throw new Error('This browser gives no 2D canvas.');
  const opened = await host.request('film.open', {
    token,
    kind: format === 'prores' ? 'prores' : isPictures(format) ? 'pictures' : 'file',
    rate,
    expected_bytes: expectedBytes(options, frames.length),
  });
  const disk = new DiskStream(host, opened.sink);
  let kept = false;
  try {
    const sequence = isPictures(format) || format === 'prores';
    const run = sequence
      ? await recordPictures(picture, context, frames, opened.pictures, options, disk, hooks)
      : await recordVideo(picture, context, frames, scene, options, disk, hooks, await rendererOf(host));
    kept = run.ended !== 'discard';
    if (kept && options.stills_s === null) await writeBeside(host, opened.sink, scene, track, rate);
    const short =
      disk.broken === null
        ? (disk.full ?? run.short)
        : `${disk.broken} What was written stands, but its index is missing: it plays, and cannot be wound.`;
    return { frames: run.done, of: frames.length, name: opened.name, short, kept };
  } catch (error) {
    kept = isPictures(format);
    throw error;
  } finally {
    await host.request('film.close', { sink: opened.sink, keep: kept });
  }
}

function expectedBytes({ width_px, height_px, rate, format }: RecordOptions, frames: number): number {
  const pixels = width_px * height_px;
  const each =
    isPictures(format) || format === 'prores'
      ? pixels * PNG_BYTES_PER_PIXEL
      : (bitrateOf(width_px, height_px, rate) / 8 / rate.numerator) * rate.denominator;
  return Math.round(1.1 * frames * each);
}

function bitrateOf(width: number, height: number, { numerator, denominator }: FrameRate): number {
  return Math.round(BITS_PER_PIXEL * width * height * Math.min(60, numerator / denominator));
}

interface Run {
  readonly done: number;
  readonly ended: 'whole' | 'keep' | 'discard';
  readonly short: string | null;
}

/** Time left from the time taken, s; wall time, which no picture sees. */
class Pace {
  private readonly begun = performance.now();
  left_s(done: number, of: number): number {
    return done === 0 ? 0 : (((performance.now() - this.begun) / done) * (of - done)) / 1000;
  }
}

async function recordVideo(
  picture: Picture,
  context: Context,
  frames: readonly number[],
  scene: FilmScene,
  options: RecordOptions,
  disk: DiskStream,
  hooks: RecordHooks,
  renderer: string,
): Promise<Run> {
  const { width_px, height_px, rate, format } = options;
  const { canvas } = context;
  const container = format === 'mp4' ? new Mp4OutputFormat({ fastStart: false }) : new WebMOutputFormat();
  const output = new Output({
    format: container,
    target: new StreamTarget(disk.writable, { chunked: true, chunkSize: 1 << 20 }),
  });
  const config = {
    codec: CODECS[format]!,
    bitrate: bitrateOf(width_px, height_px, rate),
    keyFrameInterval: 2,
    latencyMode: 'quality',
  } as const;
  const alpha = transparent(format);
  const fromCanvas = alpha ? new CanvasSource(canvas, { ...config, alpha: 'keep' }) : null;
  const source = fromCanvas ?? new VideoSampleSource(config);
  output.addVideoTrack(source, {
    frameRate: rate.numerator / rate.denominator,
    ...(alpha ? { canBeTransparent: true } : {}),
  });
  output.setMetadataTags({
    title: scene.title,
    description: scene.caution,
    comment: `Study ${scene.hash}. ${rateName(rate)} frames/s. ${renderer}`,
  });
  const length_s = frameTime_s(frames.length, rate);
  const sound: SoundFeed | null =
    options.sound === null ? null : await addSound(output, options.sound, length_s);
  await output.start();
  const yuv = new Uint8Array(i420Size(width_px, height_px));
  const pace = new Pace();
  let done = 0;
  let ended: Run['ended'] = 'whole';
  for (const frame of frames) {
    const wish = await hooks.before(done, frames.length, pace.left_s(done, frames.length), canvas);
    if (wish !== 'go' || disk.full !== null) {
      ended = wish === 'discard' ? 'discard' : 'keep';
      break;
    }
    picture.draw(context, frame);
    const timestamp = frameTime_s(done, rate);
    const duration = frameTime_s(1, rate);
    if (fromCanvas !== null) await fromCanvas.add(timestamp, duration);
    else {
      toI420(context.getImageData(0, 0, width_px, height_px).data, width_px, height_px, yuv);
      const sample = new VideoSample(yuv, {
        ...{ format: 'I420', codedWidth: width_px, codedHeight: height_px, timestamp, duration },
        colorSpace: COLOUR_SPACE,
      });
      await (source as VideoSampleSource).add(sample);
      sample.close();
    }
    done += 1;
    await sound?.upTo(frameTime_s(done, rate));
  }
  await sound?.end();
  if (ended === 'discard' || done === 0) await output.cancel();
  else await output.finalize();
  const short = ended === 'keep' && disk.full === null ? 'It was stopped.' : null;
  return { done, ended: done === 0 ? 'discard' : ended, short };
}

async function recordPictures(
  picture: Picture,
  context: Context,
  frames: readonly number[],
  there: number,
  options: RecordOptions,
  disk: DiskStream,
  hooks: RecordHooks,
): Promise<Run> {
  const pace = new Pace();
  // Pictures that stand already are those of a recording that was broken off; stills are always drawn.
  let done = options.stills_s === null && options.format !== 'prores' ? Math.min(there, frames.length) : 0;
  for (const frame of frames.slice(done)) {
    const wish = await hooks.before(done, frames.length, pace.left_s(done, frames.length), context.canvas);
    if (wish !== 'go') return { done, ended: wish, short: 'It was stopped.' };
    picture.draw(context, frame);
    const blob = await context.canvas.convertToBlob({ type: 'image/png' });
    try {
      await disk.picture(frame, new Uint8Array(await blob.arrayBuffer()));
    } catch (error) {
      if (!(error instanceof HostError) || error.code !== 'diskFull') throw error;
      return { done, ended: 'keep', short: error.message };
    }
    done += 1;
  }
  return { done, ended: 'whole', short: null };
}

/** What drew it: program and browser build, for whoever compares files. */
async function rendererOf(host: Host): Promise<string> {
  const { version } = await host.request('app.info', {});
  const build = (
    navigator as {
      userAgentData?: {
        getHighEntropyValues(
          hints: string[],
        ): Promise<{ fullVersionList?: { brand: string; version: string }[] }>;
      };
    }
  ).userAgentData;
  const full = await build?.getHighEntropyValues(['fullVersionList']);
  const names = full?.fullVersionList
    ?.filter(({ brand }) => !/not/i.test(brand))
    .map((b) => `${b.brand} ${b.version}`);
  const browser = names === undefined || names.length === 0 ? navigator.userAgent : names.join(', ');
  return `Plumeline ${version}, drawn in memory by the 2D canvas of ${browser}.`;
}

async function writeBeside(
  host: Host,
  sink: string,
  scene: FilmScene,
  track: CueTrack,
  rate: FrameRate,
): Promise<void> {
  const notes = [scene.caution, `Study ${scene.hash}`];
  const sources = scene.main.set.strands
    .filter((strand) => strand.colour !== 'plain')
    .map(({ id, track: own, end_s }): TelemetrySource => ({
      id,
      at: (mission_s) => {
        const reader = readerAt(scene.main, own, mission_s);
        if (reader === undefined || mission_s < reader.track.start_s || mission_s > end_s + 1e-9) return null;
        const { height_m, speedRelative_mps } = reader.at(mission_s);
        return { height_m, speed_mps: speedRelative_mps };
      },
    }));
  const texts: [string, string][] = [
    ['srt', srtText(track)],
    ['vtt', vttText(track, notes)],
    ['chapters.txt', chaptersText(track)],
    ['telemetry.csv', telemetryCsv(track, rate, sources, notes)],
    ['cues.txt', cueSheetText(track, rate, scene.title, notes)],
  ];
  for (const [ending, text] of texts) await host.request('film.beside', { sink, ending, text });
}
