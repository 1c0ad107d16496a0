/** The encoder of one segment: it begins with a key frame and knows nothing of what was encoded before. */
import {
  MkvOutputFormat,
  NullTarget,
  Output,
  VideoSample,
  VideoSampleSource,
  type VideoCodec,
} from 'mediabunny';
import type { FilmPacket } from '../../../core/replay/film/segment.ts';
import { packConfig } from './decoderConfig.ts';
import { COLOUR_SPACE } from './video709.ts';

export class SegmentEncoder {
  private readonly packets: FilmPacket[] = [];
  private config = '';
  private readonly source: VideoSampleSource;
  private readonly output: Output;
  private started: Promise<void> | null = null;

  /** Bits a second. */
  constructor(
    codec: VideoCodec,
    bitrate: number,
    private readonly size: { readonly width_px: number; readonly height_px: number },
  ) {
    this.source = new VideoSampleSource({
      // A fixed rate rather than the library's grades of quality, so that the same pictures give the same file.
      // eslint-disable-next-line @typescript-eslint/no-deprecated
      ...{ codec, bitrate, latencyMode: 'quality' },
      // The first alone: a segment is as long as its pictures run without another.
      keyFrameInterval: 1e9,
      onEncodedPacket: ({ type, timestamp, duration, data }, meta) => {
        if (meta?.decoderConfig !== undefined) this.config = packConfig(meta.decoderConfig);
        this.packets.push({
          key: type === 'key',
          timestamp_s: timestamp,
          duration_s: duration,
          data,
          alpha: null,
        });
      },
    });
    // Nothing is written here: the packets are taken as they come from the encoder.
    this.output = new Output({ format: new MkvOutputFormat(), target: new NullTarget() });
    this.output.addVideoTrack(this.source);
  }

  /** Takes a picture as I420; waits while the encoder has enough to do. Film time in s. */
  async add(
    yuv: Uint8Array,
    timing: { readonly timestamp: number; readonly duration: number },
  ): Promise<void> {
    this.started ??= this.output.start();
    await this.started;
    const sample = new VideoSample(yuv, {
      ...{ format: 'I420', codedWidth: this.size.width_px, codedHeight: this.size.height_px, ...timing },
      colorSpace: COLOUR_SPACE,
    });
    await this.source.add(sample);
    sample.close();
  }

  /** All packets, so many, once the encoder is through. Rejects with Error when it left some out. */
  async end(count: number): Promise<{ readonly packets: readonly FilmPacket[]; readonly config: string }> {
    await this.output.finalize();
    const { packets, config } = this;
    const whole = packets.length === count && packets[0]?.key === true;
    if (!whole) throw new Error(`The encoder gave ${packets.length} pictures for ${count}; record again.`);
    return { packets, config };
  }
}
