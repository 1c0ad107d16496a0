/** Simple laws laid through a curve of answers, and whether its bend is more than noise. */
import { Matrix, solve } from 'ml-matrix';

export interface Fit {
  readonly kind: 'line' | 'parabola' | 'exponential';
  /** Line and parabola: coefficients of 1, x, x². Exponential: A and k of A exp(k x). Units follow from x and y. */
  readonly coefficients: readonly number[];
  /** Root mean square of what is left, in y's unit; NaN where the law cannot be fitted. */
  readonly rms: number;
}

export interface Bend {
  /** How far the middle lies above the chord of the ends, by the parabola, in y's unit. */
  readonly height: number;
  readonly verdict: 'real' | 'withinSolver' | 'withinSpread' | 'unknown';
  readonly sentence: string;
}

/** What a payload that a solve finds may be off by, kg. */
export const SOLVER_kg = 0.01;

/**
 * Least squares through points (x, y in any units): a line, a parabola and an exponential (fitted to ln y with weights y², so
 * that what is left is weighed in y's own unit to first order; it needs y above zero). Points that are not finite are left out.
 */
export function fitCurve(allX: readonly number[], allY: readonly number[]): Fit[] {
  const kept = allX
    .map((x, i) => [x, allY[i]!] as const)
    .filter(([x, y]) => Number.isFinite(x) && Number.isFinite(y));
  const xs = kept.map(([x]) => x);
  const ys = kept.map(([, y]) => y);
  const rms = (f: (x: number) => number): number =>
    Math.sqrt(xs.reduce((sum, x, i) => sum + (f(x) - ys[i]!) ** 2, 0) / xs.length);
  const polynomial = (kind: 'line' | 'parabola', degree: number): Fit => {
    const c = leastSquares(
      xs,
      ys,
      degree,
      ys.map(() => 1),
    );
    return {
      kind,
      coefficients: c,
      rms: c.length === 0 ? Number.NaN : rms((x) => c.reduce((sum, a, k) => sum + a * x ** k, 0)),
    };
  };
  const positive = ys.every((y) => y > 0);
  const [lnA, k] = positive ? leastSquares(xs, ys.map(Math.log), 1, ys) : [];
  const exponential: Fit =
    lnA === undefined || k === undefined
      ? { kind: 'exponential', coefficients: [], rms: Number.NaN }
      : { kind: 'exponential', coefficients: [Math.exp(lnA), k], rms: rms((x) => Math.exp(lnA + k * x)) };
  return [polynomial('line', 1), polynomial('parabola', 2), exponential];
}

/** Coefficients of a polynomial by weighted least squares, empty where there are too few points. Units follow from x and y. */
function leastSquares(
  xs: readonly number[],
  ys: readonly number[],
  degree: number,
  weights: readonly number[],
): number[] {
  if (new Set(xs).size <= degree) return [];
  // About the middle and in half-widths, so that the powers are of one size.
  const [low, high] = [Math.min(...xs), Math.max(...xs)];
  const [middle, half] = [0.5 * (low + high), 0.5 * (high - low)];
  const rows = new Matrix(
    xs.map((x, i) => Array.from({ length: degree + 1 }, (_, k) => weights[i]! * ((x - middle) / half) ** k)),
  );
  const c = solve(rows, Matrix.columnVector(ys.map((y, i) => weights[i]! * y)), true).to1DArray();
  const [c0 = 0, c1 = 0, c2 = 0] = c;
  const [b1, b2] = [c1 / half, c2 / half ** 2];
  return [c0 - b1 * middle + b2 * middle ** 2, b1 - 2 * b2 * middle, b2].slice(0, degree + 1);
}

/**
 * The bend's height as a weighted sum of the ordinates at these places (any unit): weights for `bendOf`'s own height, so that
 * each member of a spread can have its own. Dimensionless; empty below three places.
 */
export function bendWeights(xs: readonly number[]): number[] {
  if (new Set(xs).size < 3) return [];
  const half = 0.5 * (Math.max(...xs) - Math.min(...xs));
  const ones = xs.map(() => 1);
  return xs.map((_, i) => {
    const unit = xs.map((__, k) => (k === i ? 1 : 0));
    return -leastSquares(xs, unit, 2, ones)[2]! * half * half;
  });
}

/**
 * Whether a curve bends: the parabola's height over its chord against what a solve may err by (`solver`, y's unit) and, where
 * the members of a spread were solved at these places, against the 5 to 95 % band of their own bends (`bendWeights`). `unit` is
 * y's, for the sentence.
 */
export function bendOf(
  xs: readonly number[],
  ys: readonly number[],
  solver: number,
  band?: { readonly p5: number; readonly p95: number },
  unit = '',
): Bend {
  const of = unit === '' ? '' : ` ${unit}`;
  const parabola = fitCurve(xs, ys)[1]!;
  const curvature = parabola.coefficients[2];
  if (curvature === undefined)
    return {
      height: Number.NaN,
      verdict: 'unknown',
      sentence: 'Three points with an answer are needed to see a bend.',
    };
  const half = 0.5 * (Math.max(...xs) - Math.min(...xs));
  const height = -curvature * half * half;
  const size = `the middle lies ${Math.abs(height).toPrecision(3)}${of} ${height < 0 ? 'below' : 'above'} the chord`;
  if (Math.abs(height) <= solver)
    return {
      height,
      verdict: 'withinSolver',
      sentence: `No bend is seen: ${size}, which a solve may err by (${solver}${of}).`,
    };
  if (band === undefined)
    return {
      height,
      verdict: 'real',
      sentence: `The bend is real for these numbers: ${size}, ${(Math.abs(height) / solver).toPrecision(2)} times what a solve may err by; how uncertain numbers change it was not asked.`,
    };
  const sure = band.p5 > 0 || band.p95 < 0;
  const range = `${band.p5.toPrecision(3)} to ${band.p95.toPrecision(3)}${of}`;
  return sure
    ? {
        height,
        verdict: 'real',
        sentence: `The bend is real: ${size}, and over the members of the spread by ${range} (5 to 95 %).`,
      }
    : {
        height,
        verdict: 'withinSpread',
        sentence: `Whether it bends is not known: ${size}, but over the members of the spread by ${range} (5 to 95 %).`,
      };
}
