/**
 * A part of the picture that stays as it is over many frames: painted once, then laid pixel on pixel. Its bounds are whole
 * pixels, so that nothing is sampled anew and no edge grows soft.
 */
import type { Box } from '../../../core/replay/labels.ts';
import type { Context } from './type.ts';

export class Layer {
  private key: string | null = null;
  private canvas: OffscreenCanvas | null = null;

  /**
   * Lays the part within a box (sheet units; the context is scaled by `scale` pixels a unit) and paints it before when its
   * key has changed. `paint` draws in sheet units, as on the context itself.
   */
  lay(context: Context, box: Box, scale: number, key: string, paint: (layer: Context) => void): void {
    const left = Math.floor(box.left * scale);
    const top = Math.floor(box.top * scale);
    const width = Math.max(1, Math.ceil(box.right * scale) - left);
    const height = Math.max(1, Math.ceil(box.bottom * scale) - top);
    const whole = `${left} ${top} ${width} ${height} ${key}`;
    if (this.key !== whole || this.canvas === null) {
      this.key = whole;
      if (this.canvas?.width !== width || this.canvas.height !== height)
        this.canvas = new OffscreenCanvas(width, height);
      // In memory, as what it is laid on: a layer on a graphics card would have to come back over the bus.
      const layer = this.canvas.getContext('2d', { willReadFrequently: true });
      if (layer === null) throw new Error('Layer: this browser gives no 2D canvas');
      layer.reset();
      layer.setTransform(scale, 0, 0, scale, -left, -top);
      layer.fontKerning = 'normal';
      paint(layer);
    }
    context.save();
    context.resetTransform();
    context.imageSmoothingEnabled = false;
    context.drawImage(this.canvas, left, top);
    context.restore();
  }
}
