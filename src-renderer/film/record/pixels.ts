/**
 * The pixels of a canvas in memory, into one buffer again and again: as a frame of video they come in the order in which they
 * lie, in a fifth of the time that image data takes.
 */
import type { PixelOrder } from './video709.ts';

export class PixelReader {
  readonly bytes: Uint8Array<ArrayBuffer>;

  constructor(
    private readonly canvas: OffscreenCanvas,
    private readonly alpha: 'keep' | 'discard',
  ) {
    this.bytes = new Uint8Array(4 * canvas.width * canvas.height);
  }

  /** Reads what stands on the canvas; the order in which the bytes of a pixel lie. */
  async read(): Promise<PixelOrder> {
    const frame = new VideoFrame(this.canvas, { timestamp: 0, alpha: this.alpha });
    try {
      const { format } = frame;
      const order: PixelOrder | null =
        format?.startsWith('BGR') === true ? 'BGRX' : format?.startsWith('RGB') === true ? 'RGBX' : null;
      await frame.copyTo(this.bytes, order === null ? { format: 'RGBA' } : {});
      return order ?? 'RGBX';
    } finally {
      frame.close();
    }
  }
}
