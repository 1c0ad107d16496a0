/**
 * Calibration: inputs of a study fitted to observed points of its flight, each held by how uncertain the study says it is.
 *
 * Least is χ² = Σ((computed − observed)/error)² + Σ((input − nominal)/deviation)², the posterior's maximum when all errors are
 * normal; an input whose spread has ends stays between them. Gauss and Newton's method with the damping of Levenberg and
 * Marquardt; derivatives by central differences. The covariance is the inverse of the normal matrix at the least χ², inputs
 * at an end left out. (A. Tarantola, Inverse Problem Theory, SIAM 2005, section 3.2, from memory.)
 */
import { CholeskyDecomposition, inverse, Matrix } from 'ml-matrix';
import type { Study } from '../../contract/study.ts';
import { compileStudy, recompile, type CompiledStudy } from '../../flight/compile.ts';
import { PlanError } from '../../flight/planTypes.ts';
import { countsWhole, NumberError, numberOf, refusalOf, stepsToNumber, withNumbers } from '../numbers.ts';
import { deviationOf } from '../spread/shapes.ts';
import type { ObservedPoint } from './observed.ts';
import { Observer } from './observer.ts';

/** One input before and after, in the unit of its path's last word. */
export interface CalibratedInput {
  readonly path: string;
  readonly nominal: number;
  /** Standard deviation that the study states, and that the points leave. NaN for an input at an end of its spread. */
  readonly priorDeviation: number;
  readonly value: number;
  readonly deviation: number;
  /** The end of its spread that holds it, or null. */
  readonly heldAt: 'low' | 'high' | null;
}

export interface CalibratedPoint extends ObservedPoint {
  /** Before and after, SI. */
  readonly before: number;
  readonly computed: number;
  /** (computed − observed) / error. */
  readonly residual: number;
}

export interface Calibration {
  readonly status: 'converged' | 'notConverged' | 'notFlown';
  /** One sentence for people. */
  readonly message: string;
  readonly inputs: readonly CalibratedInput[];
  readonly points: readonly CalibratedPoint[];
  /** Of the points, before and after, and of the inputs against their nominals. */
  readonly chiSquareBefore: number;
  readonly chiSquare: number;
  readonly priorChiSquare: number;
  /**
   * (points + inputs) over the number of points: the stated uncertainties count as as many observations as there are inputs.
   * Near 1 when errors are as stated.
   */
  readonly reducedChiSquare: number;
  /** Of the inputs in their order; rows of those held at an end are NaN. Covariance in products of their units. */
  readonly covariance: readonly (readonly number[])[];
  readonly correlation: readonly (readonly number[])[];
  readonly counts: { readonly flights: number; readonly steps: number };
}

export interface CalibrationOptions {
  readonly stop?: () => boolean;
}

const MOST_STEPS = 30;
const MOST_DAMPING = 1e8;
/** Step of the differences in stated deviations: its square is the relative error, rounding is a millionth of it. */
const DIFFERENCE = 1e-2;
/** Converged when the next step is below this share of what is left uncertain. */
const SMALL = 1e-3;

interface Input {
  readonly path: string;
  readonly nominal: number;
  readonly deviation: number;
  /** In deviations from the nominal. */
  readonly low: number;
  readonly high: number;
}

/**
 * Calibrates the inputs at the given paths, each of which has a spread in the study's provenance, against points (SI).
 * Throws NumberError for a path without a number or spread, and for points before the flight or none. What does not converge
 * or cannot be flown is returned with its reason, and its values are then no answer.
 */
export function calibrate(
  study: Study,
  points: readonly ObservedPoint[],
  paths: readonly string[],
  options: CalibrationOptions = {},
): Calibration {
  const steps = calibrationSteps(study, points, paths, options);
  for (;;) {
    const step = steps.next();
    if (step.done === true) return step.value;
  }
}

/** As `calibrate`, telling after each step how many there were, of how many at most. */
export function* calibrationSteps(
  study: Study,
  points: readonly ObservedPoint[],
  paths: readonly string[],
  options: CalibrationOptions = {},
): Generator<{ readonly done: number; readonly of: number }, Calibration> {
  const inputs = readInputs(study, paths);
  if (points.length === 0) throw new NumberError('points: received none, allowed is one or more');
  return yield* new Calibrator(study, points, inputs, options).run();
}

function readInputs(study: Study, paths: readonly string[]): Input[] {
  if (paths.length === 0) throw new NumberError('fit: received no path, allowed is one or more');
  return paths.map((path, i) => {
    const nominal = numberOf(study, path);
    if (paths.indexOf(path) !== i)
      throw new NumberError(`fit: received ${path} again, allowed is each path once`);
    const steps = stepsToNumber(study, path);
    if (countsWhole(study, steps))
      throw new NumberError(`fit: received ${path}, a count, allowed is a number that may be any`);
    const spread = study.provenance[path]?.spread;
    if (spread === undefined || !(spread.high > spread.low)) {
      throw new NumberError(
        `fit: received ${path}, whose provenance states no spread, allowed is a number that has one`,
      );
    }
    const deviation = deviationOf({ ...spread, nominal });
    const ends = spread.shape !== 'normal';
    return {
      path,
      nominal,
      deviation,
      low: ends ? Math.min(0, (spread.low - nominal) / deviation) : -Infinity,
      high: ends ? Math.max(0, (spread.high - nominal) / deviation) : Infinity,
    };
  });
}

class Calibrator {
  private readonly base: CompiledStudy;
  private flights = 0;
  private failure = '';

  constructor(
    private readonly study: Study,
    private readonly points: readonly ObservedPoint[],
    private readonly inputs: readonly Input[],
    private readonly options: CalibrationOptions,
  ) {
    this.base = compileStudy(study);
  }

  *run(): Generator<{ readonly done: number; readonly of: number }, Calibration> {
    const n = this.inputs.length;
    let z = new Float64Array(n);
    const first = this.compute(z);
    if (first === null) return this.failed(z);
    let computed = first;
    let cost = this.cost(computed, z);
    let damping = 0;
    let status: Calibration['status'] = 'notConverged';
    let steps = 0;
    let hessian = this.linearise(z);
    while (hessian !== null && steps < MOST_STEPS && !(this.options.stop?.() ?? false)) {
      const free = this.freeAt(z, computed, hessian.slopes);
      const step = this.step(hessian.slopes, computed, z, free, 0);
      if (free.every((i) => Math.abs(step.move[i]!) < SMALL * step.left[i]!)) {
        status = 'converged';
        break;
      }
      steps += 1;
      yield { done: steps, of: MOST_STEPS };
      let taken = false;
      while (!taken && damping <= MOST_DAMPING) {
        const { move } = damping === 0 ? step : this.step(hessian.slopes, computed, z, free, damping);
        const next = z.map((value, i) => this.within(i, value + move[i]!));
        const there = this.compute(next);
        const then = there === null ? Infinity : this.cost(there, next);
        if (there !== null && then <= cost) {
          taken = true;
          z = next;
          computed = there;
          cost = then;
          damping = damping < 1e-3 ? 0 : damping / 10;
        } else damping = Math.max(1e-3, 10 * damping);
      }
      if (!taken) break;
      hessian = this.linearise(z);
    }
    if (hessian === null) return this.failed(z);
    return this.report(status, steps, z, first, computed, hessian.slopes);
  }

  private within(i: number, z: number): number {
    const { low, high } = this.inputs[i]!;
    return Math.min(high, Math.max(low, z));
  }

  private valueOf(i: number, z: number): number {
    const { nominal, deviation } = this.inputs[i]!;
    return nominal + z * deviation;
  }

  /** The points' quantities where the inputs are z deviations from nominal; null, with a reason, when there is no flight. */
  private compute(z: ArrayLike<number>): Float64Array | null {
    const changes = this.inputs.map(({ path }, i) => ({ path, value: this.valueOf(i, z[i]!) }));
    for (const { path, value } of changes) {
      const refused = refusalOf(this.study, stepsToNumber(this.study, path), value);
      if (refused !== null) return this.refuse(refused);
    }
    let compiled: CompiledStudy;
    try {
      compiled = recompile(this.base, withNumbers(this.study, changes));
    } catch (error) {
      if (error instanceof PlanError) return this.refuse(`${error.message}.`);
      throw error;
    }
    this.flights += 1;
    const observer = Observer.fly(compiled);
    if (typeof observer === 'string') return this.refuse(observer);
    const values = observer.values(this.points);
    return typeof values === 'string' ? this.refuse(values) : values;
  }

  private refuse(why: string): null {
    this.failure = why;
    return null;
  }

  private residuals(computed: Float64Array): Float64Array {
    return computed.map((value, k) => (value - this.points[k]!.value) / this.points[k]!.error);
  }

  private cost(computed: Float64Array, z: Float64Array): number {
    return square(this.residuals(computed)) + square(z);
  }

  /** Slopes of the residuals, point by point and input by input, per stated deviation; null when a neighbour does not fly. */
  private linearise(z: Float64Array): { slopes: Matrix } | null {
    const slopes = Matrix.zeros(this.points.length, z.length);
    for (let i = 0; i < z.length; i++) {
      const [low, high] = [this.within(i, z[i]! - DIFFERENCE), this.within(i, z[i]! + DIFFERENCE)];
      const below = this.compute(z.map((value, j) => (i === j ? low : value)));
      const above = below && this.compute(z.map((value, j) => (i === j ? high : value)));
      if (below === null || above === null) return null;
      for (let k = 0; k < above.length; k++) {
        slopes.set(k, i, (above[k]! - below[k]!) / (high - low) / this.points[k]!.error);
      }
    }
    return { slopes };
  }

  /** Half the gradient of χ². */
  private gradient(slopes: Matrix, computed: Float64Array, z: Float64Array): Float64Array {
    const r = this.residuals(computed);
    return z.map((value, i) => {
      let sum = value;
      for (let k = 0; k < r.length; k++) sum += slopes.get(k, i) * r[k]!;
      return sum;
    });
  }

  /** The inputs that no end of their spread holds. */
  private freeAt(z: Float64Array, computed: Float64Array, slopes: Matrix): number[] {
    const gradient = this.gradient(slopes, computed, z);
    return this.inputs.flatMap(({ low, high }, i) => {
      const held = (z[i]! <= low && gradient[i]! > 0) || (z[i]! >= high && gradient[i]! < 0);
      return held ? [] : [i];
    });
  }

  private normal(slopes: Matrix, free: readonly number[]): Matrix {
    const own = slopes.subMatrixColumn([...free]);
    return own.transpose().mmul(own).add(Matrix.eye(free.length));
  }

  /** The damped step of the free inputs, and the deviations that are left; in stated deviations. */
  private step(
    slopes: Matrix,
    computed: Float64Array,
    z: Float64Array,
    free: readonly number[],
    damping: number,
  ): { move: Float64Array; left: Float64Array } {
    const move = new Float64Array(z.length);
    const left = new Float64Array(z.length);
    if (free.length === 0) return { move, left };
    const gradient = this.gradient(slopes, computed, z);
    const normal = this.normal(slopes, free);
    const damped = normal.clone();
    free.forEach((_, a) => damped.set(a, a, normal.get(a, a) * (1 + damping)));
    const right = Matrix.columnVector(free.map((i) => -gradient[i]!));
    const solved = new CholeskyDecomposition(damped).solve(right);
    const covariance = inverse(normal);
    free.forEach((i, a) => {
      move[i] = solved.get(a, 0);
      left[i] = Math.sqrt(covariance.get(a, a));
    });
    return { move, left };
  }

  private report(
    status: Calibration['status'],
    steps: number,
    z: Float64Array,
    first: Float64Array,
    computed: Float64Array,
    slopes: Matrix,
  ): Calibration {
    const { inputs, points } = this;
    const free = this.freeAt(z, computed, slopes);
    const left = free.length > 0 ? inverse(this.normal(slopes, free)) : Matrix.zeros(0, 0);
    const cell = (i: number, j: number): number => {
      const [a, b] = [free.indexOf(i), free.indexOf(j)];
      return a < 0 || b < 0 ? Number.NaN : left.get(a, b);
    };
    const each = <T>(make: (i: number, j: number) => T): T[][] =>
      inputs.map((_, i) => inputs.map((__, j) => make(i, j)));
    const residual = this.residuals(computed);
    const chiSquare = square(residual);
    const priorChiSquare = square(z);
    const words =
      status === 'converged'
        ? `Converged after ${steps} steps.`
        : this.options.stop?.() === true
          ? 'Cancelled.'
          : `No step lowers the misfit any further, yet it is not at its least (after ${steps} steps); try other inputs or wider spreads.`;
    return {
      status,
      message: words,
      inputs: inputs.map(({ path, nominal, deviation, low }, i) => ({
        path,
        nominal,
        priorDeviation: deviation,
        value: this.valueOf(i, z[i]!),
        deviation: deviation * Math.sqrt(cell(i, i)),
        heldAt: free.includes(i) ? null : z[i]! <= low ? 'low' : 'high',
      })),
      points: points.map((point, k) => ({
        ...point,
        before: first[k]!,
        computed: computed[k]!,
        residual: residual[k]!,
      })),
      chiSquareBefore: square(this.residuals(first)),
      chiSquare,
      priorChiSquare,
      reducedChiSquare: (chiSquare + priorChiSquare) / points.length,
      covariance: each((i, j) => inputs[i]!.deviation * inputs[j]!.deviation * cell(i, j)),
      correlation: each((i, j) => cell(i, j) / Math.sqrt(cell(i, i) * cell(j, j))),
      counts: { flights: this.flights, steps },
    };
  }

  private failed(z: Float64Array): Calibration {
    const nothing = this.inputs.map(() => this.inputs.map(() => Number.NaN));
    return {
      status: 'notFlown',
      message: this.failure,
      inputs: this.inputs.map(({ path, nominal, deviation }, i) => ({
        path,
        nominal,
        priorDeviation: deviation,
        value: this.valueOf(i, z[i]!),
        deviation: Number.NaN,
        heldAt: null,
      })),
      points: [],
      chiSquareBefore: Number.NaN,
      chiSquare: Number.NaN,
      priorChiSquare: Number.NaN,
      reducedChiSquare: Number.NaN,
      covariance: nothing,
      correlation: nothing,
      counts: { flights: this.flights, steps: 0 },
    };
  }
}

function square(values: Float64Array): number {
  return values.reduce((sum, value) => sum + value * value, 0);
}
