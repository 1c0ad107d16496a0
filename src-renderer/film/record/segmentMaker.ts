/**
 * Draws and encodes a segment of a film by itself: a new encoder for each, so that its bytes depend on nothing before it.
 * That is what lets a broken-off recording go on, and segments be made side by side.
 */
import type { CueTrack } from '../../../core/replay/film/cueTrack.ts';
import { frameTime_s } from '../../../core/replay/film/rate.ts';
import type { FilmPacket, FilmSegment, SegmentSpan } from '../../../core/replay/film/segment.ts';
import { Picture } from '../picture/picture.ts';
import type { FilmScene } from '../picture/scene.ts';
import type { Context } from '../picture/type.ts';
import type { LaneSettings } from './laneProtocol.ts';
import { PixelReader } from './pixels.ts';
import { CODECS, transparent } from './settings.ts';
import { SegmentEncoder } from './segmentEncoder.ts';
import { coverToI420, i420Size, toI420 } from './video709.ts';

/** Called after each picture; waits while paused. */
export type Drawn = (canvas: OffscreenCanvas) => Promise<void>;

export class SegmentMaker {
  private readonly picture: Picture;
  private readonly context: Context;
  private readonly pixels: PixelReader;
  private readonly yuv: Uint8Array;
  private readonly alpha: Uint8Array;

  constructor(
    scene: FilmScene,
    track: CueTrack,
    private readonly settings: LaneSettings,
  ) {
    const { width_px, height_px, rate, frameCode, format } = settings;
    this.picture = new Picture(scene, track, {
      ...{ width_px, height_px, rate, frameCode },
      ground: transparent(format) ? 'transparent' : 'sheet',
    });
    const canvas = new OffscreenCanvas(width_px, height_px);
    // Read back each time: a canvas in memory, drawn by the same code on every machine of this browser.
    const context = canvas.getContext('2d', { alpha: transparent(format), willReadFrequently: true });
    if (context === null) throw new Error('This browser gives no 2D canvas.');
    this.context = context;
    this.pixels = new PixelReader(canvas, transparent(format) ? 'keep' : 'discard');
    this.yuv = new Uint8Array(i420Size(width_px, height_px));
    // Its chroma says nothing, and stays in the middle.
    this.alpha = new Uint8Array(transparent(format) ? this.yuv.length : 0).fill(128);
  }

  /**
   * Draws a segment's pictures; resolves when the last has been handed to the encoder, with what the encoder makes of them:
   * the next segment can be drawn meanwhile.
   */
  async make(span: SegmentSpan, drawn: Drawn): Promise<{ readonly made: Promise<FilmSegment> }> {
    return CODECS[this.settings.format] === undefined ? this.images(span, drawn) : this.video(span, drawn);
  }

  private async images(
    { number, from, to }: SegmentSpan,
    drawn: Drawn,
  ): Promise<{ made: Promise<FilmSegment> }> {
    const packets: FilmPacket[] = [];
    const { frames, rate } = this.settings;
    for (let place = from; place < to; place++) {
      this.picture.draw(this.context, frames[place]!);
      const blob = await this.context.canvas.convertToBlob({ type: 'image/png' });
      const timing = { timestamp_s: frameTime_s(place, rate), duration_s: frameTime_s(1, rate) };
      packets.push({ key: true, ...timing, data: new Uint8Array(await blob.arrayBuffer()), alpha: null });
      await drawn(this.context.canvas);
    }
    return { made: Promise.resolve({ number, packets, config: '' }) };
  }

  private async video(
    { number, from, to }: SegmentSpan,
    drawn: Drawn,
  ): Promise<{ made: Promise<FilmSegment> }> {
    const { width_px, height_px, rate, format, bitrate, frames } = this.settings;
    const size = { width_px, height_px };
    const codec = CODECS[format]!;
    const colour = new SegmentEncoder(codec, bitrate, size);
    const cover = transparent(format) ? new SegmentEncoder(codec, Math.round(bitrate / 2), size) : null;
    for (let place = from; place < to; place++) {
      this.picture.draw(this.context, frames[place]!);
      const order = await this.pixels.read();
      if (cover === null) toI420(this.pixels.bytes, width_px, height_px, this.yuv, order);
      else coverToI420(this.pixels.bytes, width_px, height_px, this.yuv, this.alpha, order);
      const timing = { timestamp: frameTime_s(place, rate), duration: frameTime_s(1, rate) };
      await colour.add(this.yuv, timing);
      await cover?.add(this.alpha, timing);
      await drawn(this.context.canvas);
    }
    const made = (async (): Promise<FilmSegment> => {
      const [own, covers] = await Promise.all([colour.end(to - from), cover?.end(to - from)]);
      const packets = own.packets.map((packet, i) =>
        covers === undefined ? packet : { ...packet, alpha: covers.packets[i]!.data },
      );
      return { number, packets, config: own.config };
    })();
    // Whoever waits for it hears of a fault; until then it is no unheard one.
    made.catch(() => undefined);
    return { made };
  }
}
