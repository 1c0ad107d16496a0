/** A recording that was brought in: its bytes as they are for the film, and its samples for drawing. */

export interface FilmSound {
  readonly name: string;
  readonly data: Uint8Array<ArrayBuffer>;
  /** Its channels mixed into one, samples −1 to 1. */
  readonly samples: Float32Array;
  readonly rate_Hz: number;
  /** All its channels, to be heard. */
  readonly buffer: AudioBuffer;
}

/** A recording played beside the pictures. */
export class Heard {
  private readonly context = new AudioContext();
  private source: AudioBufferSourceNode | null = null;
  /** Time of the context (s) at which the recording's first sample was, or would have been, heard. */
  private zero_s = 0;

  constructor(private readonly buffer: AudioBuffer) {}

  /** From a time of the recording on, s; again from there when it plays already. */
  play(from_s: number): void {
    this.pause();
    void this.context.resume();
    this.source = new AudioBufferSourceNode(this.context, { buffer: this.buffer });
    this.source.connect(this.context.destination);
    this.zero_s = this.context.currentTime - from_s;
    this.source.start(0, Math.max(0, from_s));
  }

  /** How far the recording has come, s; null while it rests. */
  get at_s(): number | null {
    return this.source === null ? null : this.context.currentTime - this.zero_s;
  }

  pause(): void {
    this.source?.stop();
    this.source = null;
  }

  async close(): Promise<void> {
    this.pause();
    await this.context.close();
  }
}

/** Reads a WAV or MP3. Rejects with Error whose message is a sentence when the browser finds no sound in it. */
export async function readSound(file: File): Promise<FilmSound> {
  const data = new Uint8Array(await file.arrayBuffer());
  // Decoding changes nothing of the rate that the outline needs; the samples are for drawing alone.
  const context = new OfflineAudioContext(1, 1, 24_000);
  let buffer: AudioBuffer;
  try {
    // The decoder takes its bytes away: it gets a copy.
    buffer = await context.decodeAudioData(data.slice().buffer);
  } catch {
    throw new Error(`“${file.name}” holds no sound that can be read; choose a WAV or an MP3.`);
  }
  const samples = new Float32Array(buffer.length);
  for (let channel = 0; channel < buffer.numberOfChannels; channel++) {
    const each = buffer.getChannelData(channel);
    for (let i = 0; i < samples.length; i++) samples[i] = samples[i]! + each[i]! / buffer.numberOfChannels;
  }
  return { name: file.name, data, samples, rate_Hz: buffer.sampleRate, buffer };
}
