/** What charts are made of: plain shapes of SVG, ticks at round numbers, and figures for them. */

/** An element of SVG: `kind` says how it is to look, by the style sheet of whoever shows it. */
export interface ChartShape {
  readonly tag: 'line' | 'path' | 'circle' | 'text';
  readonly kind: string;
  readonly at: Readonly<Record<string, string | number>>;
  /** Of a text, and the words that a pointer brings up at another shape. */
  readonly words?: string;
}

/** Both in px. */
export interface ChartSize {
  readonly width: number;
  readonly height: number;
}

/** Below the floor of a chart stands its axis of time, px. */
export const FOOT = 28;

/** Round steps that part a span (any unit) into about `count`. */
export function ticks(low: number, high: number, count: number): number[] {
  if (!(high > low)) return [low];
  const raw = (high - low) / count;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = power * ([1, 2, 5, 10].find((m) => m * power >= 0.75 * raw) ?? 10);
  const found: number[] = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9 * step; k++) found.push(k * step);
  return found;
}

/** A figure for an axis, its thousands parted. Unitless. */
export const label = (value: number): string => {
  const text = String(Number(value.toPrecision(6))).replace('-', '−');
  const [whole, rest] = text.split('.');
  const parted = whole!.replace(/\B(?=(\d{3})+(?!\d))/g, '\u202f');
  return rest === undefined ? parted : `${parted}.${rest}`;
};
/** A length in the picture, to a tenth, which is fine enough. Unitless. */
export const round = (value: number): number => Math.round(value * 10) / 10;

/** The axis of time at the foot of a chart from start to end (s), `x` its scale to px; the unit's word stands at its last figure. */
export function timeAxis(
  start: number,
  end: number,
  size: ChartSize,
  x: (t: number) => number,
  unit = 's',
): ChartShape[] {
  const floor = size.height - FOOT;
  const marks = ticks(start, end, size.width / 80);
  return marks.flatMap((t, i) => [
    line('tickmark', x(t), floor, x(t), floor + 5),
    text('tick', x(t), floor + 20, `${label(t)}${i === marks.length - 1 ? ` ${unit}` : ''}`, 'middle'),
  ]);
}

/** A straight line between two points of the picture. Unitless. */
export const line = (kind: string, x1: number, y1: number, x2: number, y2: number): ChartShape => ({
  tag: 'line',
  kind,
  at: { x1, y1, x2, y2 },
});
/** A path as SVG writes it. Unitless. */
export const drawn = (kind: string, d: string): ChartShape => ({ tag: 'path', kind, at: { d } });
/** Words at a place of the picture, which is where they start unless they are anchored elsewhere. Unitless. */
export const text = (kind: string, x: number, y: number, words: string, anchor = 'start'): ChartShape => ({
  tag: 'text',
  kind,
  at: { x, y, 'text-anchor': anchor },
  words,
});
