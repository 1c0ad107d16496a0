/**
 * The globe's ink: pure functions of a view, data and a time onto a 2D canvas. Everything is projected in double precision
 * before it becomes a pixel, so nothing jitters at any zoom, and there is no graphics card to fail.
 */
import { overlap, type Box } from '../../core/replay/labels.ts';
import { geoGraticule, geoOrthographic, geoPath, type GeoProjection } from 'd3';
import { EARTH_EQUATORIAL_RADIUS_m } from '../../core/constants/physical.ts';
import { airDepth } from '../../core/replay/airColumn.ts';
import { project, toDegrees, type GlobePath, type GlobeView } from '../../core/replay/globe.ts';

/** A window's canvas, or a film's. */
export type Context = CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D;

/** Colours of the sheet in use, as CSS colours. */
export interface GlobeInk {
  readonly pane: string;
  readonly sea: string;
  readonly land: string;
  readonly coast: string;
  readonly hair: string;
  readonly ink: string;
  readonly ink2: string;
  readonly air: string;
  readonly sheet: string;
}

const FAMILY = "'Atkinson Hyperlegible Next Variable', 'IBM Plex Sans', sans-serif";

/** d3's projection with the same axes as the view; `turn_rad` turns the map eastward under it. */
function mapProjection(view: GlobeView, turn_rad = 0): GeoProjection {
  const [x, y, z] = view.toward;
  const { latitude_deg, longitude_deg } = toDegrees(x, y, z);
  const lat = (latitude_deg * Math.PI) / 180;
  const lon = (longitude_deg * Math.PI) / 180;
  const east = [-Math.sin(lon), Math.cos(lon), 0];
  const north = [-Math.sin(lat) * Math.cos(lon), -Math.sin(lat) * Math.sin(lon), Math.cos(lat)];
  const along = (a: readonly number[], b: readonly number[]): number =>
    a[0]! * b[0]! + a[1]! * b[1]! + a[2]! * b[2]!;
  const roll = Math.atan2(along(view.up, east), along(view.up, north));
  return geoOrthographic()
    .rotate([-longitude_deg + (turn_rad * 180) / Math.PI, -latitude_deg, (roll * 180) / Math.PI])
    .translate([view.x_px, view.y_px])
    .scale(view.scale_px)
    .clipAngle(90)
    .precision(0.3);
}

/** Sea, land, graticule and limb, and the air standing on the limb. Sizes in px. */
export function drawEarth(
  context: Context,
  view: GlobeView,
  land: GeoJSON.FeatureCollection | GeoJSON.Feature,
  ink: GlobeInk,
  size: { width: number; height: number },
  turn_rad: number,
): void {
  context.fillStyle = ink.pane;
  context.fillRect(0, 0, size.width, size.height);
  drawAir(context, view, ink, size);
  const projection = mapProjection(view, turn_rad).clipExtent([
    [-20, -20],
    [size.width + 20, size.height + 20],
  ]);
  const path = geoPath(projection, context as CanvasRenderingContext2D);
  context.beginPath();
  context.arc(view.x_px, view.y_px, view.scale_px, 0, 2 * Math.PI);
  context.fillStyle = ink.sea;
  context.fill();
  context.beginPath();
  path(geoGraticule().step([5, 5])());
  context.strokeStyle = ink.hair;
  context.lineWidth = 0.8;
  context.stroke();
  context.beginPath();
  path(land);
  context.fillStyle = ink.land;
  context.fill();
  context.strokeStyle = ink.coast;
  context.lineWidth = 0.8;
  context.stroke();
  context.beginPath();
  context.arc(view.x_px, view.y_px, view.scale_px, 0, 2 * Math.PI);
  context.strokeStyle = ink.ink2;
  context.lineWidth = 1;
  context.stroke();
}

const AIR_TOP_m = 110_000;

/** Dots above the limb at true scale, denser where the air is; the same dots for the same view. */
function drawAir(
  context: Context,
  view: GlobeView,
  ink: GlobeInk,
  size: { width: number; height: number },
): void {
  const thick = (AIR_TOP_m / EARTH_EQUATORIAL_RADIUS_m) * view.scale_px;
  if (thick < 4) return;
  let seed = 0x2545f491;
  const random = (): number => {
    seed ^= seed << 13;
    seed ^= seed >>> 17;
    seed ^= seed << 5;
    return (seed >>> 0) / 4294967296;
  };
  // Only the arc of the limb that crosses the pane.
  const half = Math.min(Math.PI, Math.asin(Math.min(1, (0.75 * size.width) / view.scale_px)) + 0.02);
  // Where the view was moved aside, the arc lies aside too.
  const aside = Math.asin(Math.max(-1, Math.min(1, (0.5 * size.width - view.x_px) / view.scale_px)));
  const centre = Math.abs(aside) > 0.05 ? -aside : 0;
  const count = Math.min(9000, Math.round(2 * half * view.scale_px * thick * 0.09));
  context.fillStyle = ink.air;
  for (let i = 0; i < count; i++) {
    const angle = Math.PI / 2 + centre + (2 * random() - 1) * half;
    const height = random() * AIR_TOP_m;
    if (random() > airDepth(height)) continue;
    const r = view.scale_px * (1 + height / EARTH_EQUATORIAL_RADIUS_m);
    const x = view.x_px + r * Math.cos(angle);
    const y = view.y_px - r * Math.sin(angle);
    if (x < 0 || x > size.width || y < 0 || y > size.height) continue;
    context.fillRect(x, y, 1.1, 1.1);
  }
}

export interface PathInk {
  readonly path: GlobePath;
  readonly colour: string;
  readonly dashed: boolean;
}

/** One path: ground track, curtain and flown line; what is still to come is pale. Times in seconds. */
export function drawPath(
  context: Context,
  view: GlobeView,
  { path, colour }: PathInk,
  time_s: number,
  future: number,
): void {
  const at = new Float64Array(3);
  const { times_s, directions, heights_m, powered } = path;
  const n = times_s.length;
  const point = (i: number, height: number): boolean =>
    project(view, directions[3 * i]!, directions[3 * i + 1]!, directions[3 * i + 2]!, height, at);
  // Curtain: a line every ten seconds of flight.
  context.strokeStyle = colour;
  context.lineWidth = 0.7;
  let last = -1;
  for (let i = 0; i < n; i++) {
    const slot = Math.floor(times_s[i]! / 10);
    if (slot === last) continue;
    last = slot;
    if (!point(i, 0)) continue;
    const x = at[0]!;
    const y = at[1]!;
    point(i, heights_m[i]!);
    context.globalAlpha = times_s[i]! <= time_s ? 0.45 : 0.45 * future;
    context.beginPath();
    context.moveTo(x, y);
    context.lineTo(at[0]!, at[1]!);
    context.stroke();
  }
  // Ground track, then the path itself; each stretch with one strength and one width in one stroke.
  for (const ground of [true, false]) {
    let open = false;
    let style = -1;
    for (let i = 0; i < n; i++) {
      const past = times_s[i]! <= time_s ? 1 : 0;
      const wide = ground ? 0 : powered[i]!;
      const next = past + 2 * wide;
      const seen = point(i, ground ? 0 : heights_m[i]!);
      const x = at[0]!;
      const y = at[1]!;
      if (open) context.lineTo(x, y);
      if (!seen || next !== style || i === n - 1) {
        if (open) context.stroke();
        open = false;
      }
      if (seen && !open && i < n - 1) {
        style = next;
        context.beginPath();
        context.moveTo(x, y);
        context.globalAlpha = past === 1 ? (ground ? 0.8 : 1) : future * (ground ? 0.8 : 1);
        context.lineWidth = ground ? 1.1 : wide === 1 ? 2.4 : 1;
        context.setLineDash(ground && past === 0 ? [1, 3] : []);
        open = true;
      }
    }
    context.setLineDash([]);
  }
  context.globalAlpha = 1;
}

export interface MapMark {
  readonly x: number;
  readonly y: number;
  readonly shape: 'square' | 'cross' | 'ring' | 'dot';
  readonly colour: string;
  readonly words: string;
  /** −1 writes to the left of the mark, +1 to the right. */
  readonly side: -1 | 1;
  readonly strong: boolean;
  readonly drop?: number;
}

/** Marks with such words as find room: strong ones first, then in their order. px */
export function drawMarks(context: Context, ink: GlobeInk, marks: readonly MapMark[]): void {
  const taken: Box[] = [];
  const silent = new Set<MapMark>();
  for (const mark of [...marks].sort((p, q) => Number(q.strong) - Number(p.strong))) {
    if (mark.words === '') continue;
    const box = wordsBox(context, mark);
    if (taken.some((other) => overlap(box, other))) silent.add(mark);
    else taken.push(box);
  }
  for (const mark of marks) drawMark(context, ink, silent.has(mark) ? { ...mark, words: '' } : mark);
}

const markFont = (mark: MapMark): string => `${mark.strong ? 700 : 400} 13px ${FAMILY}`;
/** Baseline of a mark's words below the mark, px. */
const wordsDrop = (mark: MapMark): number => mark.drop ?? (mark.strong ? -6 : 17);

function wordsBox(context: Context, mark: MapMark): Box {
  context.font = markFont(mark);
  const { width } = context.measureText(mark.words);
  const start = mark.x + mark.side * 10;
  const baseline = mark.y + wordsDrop(mark);
  return {
    left: mark.side < 0 ? start - width : start,
    right: mark.side < 0 ? start : start + width,
    top: baseline - 11,
    bottom: baseline + 4,
  };
}

/** A mark with its words, on a rim of sheet. px */
export function drawMark(context: Context, ink: GlobeInk, mark: MapMark): void {
  const { x, y, colour } = mark;
  context.lineWidth = 1.8;
  context.strokeStyle = colour;
  context.fillStyle = colour;
  context.beginPath();
  switch (mark.shape) {
    case 'square':
      context.fillRect(x - 4, y - 4, 8, 8);
      break;
    case 'cross':
      context.moveTo(x - 5, y);
      context.lineTo(x + 5, y);
      context.moveTo(x, y - 5);
      context.lineTo(x, y + 5);
      context.stroke();
      break;
    case 'ring':
      context.arc(x, y, 4.5, 0, 2 * Math.PI);
      context.fillStyle = ink.pane;
      context.fill();
      context.stroke();
      break;
    case 'dot':
      context.arc(x, y, 5.5, 0, 2 * Math.PI);
      context.fill();
      context.strokeStyle = ink.sheet;
      context.lineWidth = 1.4;
      context.stroke();
  }
  if (mark.words === '') return;
  context.font = markFont(mark);
  context.textAlign = mark.side < 0 ? 'right' : 'left';
  context.textBaseline = 'alphabetic';
  const tx = x + mark.side * 10;
  const ty = y + wordsDrop(mark);
  // A rim of the ground behind the words keeps them off lines and coasts.
  context.lineJoin = 'round';
  context.strokeStyle = ink.pane;
  context.lineWidth = 4;
  context.strokeText(mark.words, tx, ty);
  context.fillStyle = mark.colour;
  context.fillText(mark.words, tx, ty);
}

/** A scale bar at the lower right. Sizes in px, distance on the ground in the plane of the picture. */
export function drawScaleBar(
  context: Context,
  view: GlobeView,
  ink: GlobeInk,
  size: { width: number; height: number },
): void {
  const perKm = (view.scale_px / EARTH_EQUATORIAL_RADIUS_m) * 1000;
  const km =
    [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000].filter((v) => v * perKm <= 150).pop() ?? 1;
  const length = km * perKm;
  const x = size.width - 16 - length;
  const y = size.height - 16;
  context.strokeStyle = ink.ink;
  context.lineWidth = 1;
  context.beginPath();
  context.moveTo(x, y - 4);
  context.lineTo(x, y + 4);
  context.moveTo(x, y);
  context.lineTo(x + length, y);
  context.moveTo(x + length, y - 4);
  context.lineTo(x + length, y + 4);
  context.stroke();
  context.font = `400 12px ${FAMILY}`;
  context.textAlign = 'right';
  context.textBaseline = 'middle';
  context.strokeStyle = ink.sea;
  context.lineWidth = 4;
  context.strokeText(`${km} km`, x - 8, y);
  context.fillStyle = ink.ink2;
  context.fillText(`${km} km`, x - 8, y);
}
