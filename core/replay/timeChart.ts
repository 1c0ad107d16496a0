/**
 * One quantity of a flight against time beside points that somebody else has for it, and below it the differences. What is
 * drawn is worked out here as plain shapes: the window mounts them, a page writes them down.
 */

import {
  FOOT,
  drawn,
  label,
  line,
  round,
  text,
  ticks,
  timeAxis,
  type ChartShape,
  type ChartSize,
} from './chartParts.ts';

/** A point with ours beside it, in the chart's unit. */
export interface ChartPoint {
  readonly time_s: number;
  readonly name: string;
  readonly theirs: number;
  readonly ours: number;
  /** Ours under the low and the high assumption. */
  readonly span?: readonly [number, number];
  /** Least and greatest difference that is allowed, or one standard error either way; null where nothing is asked. */
  readonly tolerance: readonly [number, number] | null;
  /** Standard deviation of theirs. */
  readonly error?: number;
}

export interface TimeChart {
  readonly title: string;
  readonly unit: string;
  /** What the strip of differences shows. */
  readonly strip: string;
  /** Times of the curves, s, not falling; a time that comes twice is a jump. */
  readonly time_s: readonly number[];
  readonly ours: readonly number[];
  /** Ours under the low and the high assumption, at the same times. */
  readonly band?: { readonly low: readonly number[]; readonly high: readonly number[] };
  /** Ours as it was before. */
  readonly before?: { readonly time_s: readonly number[]; readonly value: readonly number[] };
  readonly points: readonly ChartPoint[];
}

const LEFT = 60;
const RIGHT = 14;
const TOP = 30;
const GAP = 38;
const STRIP = 74;

/** The largest round number that is not above a reach (any unit). */
function mark(reach: number): number {
  const power = 10 ** Math.floor(Math.log10(reach));
  return power * ([5, 2, 1].find((m) => m * power <= reach) ?? 1);
}

/**
 * The shapes of a chart in a box of the given size (px, y down): curves and points above, differences below. Time in seconds
 * along, the chart's own unit up. Needs a curve of two times or more; points outside its times widen the axis.
 */
export function chartShapes(chart: TimeChart, size: ChartSize): ChartShape[] {
  const { time_s, ours, band, before, points } = chart;
  const right = size.width - RIGHT;
  const floor = size.height - GAP - STRIP - FOOT;
  const start = Math.min(0, time_s[0]!, ...points.map((point) => point.time_s));
  const end = Math.max(...time_s, ...(before?.time_s ?? []), ...points.map((point) => point.time_s));
  const x = (t: number): number => round(LEFT + ((t - start) / (end - start)) * (right - LEFT));
  const values = [
    ...ours,
    ...(before?.value ?? []),
    ...(band === undefined ? [] : [...band.low, ...band.high]),
    ...points.flatMap(({ theirs, error = 0 }) => [theirs - error, theirs + error]),
  ];
  const least = Math.min(0, ...values);
  const most = least + 1.04 * (Math.max(...values, least + 1e-9) - least);
  const y = (value: number): number => round(floor - ((value - least) / (most - least)) * (floor - TOP));
  const path = (of: readonly number[], times_s = time_s): string =>
    of.map((value, i) => `${i === 0 ? 'M' : 'L'}${x(times_s[i]!)} ${y(value)}`).join('');

  const shapes: ChartShape[] = [
    text('name', 0, 14, `${chart.title}${chart.unit === '' ? '' : `, ${chart.unit}`}`),
  ];
  for (const v of ticks(least, most, 4)) {
    shapes.push(line('hair', LEFT, y(v), right, y(v)), text('tick', LEFT - 8, y(v) + 4, label(v), 'end'));
  }
  if (band !== undefined) {
    const back = [...time_s.keys()].reverse().map((i) => `L${x(time_s[i]!)} ${y(band.low[i]!)}`);
    shapes.push(drawn('band', `${path(band.high)}${back.join('')}Z`));
  }
  if (before !== undefined) shapes.push(drawn('before', path(before.value, before.time_s)));
  shapes.push(drawn('curve', path(ours)));
  for (const { time_s: t, theirs, name, error } of points) {
    if (error !== undefined) shapes.push(line('error', x(t), y(theirs - error), x(t), y(theirs + error)));
    const words = `${name}: ${label(theirs)} ${chart.unit}`.trim();
    shapes.push({ tag: 'circle', kind: 'ring', at: { cx: x(t), cy: y(theirs), r: 4 }, words });
  }
  return [...shapes, ...strip(chart, size, x), ...timeAxis(start, end, size, x)];
}

/** The strip of differences: what is allowed, what the assumptions make of it, and ours. */
function strip(chart: TimeChart, size: ChartSize, x: (t: number) => number): ChartShape[] {
  const { points } = chart;
  const top = size.height - STRIP - FOOT;
  const all = points.flatMap(({ ours, span = [ours, ours], theirs, tolerance }) => [
    ours - theirs,
    ...span.map((each) => each - theirs),
    ...(tolerance ?? []),
  ]);
  const reach = 1.15 * Math.max(1e-9, ...all.map(Math.abs));
  const y = (value: number): number => round(top + STRIP / 2 - (value / reach) * (STRIP / 2));
  const shapes: ChartShape[] = [text('words', 0, top - 12, chart.strip)];
  // What is allowed reaches from point to point: between them nothing was asked, but the eye finds its way.
  for (const run of runs(points)) {
    const low = run.map(([t, tolerance]) => `L${x(t)} ${y(tolerance[0])}`).reverse();
    const high = run.map(([t, tolerance], i) => `${i === 0 ? 'M' : 'L'}${x(t)} ${y(tolerance[1])}`);
    shapes.push(drawn('allowed', `${high.join('')}${low.join('')}Z`));
  }
  for (const v of [-mark(reach), 0, mark(reach)]) {
    shapes.push(
      line(v === 0 ? 'zero' : 'hair', LEFT, y(v), size.width - RIGHT, y(v)),
      text('tick', LEFT - 8, y(v) + 4, `${v > 0 ? '+' : ''}${label(v)}`, 'end'),
    );
  }
  for (const { time_s, name, theirs, ours, span, tolerance } of points) {
    const place = x(time_s);
    if (tolerance !== null) {
      for (const each of tolerance) shapes.push(line('limit', place - 4, y(each), place + 4, y(each)));
    }
    if (span !== undefined)
      shapes.push(line('whisker', place, y(span[0] - theirs), place, y(span[1] - theirs)));
    const difference = ours - theirs;
    const words = `${name}: ${difference > 0 ? '+' : ''}${label(Number(difference.toPrecision(3)))} ${chart.unit}`;
    shapes.push({
      tag: 'circle',
      kind: 'dot',
      at: { cx: place, cy: y(difference), r: 3.2 },
      words: words.trim(),
    });
  }
  return shapes;
}

/** Points of which something is asked, with it, in runs that no other point parts. */
function runs(points: readonly ChartPoint[]): [number, readonly [number, number]][][] {
  const found: [number, readonly [number, number]][][] = [[]];
  for (const { time_s, tolerance } of [...points].sort((a, b) => a.time_s - b.time_s)) {
    if (tolerance !== null) found[found.length - 1]!.push([time_s, tolerance]);
    else found.push([]);
  }
  return found.filter((run) => run.length > 0);
}
