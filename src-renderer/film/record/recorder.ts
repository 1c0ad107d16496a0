/**
 * Records a film: lanes draw and encode its segments, which are put into the journal and into the file in their order; no
 * picture is dropped or recorded twice. What stands of a recording that broke off is not made again, and the file comes out
 * the same to the byte as one that was recorded in one go.
 */
import type { CueTrack } from '../../../core/replay/film/cueTrack.ts';
import { frameCount } from '../../../core/replay/film/rate.ts';
import { segmentSpans, type FilmSegment, type SegmentSpan } from '../../../core/replay/film/segment.ts';
import type { Host } from '../../bridge/host.ts';
import type { FilmScene } from '../picture/scene.ts';
import { writeBeside } from './beside.ts';
import { DiskStream } from './diskStream.ts';
import { FilmFile } from './filmFile.ts';
import { identityOf, rendererOf } from './identity.ts';
import type { LaneSettings } from './laneProtocol.ts';
import { laneOrders, Lanes } from './lanes.ts';
import {
  bitrateOf,
  CODECS,
  expectedBytes,
  isPictures,
  segmentPictures,
  whyNot,
  type RecordOptions,
} from './settings.ts';

/** How a recording is ended before its end: what there is becomes a film, or stays to go on from, or goes. */
export type Ending = 'keep' | 'later' | 'discard';

export interface RecordHooks {
  /** Pictures made so far, those that stood already among them, and the time left, s. */
  readonly progress: (done: number, of: number, left_s: number) => void;
  /** A small picture of what is being drawn, to be closed by whoever takes it. */
  readonly glimpse: (picture: ImageBitmap) => void;
}

export interface Recorded {
  readonly frames: number;
  readonly of: number;
  readonly name: string;
  /** Why it ended before its end; null when it is whole. */
  readonly short: string | null;
  readonly kept: boolean;
  /** It can go on from where it ended. */
  readonly later: boolean;
}

/** Time left from the time taken, s; wall time, which no picture sees. */
class Pace {
  private readonly begun = performance.now();

  constructor(private readonly from: number) {}

  left_s(done: number, of: number): number {
    const own = done - this.from;
    return own <= 0 ? 0 : (((performance.now() - this.begun) / own) * (of - done)) / 1000;
  }
}

export class Recording {
  private lanes: Lanes | null = null;
  private paused = false;
  private ending: Ending | null = null;

  constructor(
    private readonly host: Host,
    private readonly scene: FilmScene,
    private readonly track: CueTrack,
    private readonly options: RecordOptions,
    private readonly hooks: RecordHooks,
  ) {}

  pause(paused: boolean): void {
    this.paused = paused;
    this.lanes?.pause(paused);
  }

  /** Ends it before its end; to be kept, with the segments that are being made. */
  stop(ending: Ending): void {
    this.ending ??= ending;
    if (ending === 'keep') this.lanes?.finish();
    else this.lanes?.end();
  }

  /**
   * Records into a file token of the host. Rejects with Error whose message is a sentence, with HostError `otherRecording`
   * where what stands there is of another recording; a full disk is told in `short`.
   */
  async run(token: string): Promise<Recorded> {
    const { host, scene, track, options } = this;
    const { width_px, height_px, rate, format, stills_s } = options;
    const cannot = await whyNot(format, width_px, height_px);
    if (cannot !== null) throw new Error(cannot);
    const frames = framesOf(track, options);
    const each = segmentPictures(options);
    const bitrate = bitrateOf(width_px, height_px, rate);
    const renderer = await rendererOf(host);
    const video = CODECS[format] !== undefined;
    const coding = video ? `, ${bitrate} bits a second, segments of ${each} pictures` : '';
    const goesOn = stills_s === null && format !== 'prores';
    const { name, sink, pictures, segments } = await host.request('film.open', {
      ...{ token, rate, anew: options.anew },
      kind: format === 'prores' ? 'prores' : isPictures(format) ? 'pictures' : 'file',
      expected_bytes: expectedBytes(options, frames.length),
      identity: goesOn ? await identityOf(scene, track, options, coding, renderer) : null,
    });
    const disk = new DiskStream(host, sink);
    let kept = false;
    let later = goesOn;
    try {
      const settings: LaneSettings = {
        ...{ width_px, height_px, rate, format, bitrate, frames },
        frameCode: options.frameCode,
      };
      const done = video
        ? await this.video(disk, settings, segmentSpans(frames.length, each), segments, renderer)
        : await this.pictures(disk, settings, segmentSpans(frames.length, each), goesOn ? pictures : 0);
      const whole = done === frames.length;
      const ending: Ending = whole ? 'keep' : disk.full !== null ? 'keep' : (this.ending ?? 'keep');
      kept = ending === 'keep' && done > 0;
      later = goesOn && !whole && (ending === 'later' || disk.full !== null);
      if (kept && stills_s === null) await writeBeside(host, sink, scene, track, rate);
      // What stood already stands on, even where it ended before all of that was taken in.
      const stood = video ? Math.min(frames.length, segments * each) : pictures;
      const counted = later ? Math.max(done, stood) : done;
      return { frames: counted, of: frames.length, name, short: shortOf(disk, whole, later), kept, later };
    } catch (error) {
      kept = isPictures(format);
      throw error;
    } finally {
      await host.request('film.close', { sink, keep: kept, later });
    }
  }

  /** Pictures of the film that stand in the file; whether it was ended is told by `ending` and the disk. */
  private async video(
    disk: DiskStream,
    settings: LaneSettings,
    spans: readonly SegmentSpan[],
    standing: number,
    renderer: string,
  ): Promise<number> {
    const total = settings.frames.length;
    const file = await FilmFile.begin(this.scene, this.options, total, disk, renderer);
    let done = 0;
    for (const { number, to } of spans.slice(0, standing)) {
      if (this.ending !== null || disk.full !== null) break;
      await file.add(await disk.kept(number));
      done = to;
      this.hooks.progress(done, total, 0);
    }
    const take = async (segment: FilmSegment): Promise<void> => {
      // First the journal: a segment that is in the file alone could not be gone on from.
      if (disk.full === null && (await disk.keep(segment))) {
        await file.add(segment);
        done = spans[segment.number]!.to;
      }
      if (disk.full !== null) this.lanes?.end();
    };
    if (this.ending === null && disk.full === null)
      await this.make(settings, spans.slice(standing), done, take);
    const keep = done === total || (done > 0 && (disk.full !== null || this.ending === 'keep'));
    await file.end(keep);
    return done;
  }

  private async pictures(
    disk: DiskStream,
    settings: LaneSettings,
    spans: readonly SegmentSpan[],
    standing: number,
  ): Promise<number> {
    const { frames } = settings;
    let done = Math.min(standing, frames.length);
    const rest = spans
      .filter(({ to }) => to > done)
      .map((span) => ({ ...span, from: Math.max(span.from, done) }));
    const take = async ({ packets }: FilmSegment): Promise<void> => {
      for (const { data } of packets) {
        if (disk.full !== null || !(await disk.picture(frames[done]!, data))) break;
        done += 1;
      }
      if (disk.full !== null) this.lanes?.end();
    };
    await this.make(settings, rest, done, take);
    return done;
  }

  private async make(
    settings: LaneSettings,
    spans: readonly SegmentSpan[],
    from: number,
    take: (segment: FilmSegment) => Promise<void>,
  ): Promise<void> {
    const of = settings.frames.length;
    const pace = new Pace(from);
    let drawn = from;
    this.lanes = new Lanes(laneOrders(this.scene, this.track, settings), {
      take,
      drawn: () => {
        drawn += 1;
        this.hooks.progress(drawn, of, pace.left_s(drawn, of));
      },
      glimpse: this.hooks.glimpse,
    });
    if (this.paused) this.lanes.pause(true);
    await this.lanes.run(spans);
  }
}

/** Frame numbers in the order in which they are recorded. */
function framesOf(track: CueTrack, { rate, stills_s }: RecordOptions): number[] {
  const total = frameCount(track.length_s, rate);
  if (stills_s === null) return Array.from({ length: total }, (_, i) => i);
  const list = stills_s.map((t) => Math.min(total - 1, Math.round((t * rate.numerator) / rate.denominator)));
  return [...new Set(list)].sort((p, q) => p - q);
}

function shortOf(disk: DiskStream, whole: boolean, later: boolean): string | null {
  const goOn = later ? ' Record it again with more room, and it goes on from there.' : '';
  if (disk.broken !== null)
    return `${disk.broken} What was written stands, but its index is missing: it plays, and cannot be wound.${goOn}`;
  if (disk.full !== null) return `${disk.full}${goOn}`;
  return whole ? null : 'It was stopped.';
}
