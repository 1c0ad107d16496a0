/** The other plates: the staging stretched, two gaps beside each other, the curve building up. Sizes in sheet units. */
import { scaleLinear } from 'd3';
import type { FilmState } from '../../../core/replay/film/cueTrack.ts';
import { fixed } from '../../../core/units/figures.ts';
import type { Box } from '../../../core/replay/labels.ts';
import { drawBand, gapWords } from './braidPanel.ts';
import { drawCloseUp } from './closeUp.ts';
import { line } from './column.ts';
import type { SheetInks } from './inks.ts';
import type { FilmLayout } from './layout.ts';
import type { CurvePoint, FilmScene } from './scene.ts';
import { widthOf, write, type Context } from './type.ts';

export interface PlateArguments {
  readonly context: Context;
  readonly layout: FilmLayout;
  readonly scene: FilmScene;
  readonly state: FilmState;
  readonly inks: SheetInks;
  /** Whether the picture has a ground; else panes are not filled and words have no rim. */
  readonly opaque: boolean;
  readonly pointed: { readonly event: string; readonly strength: number } | null;
}

/** Less than this is written in kilograms. */
const FEW_kg = 2000;

/** The span that the staging plate shows at a time (s), which follows the playhead only where it leaves the span. */
export function stagingWindow(scene: FilmScene): { from_s: number; to_s: number } {
  return scene.main.staging;
}

/** The staging with every second drawn out, on a pane of its own. */
export function drawStaging({ context, layout, scene, state, inks, opaque, pointed }: PlateArguments): void {
  const tall = layout.shape === 'tall';
  const box: Box =
    layout.shape === 'wide'
      ? { ...layout.plate, left: layout.margin }
      : { ...layout.plate, left: layout.margin, right: layout.whole.right };
  pane(context, box, opaque, inks);
  const { from_s, to_s } = stagingWindow(scene);
  const whole = scene.main.end_s - scene.main.set.start_s;
  const factor = whole / (to_s - from_s);
  const words = `${tall ? '' : 'staging, '}stretched ${fixed(factor, 0)} times`;
  write(
    context,
    words,
    box.left + 12,
    (scene.main.closeUps === null ? box.top : box.top + 0.42 * (box.bottom - box.top) + 4) + 18,
    { size: layout.small, weight: 400, colour: inks.ink2 },
  );
  const views = scene.main.closeUps;
  const split = views === null ? box.top + 26 : box.top + 0.42 * (box.bottom - box.top);
  const inner = { left: box.left + 12, right: box.right - 12, top: split, bottom: box.bottom - 2 };
  if (views !== null) {
    const above = { left: box.left + 8, right: box.right - 8, top: box.top + 4, bottom: split };
    drawCloseUp(context, above, views, state.mission_s, {
      inks,
      colourOf: (body) => scene.main.set.strands.find((strand) => strand.body === body)?.colour ?? 'plain',
      nameOf: () => '',
      size: layout.small,
      zoom: 'whole',
      detail: 'gap',
    });
    context.strokeStyle = inks.hair;
    context.lineWidth = 1;
    line(context, box.left + 1, split + 4, box.right - 1, split + 4);
  }
  const high = inner.bottom - inner.top;
  drawBand(
    context,
    scene.main,
    {
      box: inner,
      start_s: from_s,
      end_s: to_s,
      above: views === null ? 0.3 * high : 40,
      below: views === null ? 0.16 * high : 36,
      thickest: (views === null ? 0.22 : 0.2) * high,
      ease: 110,
      type: layout.small + 1,
      mission_s: state.mission_s,
      ruler: true,
      tenths: true,
      crowded: 8,
      mostRank: 2,
      gap: scene.main.gap,
      span: null,
      pointed,
      ground: inks.pane,
      notes: !tall,
      settlingWords: true,
      rims: opaque,
    },
    inks,
  );
}

function pane(context: Context, box: Box, opaque: boolean, inks: SheetInks): void {
  context.fillStyle = inks.pane;
  if (opaque) context.fillRect(box.left, box.top, box.right - box.left, box.bottom - box.top);
  context.strokeStyle = inks.rule;
  context.lineWidth = 1;
  context.strokeRect(box.left + 0.5, box.top + 0.5, box.right - box.left - 1, box.bottom - box.top - 1);
}

/** Two gaps of one vehicle, band over band, aligned at main cut-off, with the payload of each. */
export function drawCompare({ context, layout, scene, state, inks, opaque }: PlateArguments): void {
  const { whole } = layout;
  const pair = scene.compare === null ? [scene.main] : [scene.main, scene.compare];
  const wide = layout.shape === 'wide';
  const right = wide ? whole.right - 250 : whole.right;
  /** Cut-off to cut-off, s; a variant without a gap is aligned at its parting. */
  const zero = pair.map((v) => v.gap?.from_s ?? v.set.joinings[1]?.time_s ?? 0);
  const early = Math.min(...pair.map((v, i) => v.staging.from_s - zero[i]!));
  const late = Math.max(...pair.map((v, i) => v.staging.to_s - zero[i]!));
  const best = Math.max(...pair.map((v) => v.payload_kg));
  const share = Math.min(
    1,
    (state.film_s - state.plateSince_s) / Math.max(1, 0.75 * (state.plateUntil_s - state.plateSince_s)),
  );
  const now_s = early + share * (late - early);
  const height = (whole.bottom - whole.top) / pair.length;
  let dotted = 0;
  pair.forEach((variant, i) => {
    const top = whole.top + i * height;
    const head = wide ? 0 : 30;
    const box: Box = {
      ...{ left: whole.left, right, top: top + 24 + head },
      bottom: top + height - (i === pair.length - 1 ? 0 : 16),
    };
    const gap = variant.gap === null ? '' : gapWords(variant.gap.gap_s);
    const name = `${String.fromCharCode(65 + i)}\u2002${gap}`;
    write(context, name, whole.left, top + 16, { size: 17, weight: 600, colour: inks.ink });
    const inner = box.bottom - box.top;
    const shape = drawBand(
      context,
      variant,
      {
        ...{
          box,
          start_s: zero[i]! + early,
          end_s: zero[i]! + late,
          above: 0.26 * inner,
          below: 0.16 * inner,
        },
        ...{
          thickest: 0.24 * inner,
          ease: 110,
          type: layout.small,
          mission_s: zero[i]! + now_s,
          ruler: i === pair.length - 1,
        },
        ...{
          tenths: true,
          crowded: 8,
          mostRank: 1,
          gap: variant.gap,
          span: null,
          pointed: null,
          ground: inks.sheet,
        },
        notes: false,
        settlingWords: true,
        rims: opaque,
      },
      inks,
    );
    dotted = shape.x(zero[i]!);
    const few = best < FEW_kg;
    const figure = {
      figure: few ? fixed(variant.payload_kg, 1) : fixed(variant.payload_kg / 1000, 2),
      unit: few ? 'kg of payload' : 't of payload',
    };
    const x = wide ? right + 28 : whole.right;
    const y = wide ? top + 24 + 0.48 * inner : top + 18;
    payloadFigure(context, figure, x, y, wide ? 'left' : 'right', wide ? 34 : 24, inks);
    if (wide) {
      const below =
        variant.payload_kg === best
          ? 'the most of the two'
          : `${fixed(variant.payload_kg - best, few ? 1 : 0, true)} kg`;
      write(context, below, x, y + 24, { size: 14, weight: 400, colour: inks.ink2 });
    }
  });
  context.save();
  context.setLineDash([1.5, 4]);
  context.strokeStyle = inks.ink2;
  context.lineWidth = 1.2;
  line(context, dotted, whole.top + 26, dotted, whole.bottom - 40);
  context.restore();
}

function payloadFigure(
  context: Context,
  { figure, unit }: { figure: string; unit: string },
  x: number,
  y: number,
  align: 'left' | 'right',
  size: number,
  inks: SheetInks,
): void {
  const small = 0.5 * size;
  const unitWidth = widthOf(context, unit, small, 400);
  const width = widthOf(context, figure, size, 600);
  const left = align === 'left' ? x : x - width - unitWidth - 6;
  write(context, figure, left, y, { size, weight: 600, colour: inks.ink });
  write(context, unit, left + width + 6, y, { size: small, weight: 400, colour: inks.ink2 });
}

/** How much of the curve stands: from nothing at the plate's start to all of it after two thirds of its time, at most 5 s. */
function builtTo(state: FilmState, curve: readonly CurvePoint[]): number {
  const span = Math.min(5, 0.66 * (state.plateUntil_s - state.plateSince_s));
  const share = Math.min(1, Math.max(0, (state.film_s - state.plateSince_s) / span));
  const first = curve[0]!.gap_s;
  return first + share * (curve[curve.length - 1]!.gap_s - first);
}

function valueAt(curve: readonly CurvePoint[], gap_s: number): number {
  const after = Math.max(
    1,
    curve.findIndex((point) => point.gap_s >= gap_s),
  );
  const p = curve[after - 1]!;
  const q = curve[after]!;
  return p.payload_kg + ((gap_s - p.gap_s) / (q.gap_s - p.gap_s)) * (q.payload_kg - p.payload_kg);
}

/** Payload against the gap, point by point as the sweep went; ringed points are solves. */
export function drawChart({ context, layout, scene, state, inks }: PlateArguments): void {
  const { curve } = scene;
  if (curve.length < 2) return;
  const { whole, small } = layout;
  const wide = layout.shape === 'wide';
  const right = wide ? whole.right - 230 : whole.right - 8;
  const built_s = builtTo(state, curve);
  const values = curve.map((point) => point.payload_kg);
  const heavy = Math.max(...values) >= 10_000;
  const per = heavy ? 1000 : 1;
  const low = Math.min(...values) / per;
  const high = Math.max(...values) / per;
  const x = scaleLinear()
    .domain([Math.min(0, curve[0]!.gap_s), curve[curve.length - 1]!.gap_s])
    .range([whole.left + 62, right]);
  const y = scaleLinear()
    .domain([low - 0.08 * (high - low), high + 0.12 * (high - low)])
    .range([whole.bottom - 46, whole.top + (wide ? 34 : 96)]);
  const size = small + 1.5;
  write(context, `payload, ${heavy ? 't' : 'kg'}`, whole.left, whole.top + 16, {
    size: size + 1.5,
    weight: 600,
    colour: inks.ink,
  });
  const [yBottom = 0, yTop = 0] = y.range();
  const [xLeft = 0] = x.range();
  if (x.domain()[0]! < 0) {
    context.fillStyle = inks.pane;
    context.fillRect(xLeft, yTop, x(0) - xLeft, yBottom - yTop);
    if (x(0) - xLeft > 66)
      write(context, 'overlap', (xLeft + x(0)) / 2, yBottom + 20, {
        size,
        weight: 400,
        colour: inks.ink2,
        align: 'center',
      });
  }
  const steps = y.ticks(5);
  const decimals = steps.some((t) => t % 1 !== 0) ? 1 : 0;
  for (const t of steps) {
    context.strokeStyle = inks.hair;
    context.lineWidth = 1;
    line(context, xLeft, y(t), right, y(t));
    write(context, fixed(t, decimals), xLeft - 10, y(t) + 0.35 * size, {
      size,
      weight: 400,
      colour: inks.ink2,
      align: 'right',
    });
  }
  context.strokeStyle = inks.ink3;
  line(context, xLeft, yBottom, right, yBottom);
  for (const t of x.ticks(wide ? 8 : 5)) {
    line(context, x(t), yBottom, x(t), yBottom + 6);
    if (t >= 0)
      write(context, fixed(t, 0), x(t), yBottom + 20, {
        size,
        weight: 400,
        colour: inks.ink2,
        align: 'center',
      });
  }
  write(context, 'gap from last cut-off to ignition, s', right, yBottom + 40, {
    size,
    weight: 400,
    colour: inks.ink2,
    align: 'right',
  });
  context.strokeStyle = inks.ink;
  context.lineWidth = 2.6;
  context.lineJoin = 'round';
  context.beginPath();
  const done = curve.filter((point) => point.gap_s <= built_s);
  done.forEach((point, i) => {
    if (i === 0) context.moveTo(x(point.gap_s), y(point.payload_kg / per));
    else context.lineTo(x(point.gap_s), y(point.payload_kg / per));
  });
  const here_kg = valueAt(curve, built_s);
  context.lineTo(x(built_s), y(here_kg / per));
  context.stroke();
  for (const point of done) {
    context.beginPath();
    context.arc(x(point.gap_s), y(point.payload_kg / per), 5, 0, 2 * Math.PI);
    context.fillStyle = inks.sheet;
    context.fill();
    context.strokeStyle = inks.ink;
    context.lineWidth = 1.8;
    context.stroke();
  }
  context.strokeStyle = inks.ink2;
  context.lineWidth = 1;
  line(context, x(built_s), y(here_kg / per), x(built_s), yBottom);
  readOff(
    context,
    scene,
    done[done.length - 1] ?? curve[0]!,
    { whole, right, wide, size, dot: y(here_kg / per) },
    inks,
  );
}

/** The last solved point in figures, and against the point at no gap. */
function readOff(
  context: Context,
  { curve }: FilmScene,
  point: CurvePoint,
  place: { whole: Box; right: number; wide: boolean; size: number; dot: number },
  inks: SheetInks,
): void {
  const zero = curve.find((other) => other.gap_s === 0) ?? curve[0]!;
  const { whole, right, wide, size } = place;
  const left = wide ? right + 28 : whole.left;
  const top = wide ? whole.top + 60 : whole.top + 42;
  write(context, gapWords(point.gap_s), left, top, { size: size + 2, weight: 400, colour: inks.ink2 });
  const few = zero.payload_kg < FEW_kg;
  const figure = {
    figure: few ? fixed(point.payload_kg, 1) : fixed(point.payload_kg / 1000, 2),
    unit: few ? 'kg' : 't',
  };
  payloadFigure(
    context,
    figure,
    wide ? left : left + 112,
    wide ? top + 38 : top,
    'left',
    wide ? 36 : 28,
    inks,
  );
  const change = `${fixed(point.payload_kg - zero.payload_kg, few ? 1 : 0, true)} kg against ${gapWords(zero.gap_s)}`;
  const share = `${fixed(100 * (point.payload_kg / zero.payload_kg - 1), 1, true)} %`;
  if (wide) {
    write(context, share, left, top + 78, { size: 26, weight: 600, colour: inks.ink });
    write(context, change, left, top + 100, { size: size + 0.5, weight: 400, colour: inks.ink2 });
    write(context, 'exact for these numbers; no band', left, top + 128, {
      size,
      weight: 400,
      colour: inks.ink2,
    });
  } else {
    write(context, `${share}, no band`, left + 112, top + 24, { size: 17, weight: 600, colour: inks.ink });
  }
}
