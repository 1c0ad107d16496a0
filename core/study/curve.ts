/** A curve of answers read off both ways, with its band. */
import { MonotoneCubicTable } from '../math/interpolation.ts';
import { findRoot } from '../math/roots.ts';

/** Values at rising places; `low` and `high` bound the band, where there is one. Units are the caller's. */
export interface Curve {
  readonly x: readonly number[];
  readonly y: readonly number[];
  readonly low?: readonly number[];
  readonly high?: readonly number[];
}

/** A reading and the ends of its band, NaN where the curve does not come there. */
export interface Reading {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/** The curve's value at x, by monotone cubics between its points; NaN beyond its ends. Units as the curve's. */
export function readValue(curve: Curve, x: number): Reading {
  const at = (ys: readonly number[] | undefined): number =>
    ys === undefined ? Number.NaN : valueOn(curve.x, ys, x);
  return { value: at(curve.y), low: at(curve.low), high: at(curve.high) };
}

/**
 * The first place at which the curve has the value y, and those at which the edges of its band have it, the lesser first; NaN
 * where one never does. Units as the curve's.
 */
export function readPlace(curve: Curve, y: number): Reading {
  const at = (ys: readonly number[] | undefined): number =>
    ys === undefined ? Number.NaN : placeOn(curve.x, ys, y);
  const ends = [at(curve.low), at(curve.high)].sort((a, b) => a - b);
  return { value: at(curve.y), low: ends[0]!, high: ends[1]! };
}

function solvedOnly(xs: readonly number[], ys: readonly number[]): [number[], number[]] {
  const kept = xs.flatMap((x, i) => (Number.isFinite(ys[i]) ? [[x, ys[i]!] as const] : []));
  kept.sort((p, q) => p[0] - q[0]);
  return [kept.map(([x]) => x), kept.map(([, y]) => y)];
}

/**
 * Monotone cubics through solved points. The table levels out in its end intervals, as is right for what is constant beyond
 * them; a curve of answers is not, so a node is put before and behind, on the parabola through the three at that end.
 */
function tableOf(xs: readonly number[], ys: readonly number[]): MonotoneCubicTable {
  const before = beyond(xs, ys, [0, 1, 2]);
  const n = xs.length;
  const behind = beyond(xs, ys, [n - 1, n - 2, n - 3]);
  return new MonotoneCubicTable([before[0], ...xs, behind[0]], [before[1], ...ys, behind[1]]);
}

/** The node beyond an end, as far out as the next one is in; with two points on their line. */
function beyond(
  xs: readonly number[],
  ys: readonly number[],
  [i, j, k]: readonly [number, number, number],
): [number, number] {
  const [x0, x1, y0, y1] = [xs[i]!, xs[j]!, ys[i]!, ys[j]!];
  const x = 2 * x0 - x1;
  const slope = (y1 - y0) / (x1 - x0);
  const [x2, y2] = [xs[k], ys[k]];
  const second = x2 === undefined || y2 === undefined ? 0 : ((y2 - y1) / (x2 - x1) - slope) / (x2 - x0);
  // Newton's form through the three.
  return [x, y0 + slope * (x - x0) + second * (x - x0) * (x - x1)];
}

function valueOn(allXs: readonly number[], allYs: readonly number[], x: number): number {
  const [xs, ys] = solvedOnly(allXs, allYs);
  if (xs.length === 0 || x < xs[0]! || x > xs[xs.length - 1]!) return Number.NaN;
  const at = xs.indexOf(x);
  if (at >= 0) return ys[at]!;
  const table = tableOf(xs, ys);
  return table.evaluate(x, table.pieceAt(x));
}

function placeOn(allXs: readonly number[], allYs: readonly number[], y: number): number {
  const [xs, ys] = solvedOnly(allXs, allYs);
  for (let i = 1; i < xs.length; i++) {
    const [a, b] = [ys[i - 1]! - y, ys[i]! - y];
    if (a === 0) return xs[i - 1]!;
    if (b === 0) return xs[i]!;
    if (a > 0 !== b > 0) {
      const table = tableOf(xs, ys);
      return findRoot(
        (x) => table.evaluate(x, i + 1) - y,
        xs[i - 1]!,
        xs[i]!,
        1e-9 * (xs[i]! - xs[i - 1]!),
        a,
        b,
      );
    }
  }
  return Number.NaN;
}
