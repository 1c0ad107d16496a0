/** The plate with the map: the flight over the Earth, drawn by the globe's own ink, seen as the cue's camera says. */
import { project, placeAt, viewOfPath, type GlobeView } from '../../../core/replay/globe.ts';
import type { CameraState } from '../../../core/replay/film/cueTrack.ts';
import type { Box } from '../../../core/replay/labels.ts';
import { drawEarth, drawMark, drawPath, drawScaleBar, type GlobeInk } from '../../globe/draw.ts';
import { fineLand } from '../../globe/land.ts';
import { bodyInk, type SheetInks } from './inks.ts';
import { Layer } from './layer.ts';
import type { FilmVariant } from './scene.ts';
import type { Context } from './type.ts';

const FUTURE = 0.42;

/** Draws the plate; keeps the map that does not move from picture to picture, which changes no pixel. */
export class MapPlate {
  private readonly earth = new Layer();

  /** `scale` is pixels a unit. Mission time in s. */
  draw(
    context: Context,
    box: Box,
    scale: number,
    variant: FilmVariant,
    camera: CameraState,
    mission_s: number,
    inks: SheetInks,
  ): void {
    const main = variant.paths[0];
    if (main === undefined) return;
    const size = { width: box.right - box.left, height: box.bottom - box.top };
    const view = viewAt(variant, camera, mission_s, size);
    const ink: GlobeInk = inks;
    this.earth.lay(context, box, scale, JSON.stringify([view, inks.sheet]), (layer) => {
      layer.translate(box.left, box.top);
      layer.beginPath();
      layer.rect(0, 0, size.width, size.height);
      layer.clip();
      drawEarth(layer, view, fineLand, ink, size, 0);
    });
    context.save();
    context.beginPath();
    context.rect(box.left, box.top, size.width, size.height);
    context.clip();
    context.translate(box.left, box.top);
    this.moving(context, view, variant, mission_s, inks, size);
    context.restore();
    context.strokeStyle = inks.rule;
    context.lineWidth = 1;
    context.strokeRect(box.left + 0.5, box.top + 0.5, size.width - 1, size.height - 1);
  }

  private moving(
    context: Context,
    view: GlobeView,
    { paths, styles, readers }: FilmVariant,
    mission_s: number,
    inks: SheetInks,
    size: { width: number; height: number },
  ): void {
    const at = new Float64Array(3);
    const place = new Float64Array(4);
    const colour = (i: number): string => bodyInk(inks, styles[i]!.colour).ink;
    paths.forEach((path, i) => {
      drawPath(context, view, { path, colour: colour(i), dashed: false }, mission_s, FUTURE);
    });
    const mark = (d: Float64Array, k: number, height_m: number): boolean =>
      project(view, d[3 * k]!, d[3 * k + 1]!, d[3 * k + 2]!, height_m, at);
    const first = paths[0]!;
    const words: { x: number; y: number }[] = [];
    if (mark(first.directions, 0, 0)) {
      drawMark(context, inks, {
        ...{ x: at[0]!, y: at[1]!, shape: 'square', colour: inks.ink, words: 'liftoff' },
        ...{ side: at[0]! > 64 ? -1 : 1, strong: false },
      });
      words.push({ x: at[0]!, y: at[1]! });
    }
    paths.forEach((path, i) => {
      const n = path.times_s.length - 1;
      const { end, name, home } = styles[i]!;
      if (end === 'open') return;
      if (!mark(path.directions, n, end === 'orbit' ? path.heights_m[n]! : 0)) return;
      const near = words.some((other) => Math.abs(other.x - at[0]!) < 110 && Math.abs(other.y - at[1]!) < 16);
      const label = end === 'orbit' ? 'orbit' : `${name.toLowerCase()} ${home ? 'lands' : 'comes down'}`;
      const room = at[0]! + 10 + 7 * label.length < size.width;
      drawMark(context, inks, {
        ...{ x: at[0]!, y: at[1]!, shape: end === 'orbit' ? 'ring' : 'cross', colour: colour(i) },
        ...{ words: near ? '' : label, side: room ? 1 : -1, strong: false },
      });
      words.push({ x: at[0]!, y: at[1]! });
    });
    const heads: { x: number; y: number; i: number }[] = [];
    readers.forEach((reader, i) => {
      const { start_s, end_s } = reader.track;
      if ((i > 0 && mission_s < start_s) || (mission_s > end_s && i > 0)) return;
      placeAt(reader, mission_s, 'earthFixed', place);
      if (project(view, place[0]!, place[1]!, place[2]!, place[3]!, at))
        heads.push({ x: at[0]!, y: at[1]!, i });
    });
    // The western body writes to its left, the eastern to its right.
    heads.sort((p, q) => p.x - q.x);
    heads.forEach(({ x, y, i }, order) => {
      drawMark(context, inks, {
        ...{ x, y, shape: 'dot', colour: colour(i), words: styles[i]!.name },
        side: (heads.length > 1 && order < heads.length / 2 && x > 90) || x > size.width - 100 ? -1 : 1,
        strong: true,
        // The one below the other writes below its dot, where both write to the same side.
        drop: heads.some((other) => other.i !== i && Math.abs(other.x - x) < 90 && other.y < y) ? 19 : -8,
      });
    });
    drawScaleBar(context, view, inks, size);
  }
}

/** The view of the whole flight, then zoomed about what the camera follows. */
function viewAt(
  variant: FilmVariant,
  camera: CameraState,
  mission_s: number,
  size: { width: number; height: number },
): GlobeView {
  const view = viewOfPath(variant.paths[0]!, camera.off_rad, size.width, size.height);
  if (camera.zoom === 1 && camera.follow.length === 0) return view;
  const middle = { x: size.width / 2, y: size.height / 2 };
  let focus = middle;
  const place = new Float64Array(4);
  const at = new Float64Array(3);
  for (const { body, weight } of camera.follow) {
    const strand = variant.set.strands.find((s) => s.id === body);
    const reader = readerAt(variant, strand?.track ?? 0, mission_s);
    if (reader === undefined) continue;
    placeAt(reader, mission_s, 'earthFixed', place);
    project(view, place[0]!, place[1]!, place[2]!, place[3]!, at);
    focus = { x: focus.x + weight * (at[0]! - middle.x), y: focus.y + weight * (at[1]! - middle.y) };
  }
  return {
    ...view,
    scale_px: view.scale_px * camera.zoom,
    x_px: middle.x + camera.zoom * (view.x_px - focus.x),
    y_px: middle.y + camera.zoom * (view.y_px - focus.y),
  };
}

/** The reader that a body flies with at a mission time (s): the main track's until it parts. */
export function readerAt(
  variant: FilmVariant,
  track: number,
  mission_s: number,
): FilmVariant['readers'][number] | undefined {
  const own = variant.readers[track];
  return own !== undefined && (track === 0 || mission_s >= own.track.start_s) ? own : variant.readers[0];
}
