/** What a decoder must be told of a film's packets, as text in a journal. */

interface Packed extends Omit<VideoDecoderConfig, 'description'> {
  readonly description: readonly number[] | null;
}

export function packConfig({ description, ...config }: VideoDecoderConfig): string {
  const packed: Packed = {
    ...config,
    description: description === undefined ? null : [...bytesOf(description)],
  };
  return JSON.stringify(packed);
}

export function unpackConfig(text: string): VideoDecoderConfig {
  const { description, ...config } = JSON.parse(text) as Packed;
  return { ...config, ...(description === null ? {} : { description: Uint8Array.from(description) }) };
}

function bytesOf(source: AllowSharedBufferSource): Uint8Array {
  return ArrayBuffer.isView(source)
    ? new Uint8Array(source.buffer, source.byteOffset, source.byteLength)
    : new Uint8Array(source);
}
