/** The bodies' figures in the margin: name, height, speed. What flies together stands together. */
import type { FilmPointer } from '../../../core/contract/film.ts';
import { km, mps } from '../../../core/units/figures.ts';
import { bodyInk, type SheetInks } from './inks.ts';
import type { FilmLayout } from './layout.ts';
import { readerAt } from './mapPlate.ts';
import type { FilmVariant } from './scene.ts';
import { widthOf, write, writeFigure, type Context } from './type.ts';

interface Block {
  readonly names: readonly {
    readonly id: string;
    readonly name: string;
    readonly colour: 1 | 2 | 3 | 4 | 'plain';
  }[];
  readonly height_m: number;
  readonly speed_mps: number;
  /** A word in place of figures: the body does not fly any more. */
  readonly over: string | null;
}

/** Blocks at a mission time (s): what carries the payload, and of what has parted the piece that came off last. */
function blocksAt(variant: FilmVariant, mission_s: number): Block[] {
  const { set, readers } = variant;
  const groups = set.joinings.findLast((joining) => joining.time_s <= mission_s) ?? set.joinings[0]!;
  return groups.groups
    .flatMap((group): Block[] => {
      const strands = group
        .map((body) => set.strands.find((s) => s.body === body)!)
        .filter((strand) => strand.colour !== 'plain');
      const lead = strands[0];
      if (lead === undefined) return [];
      const reader = readerAt(variant, lead.track, mission_s) ?? readers[0]!;
      const now = reader.at(mission_s);
      return [
        {
          names: strands.map(({ id, name, colour }) => ({ id, name, colour })),
          height_m: now.height_m,
          speed_mps: now.speedRelative_mps,
          over: mission_s > lead.end_s + 1e-6 && lead.end === 'down' ? 'down' : null,
        },
      ];
    })
    .filter((_, i, all) => i === 0 || i === all.length - 1);
}

/** `pace` coarsens what would only flicker: the last digit of speed when time runs faster than it is. */
export function drawFigures(
  context: Context,
  layout: FilmLayout,
  variant: FilmVariant,
  mission_s: number,
  pace: number,
  pointer: FilmPointer,
  strength: number,
  inks: SheetInks,
): void {
  const { figures: box, figuresAcross: across, figureSize, nameSize } = layout;
  const blocks = blocksAt(variant, mission_s);
  const slots = Math.max(2, blocks.length);
  blocks.forEach((block, i) => {
    const width = across ? (box.right - box.left) / slots : box.right - box.left;
    const x = across ? box.left + i * width : box.left;
    const high = 3.9 * figureSize;
    const y = across ? box.top : box.top + 4 + i * (high + 26);
    let at = x;
    let line = y + nameSize;
    const more = block.names.length - 2;
    block.names.slice(0, 2).forEach(({ name, colour }, k) => {
      const joint = k === 0 ? '' : ' + ';
      const wide = widthOf(context, joint + name, nameSize, 700);
      if (k > 0 && at + wide > x + width) {
        at = x;
        line += 1.15 * nameSize;
      }
      if (k > 0 && at > x)
        at += write(context, joint, at, line, { size: nameSize, weight: 400, colour: inks.ink2 });
      at += write(context, name, at, line, {
        size: nameSize,
        weight: 700,
        colour: bodyInk(inks, colour).ink,
      });
    });
    if (more > 0)
      write(context, ` + ${more} more`, at, line, { size: nameSize, weight: 400, colour: inks.ink2 });
    if (block.over !== null) {
      const y = line + 1.2 * figureSize;
      write(context, block.over, x, y, { size: 0.7 * figureSize, weight: 400, colour: inks.ink2 });
      return;
    }
    const speed = pace > 1.5 ? Math.round(block.speed_mps / 10) * 10 : block.speed_mps;
    const rows = [
      { figure: 'height', text: km(block.height_m), unit: 'km', widest: '0000.0' },
      { figure: 'speed', text: mps(speed), unit: 'm/s', widest: '00\u202F000' },
    ] as const;
    const cell = widthOf(context, '00\u202F000', figureSize, 600);
    rows.forEach(({ figure, text, unit }, k) => {
      const small = 0.62 * figureSize;
      const unitWidth = widthOf(context, 'm/s', small, 400) + 4;
      const tight = across && blocks.length > 1;
      const right = across
        ? x + (k + 1) * Math.min(cell, width / 2 - unitWidth - 4) + k * (unitWidth + (tight ? 2 : 18))
        : x + cell;
      const baseline = across ? line + 1.2 * figureSize : line + (k + 1) * 1.28 * figureSize;
      const size = across && tight && cell * 2 + unitWidth * 2 > width ? 0.78 * figureSize : figureSize;
      const left = writeFigure(context, text, right, baseline, { size, weight: 600, colour: inks.ink });
      const end =
        right +
        4 +
        write(context, unit, right + 4, baseline, { size: 0.62 * size, weight: 400, colour: inks.ink2 });
      const pointed =
        pointer.kind === 'figure' &&
        pointer.figure === figure &&
        block.names.some(({ id }) => id === pointer.body);
      if (pointed) underline(context, left, end, baseline + 0.26 * size, strength, inks);
    });
  });
}

/** A drawn rule under a figure with a pointer to it: what the sentence is about. */
function underline(
  context: Context,
  left: number,
  right: number,
  y: number,
  strength: number,
  inks: SheetInks,
): void {
  context.save();
  context.globalAlpha = strength;
  context.strokeStyle = inks.ink;
  context.lineWidth = 1.8;
  context.beginPath();
  context.moveTo(left, y);
  context.lineTo(left + strength * (right - left), y);
  context.stroke();
  context.restore();
}
