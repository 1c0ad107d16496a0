/** The air column on a canvas: stipple where there is gas, a mark a body. Sizes in sheet units. */
import {
  airDepth,
  columnHeight,
  columnTicks,
  heightAtShare_m,
  stipple,
} from '../../../core/replay/airColumn.ts';
import type { Box } from '../../../core/replay/labels.ts';
import { bodyInk, type SheetInks } from './inks.ts';
import { Layer } from './layer.ts';
import type { FilmVariant } from './scene.ts';
import { write, type Context, type Surface } from './type.ts';

/** The column of one picture: the air and its scale stand still, only the marks move. */
export class Column {
  private readonly air = new Layer();

  /** `scale` is pixels a unit; heights in m, mission time in s. */
  draw(
    context: Context,
    box: Box,
    scale: number,
    variant: FilmVariant,
    target_m: number,
    mission_s: number,
    inks: SheetInks,
    size: number,
  ): void {
    const top_m = Math.max(250_000, 1.1 * target_m);
    const place = placeOf(box, top_m);
    // Its scale's words may stand a little out of its box.
    const around = { ...box, left: box.left - 8, top: box.top - 8, bottom: box.bottom + 8 };
    const key = `${top_m} ${size} ${inks.sheet}`;
    this.air.lay(context, around, scale, key, (layer) => drawAir(layer, box, place, top_m, inks, size));
    drawMarks(context, place, variant, mission_s, inks);
  }
}

interface Place {
  readonly top: number;
  readonly inner: number;
  readonly left: number;
  readonly width: number;
  readonly y: (height_m: number) => number;
}

function placeOf(box: Box, top_m: number): Place {
  const top = box.top + 20;
  const inner = box.bottom - top;
  const left = box.left + 36;
  const width = Math.min(46, box.right - left - 4);
  return { top, inner, left, width, y: (height_m) => top + inner * (1 - columnHeight(height_m, top_m)) };
}

function drawAir(
  context: Context,
  box: Box,
  { top, inner, left, width, y }: Place,
  top_m: number,
  inks: SheetInks,
  size: number,
): void {
  write(context, 'height, km', box.left, box.top + 9, { size, weight: 400, colour: inks.ink2 });
  const gradient = context.createLinearGradient(0, top, 0, top + inner);
  for (let i = 0; i <= 20; i++) {
    const depth = airDepth(heightAtShare_m(1 - i / 20, top_m));
    const strength = Math.round(255 * 0.42 * depth);
    gradient.addColorStop(i / 20, `${inks.air}${strength.toString(16).padStart(2, '0')}`);
  }
  context.fillStyle = gradient;
  context.fillRect(left, top, width, inner);
  context.save();
  context.translate(left, top);
  context.fillStyle = inks.air;
  context.fill(new Path2D(stipple(width, inner, top_m, 1.75)));
  context.restore();
  context.strokeStyle = inks.rule;
  context.lineWidth = 1;
  line(context, left, top, left, top + inner);
  line(context, left + width, top, left + width, top + inner);
  context.strokeStyle = inks.ink;
  context.lineWidth = 2;
  line(context, left - 6, top + inner, left + width + 6, top + inner);
  let last = Infinity;
  for (const height_m of [...columnTicks(top_m, inner).heights_m].reverse()) {
    const at = y(height_m);
    if (last - at < 1.25 * size) continue;
    last = at;
    context.strokeStyle = inks.ink3;
    context.lineWidth = 0.8;
    line(context, left - 5, at, left, at);
    write(context, String(height_m / 1000), left - 8, at + 0.35 * size, {
      ...{ size, weight: 400, colour: inks.ink2, align: 'right' },
    });
  }
}

function drawMarks(
  context: Context,
  { left, width, y }: Place,
  variant: FilmVariant,
  mission_s: number,
  inks: SheetInks,
): void {
  variant.readers.forEach((reader, i) => {
    const { start_s, end_s } = reader.track;
    if ((i > 0 && mission_s < start_s) || mission_s > end_s + 1e-9) return;
    const { colour } = variant.styles[i]!;
    if (colour === 'plain') return;
    const now = y(reader.at(mission_s).height_m);
    const later = y(reader.at(Math.min(mission_s + 10, end_s)).height_m);
    const lower = colour === 2;
    const middle = left + width / 2;
    const x = left + width * (lower ? 0.3 : 0.7);
    const { ink } = bodyInk(inks, colour);
    context.strokeStyle = ink;
    context.lineWidth = 1.8;
    line(context, lower ? left - 4 : middle, now, lower ? middle : left + width + 4, now);
    line(context, x, now, x, later);
    context.beginPath();
    context.arc(x, now, 4.6, 0, 2 * Math.PI);
    context.fillStyle = ink;
    context.fill();
    context.strokeStyle = inks.sheet;
    context.lineWidth = 1.2;
    context.stroke();
  });
}

export function line(context: Surface, x0: number, y0: number, x1: number, y1: number): void {
  context.beginPath();
  context.moveTo(x0, y0);
  context.lineTo(x1, y1);
  context.stroke();
}
