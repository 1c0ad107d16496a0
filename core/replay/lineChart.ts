/** Curves of one quantity against time, with their names, a limit, spans that are named, and the greatest value ringed. */
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
import { overlap, type Box } from './labels.ts';

export interface LineCurve {
  /** Written at the curve's end where there are several. */
  readonly name: string;
  /** The one that is looked at, among several. */
  readonly strong: boolean;
  /** s, not falling. */
  readonly times_s: ArrayLike<number>;
  /** In the chart's unit. */
  readonly values: ArrayLike<number>;
}

export interface LineChart {
  readonly title: string;
  readonly unit: string;
  /** What the time is counted from, in words: "seconds from release". */
  readonly along: string;
  /** The strong one last, so that it lies on top. At least one, of two points or more. */
  readonly curves: readonly LineCurve[];
  /** In the chart's unit; NaN where nothing is limited. */
  readonly limit: number;
  readonly spans: readonly { readonly name: string; readonly start_s: number; readonly end_s: number }[];
  /** Whether the greatest value is ringed. */
  readonly ringed: boolean;
}

const LEFT = 52;
const RIGHT = 14;
/** Below the title, and below the names of the spans where there are some. */
const TOP = 30;
const NAMED = 20;
const SIZE = 13;

/**
 * The shapes of a chart in a box (px, y down), nought at its floor. `measure` gives the width of words in px at the size of
 * 13 px: names stand where they meet neither each other nor the end of a curve.
 */
export function lineShapes(
  chart: LineChart,
  size: ChartSize,
  measure: (words: string, weight: number) => number,
): ChartShape[] {
  const { curves, limit, spans } = chart;
  const right = size.width - RIGHT;
  const floor = size.height - FOOT;
  const top = TOP + (spans.length > 0 ? NAMED : 0);
  const starts = curves.map(({ times_s }) => times_s[0] ?? 0);
  const ends = curves.map(({ times_s }) => times_s[times_s.length - 1] ?? 0);
  const start = Math.min(...starts);
  const end = Math.max(start + 1e-9, ...ends);
  const x = (t: number): number => round(LEFT + ((t - start) / (end - start)) * (right - LEFT));
  const greatest = Math.max(1e-9, ...curves.map(({ values }) => greatestOf(values).value));
  const most = 1.06 * Math.max(greatest, Number.isFinite(limit) ? limit : 0);
  const y = (value: number): number => round(floor - (value / most) * (floor - top));
  const shapes: ChartShape[] = [
    text('name', 0, 14, `${chart.title}, ${chart.unit}`),
    text('tick', right, 14, chart.along, 'end'),
  ];
  // From the last to the first, each name where its span begins or as far to the left as the next one's needs.
  let room = right;
  for (const span of [...spans].sort((p, q) => q.start_s - p.start_s)) {
    const [from, to] = [x(Math.max(start, span.start_s)), x(Math.min(end, span.end_s))];
    const wide = Math.max(1, to - from);
    const place = Math.max(0, round(Math.min(from, room - measure(span.name, 400))));
    shapes.push(
      drawn('span', `M${from} ${top}h${round(wide)}V${floor}h${round(-wide)}Z`),
      text('tick', place, top - 5, span.name),
    );
    room = place - SIZE;
  }
  for (const v of ticks(0, most, 4))
    shapes.push(
      line(v === 0 ? 'tickmark' : 'hair', LEFT, y(v), right, y(v)),
      text('tick', LEFT - 8, y(v) + 4, label(v), 'end'),
    );
  if (Number.isFinite(limit)) {
    const words = `limit ${label(limit)}`;
    shapes.push(line('bound', LEFT, y(limit), right, y(limit)), text('words', LEFT + 6, y(limit) - 5, words));
  }
  for (const { strong, times_s, values } of curves) {
    const path = Array.from(times_s, (t, i) => `${i === 0 ? 'M' : 'L'}${x(t)} ${y(values[i]!)}`).join('');
    shapes.push(drawn(strong ? 'curve' : 'other', path));
  }
  if (curves.length > 1) shapes.push(...names(curves, x, y, measure));
  if (chart.ringed) {
    const last = curves[curves.length - 1]!;
    const { at, value } = greatestOf(last.values);
    const words = `greatest: ${label(Number(value.toPrecision(3)))} ${chart.unit}`;
    shapes.push({
      tag: 'circle',
      kind: 'ring',
      at: { cx: x(last.times_s[at] ?? start), cy: y(value), r: 3.5 },
      words,
    });
  }
  return [...shapes, ...timeAxis(start, end, size, x)];
}

function greatestOf(values: ArrayLike<number>): { at: number; value: number } {
  let at = 0;
  for (let i = 1; i < values.length; i++) if (values[i]! > values[at]!) at = i;
  return { at, value: values[at] ?? 0 };
}

/** Names to the left of the curves' ends, the strong one's first; those in the way of each other or of an end move up. */
function names(
  curves: readonly LineCurve[],
  x: (t: number) => number,
  y: (value: number) => number,
  measure: (words: string, weight: number) => number,
): ChartShape[] {
  const endOf = ({ times_s, values }: LineCurve): [number, number] => [
    x(times_s[times_s.length - 1]!),
    y(values[values.length - 1]!),
  ];
  const taken = curves.map((curve): Box => {
    const [left, top] = endOf(curve);
    return { left: left - 3, right: left + 3, top: top - 3, bottom: top + 3 };
  });
  return [...curves].reverse().map((curve) => {
    const [end, level] = endOf(curve);
    const right = end - 8;
    const width = measure(curve.name, curve.strong ? 600 : 400);
    const boxAt = (baseline: number): Box => ({
      left: right - width,
      right,
      top: baseline - SIZE + 1,
      bottom: baseline + 4,
    });
    let baseline = level - 2;
    while (taken.some((other) => overlap(boxAt(baseline), other))) baseline -= 2;
    taken.push(boxAt(baseline));
    return text(curve.strong ? 'strong' : 'words', right, baseline, curve.name, 'end');
  });
}
