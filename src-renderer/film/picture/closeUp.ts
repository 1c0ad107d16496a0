/** The close-up of the parting: both bodies at one true scale along the stack's axis, and the gap as a dimension line. */
import type { Place } from '../../../core/replay/closeUp.ts';
import { closeUpBetween, type CloseUps } from '../../../core/replay/film/closeUps.ts';
import type { Box } from '../../../core/replay/labels.ts';
import { fixed } from '../../../core/units/figures.ts';
import { line } from './column.ts';
import { bodyInk, type SheetInks } from './inks.ts';
import type { FilmVariant } from './scene.ts';
import { widthOf, write, type Context } from './type.ts';

/** Room for the gap at the chosen scale, m; wider gaps push the bodies out of the pane. */
const ROOM_m = 40;

/** Draws into a box of sheet units; mission time in s. Beyond the last view nothing is known, and nothing is drawn. */
export function drawCloseUp(
  context: Context,
  box: Box,
  views: CloseUps,
  variant: FilmVariant,
  mission_s: number,
  size: number,
  inks: SheetInks,
): void {
  if (mission_s > views.end_s) {
    write(context, 'far apart', (box.left + box.right) / 2, (box.top + box.bottom) / 2, {
      ...{ size: size + 1, weight: 400, colour: inks.ink2, align: 'center' },
    });
    return;
  }
  const joined = views.views[0]!;
  const stations = [...joined.upper, ...joined.lower].flatMap(({ outline }) => outline);
  const low_m = Math.min(...stations.map(([along]) => along));
  const high_m = Math.max(...stations.map(([along]) => along));
  const wide_m = 2 * Math.max(...stations.map(([, across]) => Math.abs(across)));
  const width = box.right - box.left;
  const height = box.bottom - box.top;
  const scale = Math.min((width - 24) / (high_m - low_m + ROOM_m), (0.5 * height) / wide_m);
  const view = closeUpBetween(views, mission_s);
  // The middle of the gap keeps its place: both bodies move away from it.
  const middle_m = 0.5 * view.gap_m;
  const x0 = box.left + 0.5 * width - 0.5 * scale * (high_m + low_m) + scale * middle_m;
  const y0 = box.top + 0.56 * height;
  const at = ([along, across]: Place): [number, number] => [x0 + scale * along, y0 - scale * across];
  context.save();
  context.beginPath();
  context.rect(box.left, box.top, width, height);
  context.clip();
  context.strokeStyle = inks.ink3;
  context.lineWidth = 0.8;
  context.setLineDash([14, 4, 2, 4]);
  line(context, box.left, y0, box.right, y0);
  context.setLineDash([]);
  const released = mission_s >= views.release_s;
  for (const body of [...view.lower, ...view.upper]) {
    const colour = variant.set.strands.find((strand) => strand.body === body.body)?.colour ?? 'plain';
    const own = bodyInk(inks, colour);
    shape(context, body.outline, at);
    context.fillStyle = inks.pane;
    context.fill();
    for (const tank of body.tanks) {
      shape(context, tank.outline, at);
      context.fillStyle = own.empty;
      context.fill();
      for (const liquid of tank.liquid) {
        shape(context, liquid, at);
        context.fillStyle = own.full;
        context.fill();
      }
      shape(context, tank.outline, at);
      context.strokeStyle = own.ink;
      context.lineWidth = 0.8;
      context.stroke();
    }
    shape(context, body.outline, at);
    context.strokeStyle = own.ink;
    context.lineWidth = 1.6;
    context.stroke();
  }
  if (released) dimension(context, view.dimension.map(at), view.gap_m, box, size, inks);
  context.restore();
  scaleBar(context, box, scale, size, inks);
}

function shape(context: Context, places: readonly Place[], at: (place: Place) => [number, number]): void {
  context.beginPath();
  places.forEach((place, i) => {
    const [x, y] = at(place);
    if (i === 0) context.moveTo(x, y);
    else context.lineTo(x, y);
  });
  context.closePath();
}

function dimension(
  context: Context,
  ends: [number, number][],
  gap_m: number,
  box: Box,
  size: number,
  inks: SheetInks,
): void {
  const [from, to] = ends;
  if (from === undefined || to === undefined) return;
  const y = box.top + 1.9 * size;
  context.strokeStyle = inks.ink;
  context.lineWidth = 1.2;
  if (to[0] - from[0] > 2) line(context, from[0], y, to[0], y);
  for (const [x, below] of [from, to]) {
    line(context, x - 5, y + 5, x + 5, y - 5);
    context.save();
    context.lineWidth = 0.7;
    context.strokeStyle = inks.ink3;
    line(context, x, y + 6, x, below - 4);
    context.restore();
  }
  const text = fixed(gap_m, 1);
  const big = 1.75 * size;
  const wide = widthOf(context, text, big, 600);
  const left = Math.min(Math.max(to[0] + 14, box.left + 8), box.right - wide - 40);
  write(context, text, left, y + 0.35 * big, { size: big, weight: 600, colour: inks.ink, rim: inks.pane });
  write(context, 'm', left + wide + 4, y + 0.35 * big, {
    size: 0.62 * big,
    weight: 400,
    colour: inks.ink2,
    rim: inks.pane,
  });
}

function scaleBar(context: Context, box: Box, scale: number, size: number, inks: SheetInks): void {
  const x = box.right - 10 * scale - 6;
  const y = box.bottom - 6;
  context.strokeStyle = inks.ink;
  context.lineWidth = 1;
  line(context, x, y, x + 10 * scale, y);
  for (const end of [x, x + 10 * scale]) line(context, end, y - 3.5, end, y + 3.5);
  write(context, '10\u202Fm, true scale', x - 8, y + 0.35 * size, {
    size,
    weight: 400,
    colour: inks.ink2,
    align: 'right',
  });
}
