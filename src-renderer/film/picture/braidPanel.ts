/** A band of the braid with flags, knots, ruler and playhead, as the window has it. Sizes in sheet units, times in s. */
import { layOutBraid, type BraidShape } from '../../../core/replay/braid.ts';
import type { Knot } from '../../../core/replay/knots.ts';
import { placeLabels, type Box } from '../../../core/replay/labels.ts';
import { missionTime, rulerTicks } from '../../../core/replay/ruler.ts';
import { drawBraid, drawKnot } from '../../braid/draw.ts';
import { line } from './column.ts';
import { bodyInk, mix, type SheetInks } from './inks.ts';
import type { FilmVariant } from './scene.ts';
import { drawSettling, nameSettling } from './settlingBands.ts';
import { widthOf, write, writeFigure, type Context } from './type.ts';

export interface BandOptions {
  readonly box: Box;
  readonly start_s: number;
  readonly end_s: number;
  readonly above: number;
  readonly below: number;
  readonly thickest: number;
  readonly ease: number;
  readonly type: number;
  readonly mission_s: number;
  /** Ruler with playhead's tab below. */
  readonly ruler: boolean;
  readonly tenths: boolean;
  /** Knots nearer to one another than this are left out. */
  readonly crowded: number;
  readonly mostRank: 1 | 2 | 3;
  /** The gap as a dimension line. */
  readonly gap: FilmVariant['gap'];
  /** A span set off as pane, which another band stretches. */
  readonly span: { readonly from_s: number; readonly to_s: number } | null;
  readonly pointed: { readonly event: string; readonly strength: number } | null;
  /** Colour of the ground behind the band. */
  readonly ground: string;
  /** Words have a rim of the ground's colour, which keeps lines off them; not where the ground is transparent. */
  readonly rims: boolean;
  /** Notes of what a command does, beside the knots' names. */
  readonly notes: boolean;
  /** What the bands of settling mean, at them. */
  readonly settlingWords: boolean;
}

const RULER = 36;

export function drawBand(
  context: Context,
  { set, knots, settling }: FilmVariant,
  options: BandOptions,
  inks: SheetInks,
): BraidShape {
  const { box, start_s, end_s, above, below, type, mission_s, ruler } = options;
  const bottom = box.bottom - (ruler ? RULER : 0);
  const shape = layOutBraid(set, {
    start_s,
    end_s,
    left_px: box.left,
    right_px: box.right,
    top_px: box.top + above,
    bottom_px: bottom - below,
    thickest_px: options.thickest,
    ease_px: options.ease,
  });
  if (options.span !== null) {
    const from = shape.x(Math.max(options.span.from_s, start_s));
    context.fillStyle = inks.pane;
    context.fillRect(from, box.top, shape.x(Math.min(options.span.to_s, end_s)) - from, bottom - box.top);
  }
  drawBraid(
    context,
    shape,
    mission_s,
    {
      sheet: options.ground,
      future: inks.future,
      strand: ({ colour }) => {
        const own = bodyInk(inks, colour);
        return { edge: own.ink, tint: (fill) => mix(own.empty, own.full, Math.max(0, fill) ** 0.8) };
      },
    },
    { left: box.left, right: box.right, top: box.top, bottom, line: 1.2 },
  );
  const bands = drawSettling(context, shape, settling, options, inks);
  const gapBox = drawGap(context, shape, options, inks);
  const taken = gapBox === null ? [] : [gapBox];
  if (options.settlingWords) {
    const order = set.strands.map((strand) => strand.body);
    const outside = ({ body }: { body: number }): 'above' | 'below' =>
      order.indexOf(body) < order.length / 2 ? 'above' : 'below';
    nameSettling(context, bands, options, outside, taken, inks, options.rims);
  }
  const shown = shownKnots(shape, set, knots, options);
  const labels = placeLabels(
    shown.map(({ knot, x, y, side }) => ({
      ...{ id: knot.id, name: knot.name, note: options.notes ? knot.note : '', x, y, side, rank: knot.rank },
    })),
    {
      left: box.left,
      right: box.right,
      aboveBase: box.top + above - (gapBox === null ? 6 : 26),
      aboveTop: box.top,
      belowBase: bottom - below + 4,
      belowBottom: bottom - 1,
      taken,
      level: 1.32 * type,
      measure: (text, strong) => widthOf(context, text, type, strong ? 600 : 400),
    },
  );
  context.strokeStyle = inks.ink3;
  context.lineWidth = 0.8;
  for (const label of labels) line(context, label.x, label.y, label.x, label.leaderY);
  for (const { knot, x, y } of shown) {
    const colour = bodyInk(inks, set.strands.find((s) => s.body === knot.body)?.colour ?? 'plain').ink;
    context.globalAlpha = knot.time_s <= mission_s + 1e-9 ? 1 : 0.7;
    drawKnot(context, x, y, knot.cause, colour, options.ground);
    context.globalAlpha = 1;
    if (options.pointed?.event === knot.id) ring(context, x, y, options.pointed.strength, inks);
  }
  if (ruler) drawRuler(context, shape, options, bottom, inks);
  drawPlayhead(context, shape, options, bottom, inks);
  const rim = options.rims ? { rim: options.ground } : {};
  for (const label of labels) {
    const strong = options.pointed?.event === label.id ? 700 : 600;
    const y = label.box.bottom - 0.24 * type;
    const noteWidth = label.note === '' ? 0 : 5 + widthOf(context, label.note, type, 400);
    const left = label.flipped ? label.box.right - noteWidth - label.nameWidth : label.box.left;
    write(context, label.name, left, y, { size: type, weight: strong, colour: inks.ink, ...rim });
    if (label.note !== '')
      write(context, label.note, left + label.nameWidth + 5, y, {
        size: type,
        weight: 400,
        colour: inks.ink2,
        ...rim,
      });
  }
  return shape;
}

function shownKnots(
  shape: BraidShape,
  set: FilmVariant['set'],
  knots: readonly Knot[],
  { start_s, end_s, crowded, mostRank, pointed }: BandOptions,
): { knot: Knot; x: number; y: number; side: 'above' | 'below' }[] {
  const order = set.strands.map((strand) => strand.body);
  const inside = knots.filter((k) => k.time_s >= start_s && k.time_s <= end_s && k.rank <= mostRank);
  const kept: { knot: Knot; x: number; y: number; side: 'above' | 'below' }[] = [];
  // What is pointed at comes first, then partings, so that no neighbour crowds them out.
  const weight = (knot: Knot): number => {
    if (knot.id === pointed?.event) return 0;
    return knot.cause === 'set' && set.joinings.some(({ time_s }) => time_s === knot.time_s)
      ? 0.5
      : knot.rank;
  };
  const wanted = [...inside].sort((p, q) => weight(p) - weight(q));
  for (const knot of wanted) {
    const place = shape.at(knot.body, knot.time_s, true) ?? shape.at(knot.body, knot.time_s);
    if (place === null) continue;
    const x = shape.x(knot.time_s);
    if (kept.some((other) => Math.abs(other.x - x) < crowded)) continue;
    kept.push({ knot, x, y: place.y, side: order.indexOf(knot.body) < order.length / 2 ? 'above' : 'below' });
  }
  return kept.sort((p, q) => p.x - q.x);
}

/** The gap or overlap with slashed ends and its words; returns the box that its words take. */
function drawGap(context: Context, shape: BraidShape, options: BandOptions, inks: SheetInks): Box | null {
  const { gap, box, above, type } = options;
  if (gap === null) return null;
  const x0 = shape.x(Math.min(gap.from_s, gap.to_s));
  const x1 = shape.x(Math.max(gap.from_s, gap.to_s));
  if (x1 < box.left || x0 > box.right || x1 - x0 < 3) return null;
  const y = box.top + above - 9;
  context.strokeStyle = inks.ink;
  context.lineWidth = 1.2;
  line(context, x0, y, x1, y);
  for (const x of [x0, x1]) line(context, x - 5, y + 5, x + 5, y - 5);
  const words = gapWords(gap.gap_s);
  const wide = widthOf(context, words, type, 600);
  const inside = wide + 12 < x1 - x0;
  const left = inside ? (x0 + x1 - wide) / 2 : x1 + 10;
  const baseline = inside ? y - 5 : y + 0.35 * type;
  write(context, words, left, baseline, {
    size: type,
    weight: 600,
    colour: inks.ink,
    ...(options.rims ? { rim: options.ground } : {}),
  });
  return {
    left: Math.min(left, x0) - 2,
    right: Math.max(x1, left + wide) + 4,
    top: baseline - type,
    bottom: y + 8,
  };
}

/** A gap in words, s. */
export function gapWords(gap_s: number): string {
  const size = Math.abs(gap_s);
  const text = Number.isInteger(size) ? size.toFixed(0) : size.toFixed(1);
  return `${text}\u202Fs ${gap_s < 0 ? 'overlap' : 'gap'}`;
}

function ring(context: Context, x: number, y: number, strength: number, inks: SheetInks): void {
  context.save();
  context.globalAlpha = strength;
  context.strokeStyle = inks.ink;
  context.lineWidth = 1.8;
  context.beginPath();
  // It closes in on its knot.
  context.arc(x, y, 11 + 10 * (1 - strength), 0, 2 * Math.PI);
  context.stroke();
  context.restore();
}

function drawRuler(
  context: Context,
  shape: BraidShape,
  { box, start_s, end_s, type, mission_s }: BandOptions,
  bottom: number,
  inks: SheetInks,
): void {
  context.strokeStyle = inks.ink3;
  context.lineWidth = 1;
  line(context, box.left, bottom, box.right, bottom);
  context.lineWidth = 0.8;
  const head = shape.x(mission_s);
  for (const { time_s, label } of rulerTicks(start_s, end_s, box.right - box.left, 6.2 * type)) {
    const x = shape.x(time_s);
    line(context, x, bottom, x, bottom + (label === null ? 4 : 7));
    // Labels give way to the playhead's tab, and to the ends of the ruler.
    const clear = Math.abs(x - head) > 3.6 * type || mission_s < start_s || mission_s > end_s;
    if (label !== null && clear && x > box.left + type && x < box.right - type)
      write(context, label, x, bottom + 9 + type, {
        size: type,
        weight: 400,
        colour: inks.ink2,
        align: 'center',
      });
  }
}

function drawPlayhead(
  context: Context,
  shape: BraidShape,
  { box, start_s, end_s, type, mission_s, ruler, tenths }: BandOptions,
  bottom: number,
  inks: SheetInks,
): void {
  if (mission_s < start_s || mission_s > end_s) return;
  const x = shape.x(mission_s);
  context.strokeStyle = inks.ink;
  context.lineWidth = 1.5;
  line(context, x, box.top, x, bottom);
  if (!ruler) return;
  const size = 1.12 * type;
  const text = missionTime(mission_s, tenths);
  const half = 0.5 * widthOf(context, '00:00.0', size, 600) + 5;
  const middle = Math.min(Math.max(x, box.left + half), box.right - half);
  context.fillStyle = inks.ink;
  context.beginPath();
  context.roundRect(middle - half, bottom + 4, 2 * half, 1.7 * size, 2);
  context.fill();
  setTabText(context, text, middle, bottom + 4 + 1.22 * size, size, inks.sheet);
}

/** Centred, digit by digit, so that the text does not tremble as it runs. */
function setTabText(
  context: Context,
  text: string,
  x: number,
  y: number,
  size: number,
  colour: string,
): void {
  const cell = widthOf(context, '0', size, 600);
  const width = [...text].reduce((sum, c) => sum + (/\d/.test(c) ? cell : context.measureText(c).width), 0);
  writeFigure(context, text, x + width / 2, y, { size, weight: 600, colour });
}
