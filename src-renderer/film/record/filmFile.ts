/** The file of a film: segments put one after the other into a container, with sound in step. */
import {
  EncodedPacket,
  EncodedVideoPacketSource,
  Mp4OutputFormat,
  Output,
  StreamTarget,
  WebMOutputFormat,
} from 'mediabunny';
import { frameTime_s, rateName } from '../../../core/replay/film/rate.ts';
import type { FilmSegment } from '../../../core/replay/film/segment.ts';
import type { FilmScene } from '../picture/scene.ts';
import { unpackConfig } from './decoderConfig.ts';
import type { DiskStream } from './diskStream.ts';
import { CODECS, transparent, type RecordOptions } from './settings.ts';
import { addSound, type SoundFeed } from './sound.ts';

export class FilmFile {
  private config: string | null = null;
  private done = 0;

  private constructor(
    private readonly output: Output,
    private readonly source: EncodedVideoPacketSource,
    private readonly sound: SoundFeed | null,
    private readonly rate: RecordOptions['rate'],
  ) {}

  /** Begins a file of so many pictures. Throws Error with a sentence when the sound cannot be read. */
  static async begin(
    scene: FilmScene,
    options: RecordOptions,
    pictures: number,
    disk: DiskStream,
    renderer: string,
  ): Promise<FilmFile> {
    const { rate, format } = options;
    const container = format === 'mp4' ? new Mp4OutputFormat({ fastStart: false }) : new WebMOutputFormat();
    const target = new StreamTarget(disk.writable, { chunked: true, chunkSize: 1 << 20 });
    const output = new Output({ format: container, target });
    const source = new EncodedVideoPacketSource(CODECS[format]!);
    output.addVideoTrack(source, {
      frameRate: rate.numerator / rate.denominator,
      ...(transparent(format) ? { canBeTransparent: true } : {}),
    });
    output.setMetadataTags({
      title: scene.title,
      description: scene.caution,
      comment: `Study ${scene.hash}. ${rateName(rate)} frames/s. ${renderer}`,
    });
    const length_s = frameTime_s(pictures, rate);
    const sound = options.sound === null ? null : await addSound(output, options.sound, length_s);
    await output.start();
    return new FilmFile(output, source, sound, rate);
  }

  /** Adds the next segment. Throws Error when its encoder began in another way than that of the first. */
  async add({ packets, config }: FilmSegment): Promise<void> {
    if (this.config !== null && this.config !== config)
      throw new Error('The encoder began a segment in another way than the first; record anew.');
    for (const { key, timestamp_s, duration_s, data, alpha } of packets) {
      const side = alpha === null ? undefined : { alpha };
      const packet = new EncodedPacket(
        data,
        key ? 'key' : 'delta',
        timestamp_s,
        duration_s,
        undefined,
        undefined,
        side,
      );
      const meta = this.config === null ? { decoderConfig: unpackConfig(config) } : undefined;
      this.config = config;
      await this.source.add(packet, meta);
      this.done += 1;
      await this.sound?.upTo(frameTime_s(this.done, this.rate));
    }
  }

  /** Ends it; true writes its index, false writes nothing more. */
  async end(keep: boolean): Promise<void> {
    await this.sound?.end();
    if (keep) await this.output.finalize();
    else await this.output.cancel();
  }
}
