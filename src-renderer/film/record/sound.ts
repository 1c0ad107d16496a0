/** Sound under a film: its packets as they are where the film's container takes them, else encoded anew. */
import {
  ALL_FORMATS,
  AudioSampleSink,
  AudioSampleSource,
  BufferSource,
  EncodedAudioPacketSource,
  EncodedPacketSink,
  Input,
  type AudioCodec,
  type AudioSample,
  type EncodedPacket,
  type Output,
} from 'mediabunny';

/** What feeds sound up to a film time (s), in step with the pictures. */
export interface SoundFeed {
  upTo(film_s: number): Promise<void>;
  end(): Promise<void>;
}

/** Adds a track for a WAV or MP3 to an output that has not begun. Throws Error with a sentence when it is no sound. */
export async function addSound(
  output: Output,
  file: { name: string; data: Uint8Array },
  until_s: number,
): Promise<SoundFeed> {
  const input = new Input({ formats: ALL_FORMATS, source: new BufferSource(file.data) });
  const track = await input.getPrimaryAudioTrack().catch(() => null);
  const codec = track === null ? null : await track.getCodec();
  if (track === null || codec === null)
    throw new Error(`“${file.name}” holds no sound that can be read; choose a WAV or an MP3.`);
  const takes: readonly AudioCodec[] = output.format.getSupportedAudioCodecs();
  if (takes.includes(codec)) {
    const source = new EncodedAudioPacketSource(codec);
    output.addAudioTrack(source);
    const config = await track.getDecoderConfig();
    const packets = new EncodedPacketSink(track).packets();
    const add = (packet: EncodedPacket, first: boolean): Promise<void> =>
      source.add(packet, first && config !== null ? { decoderConfig: config } : undefined);
    return feed(packets, until_s, add, () => undefined);
  }
  const fitting: AudioCodec = takes.includes('opus') ? 'opus' : 'aac';
  // A fixed rate rather than the library's grades of quality, so that the same sound gives the same file.
  // eslint-disable-next-line @typescript-eslint/no-deprecated
  const source = new AudioSampleSource({ codec: fitting, bitrate: 192_000 });
  output.addAudioTrack(source);
  const samples = new AudioSampleSink(track).samples(0, until_s);
  const add = async (sample: AudioSample): Promise<void> => {
    await source.add(sample);
    sample.close();
  };
  return feed(samples, until_s, add, (sample) => sample.close());
}

/** Hands on pieces in order of time, none that begins after the film's end; `drop` lets go of one that is not wanted. */
function feed<T extends { timestamp: number }>(
  pieces: AsyncGenerator<T, void, unknown>,
  until_s: number,
  add: (piece: T, first: boolean) => Promise<void>,
  drop: (piece: T) => void,
): SoundFeed {
  let waiting: T | null = null;
  let first = true;
  let over = false;
  return {
    async upTo(film_s) {
      while (!over) {
        if (waiting === null) {
          const next = await pieces.next();
          if (next.done === true || next.value.timestamp >= until_s) {
            if (next.done !== true) drop(next.value);
            over = true;
            break;
          }
          waiting = next.value;
        }
        if (waiting.timestamp > film_s) break;
        await add(waiting, first);
        first = false;
        waiting = null;
      }
    },
    async end() {
      over = true;
      if (waiting !== null) drop(waiting);
      waiting = null;
      await pieces.return();
    },
  };
}
