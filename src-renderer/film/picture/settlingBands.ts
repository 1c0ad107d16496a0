/** How propellant lies before an ignition, as a band along the strand that waits for it, as in the window; and in words. */
import { layOutBands, type BraidShape, type SettlingBand } from '../../../core/replay/braid.ts';
import { overlap, type Box } from '../../../core/replay/labels.ts';
import { bodyInk, type SheetInks } from './inks.ts';
import type { FilmVariant } from './scene.ts';
import { widthOf, write, type Context } from './type.ts';

interface Bands {
  readonly box: Box;
  readonly start_s: number;
  readonly end_s: number;
  readonly mission_s: number;
  /** Of the words, which bands go by. */
  readonly type: number;
  readonly ground: string;
}

/** Width of a band over the size of type, of its hollow over the band, and of its dashes over the band. */
const BAND = 0.5;
const HOLLOW = 0.62;
const DASH = 0.45;

/** Draws the bands, full where propellant is settled, broken where it moves, hollow where it is unsettled; the future pale. */
export function drawSettling(
  context: Context,
  shape: BraidShape,
  settling: FilmVariant['settling'],
  options: Bands,
  inks: SheetInks,
): SettlingBand[] {
  const { box, mission_s } = options;
  const bands = layOutBands(shape, settling, options);
  const now = Math.min(Math.max(shape.x(mission_s), box.left), box.right);
  const halves = [
    { from: box.left, to: now, strength: 1 },
    { from: now, to: box.right, strength: inks.future },
  ];
  for (const { from, to, strength } of halves) {
    if (!(to > from)) continue;
    context.save();
    context.beginPath();
    context.rect(from, box.top, to - from, box.bottom - box.top);
    context.clip();
    for (const band of bands) drawOne(context, band, strength, options, inks);
    context.restore();
  }
  return bands;
}

function drawOne(
  context: Context,
  { middle, state, colour }: SettlingBand,
  strength: number,
  { type, ground }: Bands,
  inks: SheetInks,
): void {
  const wide = BAND * type;
  const along = (width: number, style: string): void => {
    context.strokeStyle = style;
    context.lineWidth = width;
    context.beginPath();
    middle.forEach(({ x, y }, i) => {
      if (i === 0) context.moveTo(x, y);
      else context.lineTo(x, y);
    });
    context.stroke();
  };
  context.lineCap = 'butt';
  // Opaque below, so that the strand does not show through a pale band.
  along(wide, ground);
  context.globalAlpha = strength;
  along(wide, bodyInk(inks, colour).ink);
  context.globalAlpha = 1;
  if (state === 'settled') return;
  if (state === 'moving') context.setLineDash([DASH * wide, DASH * wide]);
  along(HOLLOW * wide, ground);
  context.setLineDash([]);
}

/**
 * Says at the bands what they mean, on the strand's outer side, the last before ignition first; what finds no room is left out.
 * Boxes in `taken` are kept free, and those of the words are added to it.
 */
export function nameSettling(
  context: Context,
  bands: readonly SettlingBand[],
  { box, type, ground }: Bands,
  outside: (band: SettlingBand) => 'above' | 'below',
  taken: Box[],
  inks: SheetInks,
  rims: boolean,
): void {
  const away = 0.5 * BAND * type + 3;
  const apart = 0.3 * type;
  const named = new Set<number>();
  for (const band of [...bands].reverse()) {
    const above = outside(band) === 'above';
    // One line for all words of a strand, clear of it wherever it goes.
    const ys = bands.flatMap(({ body, middle }) => (body === band.body ? middle.map(({ y }) => y) : []));
    const baseline = above ? Math.min(...ys) - away - 0.1 * type : Math.max(...ys) + away + 0.75 * type;
    const first = band.middle[0]!.x;
    const last = band.middle[band.middle.length - 1]!.x;
    // What it is that is settled is said once a strand.
    const wordings = named.has(band.body) ? [band.state] : [`propellant ${band.state}`, band.state];
    const places = wordings.flatMap((words) => {
      const wide = widthOf(context, words, type, 500);
      return [0.5 * (first + last - wide), last - wide, first].map((x) => {
        const left = Math.min(Math.max(x, box.left), box.right - wide);
        return {
          words,
          own: { left, right: left + wide, top: baseline - 0.8 * type, bottom: baseline + 0.25 * type },
        };
      });
    });
    const found = places.find(
      ({ own }) =>
        !taken.some((other) => overlap({ ...own, left: own.left - apart, right: own.right + apart }, other)),
    );
    if (found === undefined) continue;
    named.add(band.body);
    taken.push(found.own);
    write(context, found.words, found.own.left, baseline, {
      ...{ size: type, weight: 500, colour: inks.ink2 },
      ...(rims ? { rim: ground } : {}),
    });
  }
}
