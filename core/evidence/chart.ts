/** One chart of the report as SVG text: our curve with its band and the published points, and below it the deviations. */
import type { EvidenceChart } from './rows.ts';

const WIDTH = 540;
const LEFT = 56;
const RIGHT = 16;
const TOP = 34;
const MAIN = 190;
const GAP = 40;
const STRIP = 74;
const FOOT = 30;
const HEIGHT = TOP + MAIN + GAP + STRIP + FOOT;

/** Text made safe to stand in HTML and SVG. Unitless. */
export function escaped(text: string): string {
  return text.replace(/[&<>"]/g, (c) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' })[c]!);
}

/** Round steps that part a span (any unit) into about `count`. */
function ticks(low: number, high: number, count: number): number[] {
  const raw = (high - low) / count;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = power * ([1, 2, 5, 10].find((m) => m * power >= 0.75 * raw) ?? 10);
  const found: number[] = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9 * step; k++) found.push(k * step);
  return found;
}

/** The largest round number that is not above a reach (any unit). */
function mark(reach: number): number {
  const power = 10 ** Math.floor(Math.log10(reach));
  return power * ([5, 2, 1].find((m) => m * power <= reach) ?? 1);
}

const label = (value: number): string =>
  String(Number(value.toPrecision(6)))
    .replace('-', '−')
    .replace(/\B(?=(\d{3})+(?!\d))/g, '\u202f');
const at = (value: number): string => value.toFixed(1);

/** The chart as an SVG element; time in seconds along, the chart's own unit up. Its colours are classes of the page. */
export function chartSvg(chart: EvidenceChart): string {
  const { time_s, ours, low, high, points } = chart;
  const start = 0;
  const end = time_s[time_s.length - 1]!;
  const x = (t: number): number => LEFT + ((t - start) / (end - start)) * (WIDTH - LEFT - RIGHT);
  const least = Math.min(0, ...ours, ...low, ...high, ...points.map((point) => point.published));
  const most = Math.max(...ours, ...low, ...high, ...points.map((point) => point.published)) * 1.04;
  const y = (value: number): number => TOP + MAIN - ((value - least) / (most - least)) * MAIN;
  const path = (values: readonly number[]): string =>
    values.map((value, i) => `${i === 0 ? 'M' : 'L'}${at(x(time_s[i]!))} ${at(y(value))}`).join('');
  const back = [...time_s.keys()].reverse().map((i) => `L${at(x(time_s[i]!))} ${at(y(low[i]!))}`);
  const parts = [
    `<text class="name" x="0" y="14">${escaped(chart.title)}, ${escaped(chart.unit)}</text>`,
    ...ticks(least, most, 4).map(
      (v) =>
        `<line class="hair" x1="${LEFT}" x2="${WIDTH - RIGHT}" y1="${at(y(v))}" y2="${at(y(v))}"/>` +
        `<text class="tick" text-anchor="end" x="${LEFT - 8}" y="${at(y(v) + 4)}">${label(v)}</text>`,
    ),
    `<path class="band" d="${path(high)}${back.join('')}Z"/>`,
    `<path class="curve" d="${path(ours)}"/>`,
    ...points.map(
      (point) =>
        `<circle class="ring" cx="${at(x(point.time_s))}" cy="${at(y(point.published))}" r="4">` +
        `<title>${escaped(point.name)}: ${label(point.published)} ${escaped(chart.unit)} published</title></circle>`,
    ),
  ];
  const top = TOP + MAIN + GAP;
  const misses = points.flatMap((point) =>
    [point.ours, point.low, point.high].map((v) => v - point.published),
  );
  const reach = Math.max(1e-9, ...misses.map(Math.abs)) * 1.15;
  const miss = (value: number): number => top + STRIP / 2 - (value / reach) * (STRIP / 2);
  parts.push(
    `<text class="words" x="0" y="${top - 12}">ours less reported, at the reported time, with low and high drag</text>`,
    ...[-mark(reach), 0, mark(reach)].map(
      (v) =>
        `<line class="${v === 0 ? 'zero' : 'hair'}" x1="${LEFT}" x2="${WIDTH - RIGHT}" y1="${at(miss(v))}" y2="${at(miss(v))}"/>` +
        `<text class="tick" text-anchor="end" x="${LEFT - 8}" y="${at(miss(v) + 4)}">${v > 0 ? '+' : ''}${label(v)}</text>`,
    ),
    ...points.map((point) => {
      const place = at(x(point.time_s));
      const [one, other] = [miss(point.low - point.published), miss(point.high - point.published)];
      return (
        `<line class="whisker" x1="${place}" x2="${place}" y1="${at(one)}" y2="${at(other)}"/>` +
        `<circle class="dot" cx="${place}" cy="${at(miss(point.ours - point.published))}" r="3.2"/>`
      );
    }),
    ...ticks(start, end, 7).map(
      (t) =>
        `<line class="tickmark" x1="${at(x(t))}" x2="${at(x(t))}" y1="${top + STRIP}" y2="${top + STRIP + 5}"/>` +
        `<text class="tick" text-anchor="middle" x="${at(x(t))}" y="${top + STRIP + 20}">${label(t)}${t === 0 ? ' s' : ''}</text>`,
    ),
  );
  return (
    `<svg role="img" aria-label="${escaped(chart.title)} against time" viewBox="0 0 ${WIDTH} ${HEIGHT}" ` +
    `width="${WIDTH}" height="${HEIGHT}">${parts.join('')}</svg>`
  );
}
