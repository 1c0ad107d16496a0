/**
 * Fits a study's steering to a declared insertion and to nothing else: height, space-fixed flight-path angle and heading are
 * met, and what is left free is settled by the earliest insertion, which is the least propellant where a cut waits for a
 * velocity. What the flight does on its way is then a prediction.
 */
import type { CompiledStudy } from '../flight/compile.ts';
import { RECORD_ACCURACY } from '../flight/accuracy.ts';
import { FlightEngine } from '../flight/engine.ts';
import { spaceFixed } from '../flight/space.ts';
import type { NlpProblem } from '../nlp/problem.ts';
import { solveNlp } from '../nlp/sqp.ts';

/** Degrees; the flight-path angle from the geocentric horizon, the heading from north through east, both inertial. */
export interface DeclaredInsertion {
  readonly height_m: number;
  readonly speed_mps: number;
  readonly flightPathAngle_deg: number;
  readonly heading_deg: number;
}

export interface InsertionFit {
  readonly status: 'fitted' | 'notFitted';
  /** One sentence for people. */
  readonly message: string;
  /** Parameter values: SI, radians. Of the last point tried when not fitted, and then no answer. */
  readonly values: Float64Array;
  readonly insertion_s: number;
  /** Largest miss of the conditions, in units of 10 km and 100 m/s across the declared speed. */
  readonly feasibility: number;
  readonly kktResidual: number;
  readonly flights: number;
  readonly reflights: number;
}

const LENGTH_m = 1e4;
const SPEED_mps = 1e2;
/** The objective is the time of insertion in units of this, s. */
const TIME_s = 10;
/** Step of the differences in units of each number's scale: large against rounding, small against curvature. */
const DIFFERENCE = 1e-6;
const FEASIBILITY = 1e-7;
const OPTIMALITY = 1e-5;
const MOST_STEPS = 100;

class InsertionProblem implements NlpProblem {
  readonly equalityCount = 3;
  readonly inequalityCount = 0;
  readonly variableCount: number;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  readonly values: Float64Array;
  private readonly here: Float64Array;
  private readonly beside: Float64Array;
  private readonly scales: readonly number[];

  constructor(
    readonly engine: FlightEngine,
    readonly free: readonly number[],
    readonly declared: DeclaredInsertion,
    values: Float64Array,
  ) {
    const { parameters } = engine.compiled;
    this.variableCount = free.length;
    this.scales = free.map((p) => parameters[p]!.scale);
    this.lower = Float64Array.from(free, (p) => parameters[p]!.lower / parameters[p]!.scale);
    this.upper = Float64Array.from(free, (p) => parameters[p]!.upper / parameters[p]!.scale);
    this.values = Float64Array.from(values);
    this.here = new Float64Array(3);
    this.beside = new Float64Array(3);
  }

  variables(): Float64Array {
    return Float64Array.from(this.free, (p, i) => this.values[p]! / this.scales[i]!);
  }

  evaluate(x: Float64Array, constraints: Float64Array): number {
    this.free.forEach((p, i) => (this.values[p] = x[i]! * this.scales[i]!));
    if (this.engine.fly(this.values) !== 'flown') return Number.NaN;
    return this.read(constraints);
  }

  differentiate(_x: Float64Array, gradient: Float64Array, jacobian: Float64Array): boolean {
    const { engine, free, here, beside } = this;
    const { parameters } = engine.compiled;
    const moved = Float64Array.from(this.values);
    // Times of state triggers come out more closely over held steps than in flight: compare like with like.
    const from = Math.min(...free.map((p) => engine.firstSegmentOf(parameters[p]!)));
    if (!engine.refly(moved, from)) return false;
    const objective = this.read(here);
    for (let i = 0; i < free.length; i++) {
      const p = free[i]!;
      const before = moved[p]!;
      moved[p] = before + DIFFERENCE * this.scales[i]!;
      const step = (moved[p] - before) / this.scales[i]!;
      const finite = engine.refly(moved, engine.firstSegmentOf(parameters[p]!));
      moved[p] = before;
      if (!finite) return false;
      gradient[i] = (this.read(beside) - objective) / step;
      for (let k = 0; k < 3; k++) jacobian[k * free.length + i] = (beside[k]! - here[k]!) / step;
    }
    return true;
  }

  /** Writes the conditions' misses; returns the scaled time of insertion. */
  private read(out: Float64Array): number {
    const { engine, declared } = this;
    const state = spaceFixed(engine.end, engine.endTime_s, engine.compiled.study.site);
    const across = (declared.speed_mps * Math.PI) / 180 / SPEED_mps;
    out[0] = (state.height_m - declared.height_m) / LENGTH_m;
    out[1] = (state.flightPathAngle_deg - declared.flightPathAngle_deg) * across;
    const turn = ((state.heading_deg - declared.heading_deg + 540) % 360) - 180;
    out[2] = turn * across;
    return engine.endTime_s / TIME_s;
  }
}

/**
 * Fits the parameters of the given paths, at least three, starting from `start` (SI, radians). See the top of the file.
 * The study's earth should be the ellipsoid, on which the height is declared (m). Throws RangeError for a path that is no
 * free parameter; a fit that does not converge is returned with its reason.
 */
export function fitInsertion(
  compiled: CompiledStudy,
  paths: readonly string[],
  declared: DeclaredInsertion,
  start: Float64Array,
): InsertionFit {
  const free = paths.map((path) => {
    const index = compiled.parameters.findIndex((parameter) => parameter.path === path && parameter.free);
    if (index < 0) {
      const known = compiled.parameters.filter(({ free: yes }) => yes).map((parameter) => parameter.path);
      throw new RangeError(`paths: received ${path}, allowed is one of ${known.join(', ')}`);
    }
    return index;
  });
  if (free.length < 3) throw new RangeError(`paths: received ${free.length} of them, allowed is 3 or more`);
  const engine = new FlightEngine(compiled, RECORD_ACCURACY);
  const problem = new InsertionProblem(engine, free, declared, start);
  const result = solveNlp(problem, problem.variables(), {
    feasibilityTolerance: FEASIBILITY,
    optimalityTolerance: OPTIMALITY,
    maxIterations: MOST_STEPS,
    firstStep: 0.01,
  });
  const values = Float64Array.from(start);
  free.forEach((p, i) => (values[p] = result.x[i]! * compiled.parameters[p]!.scale));
  const fitted = result.stop === 'converged' && engine.fly(values) === 'flown';
  return {
    status: fitted ? 'fitted' : 'notFitted',
    message: result.message,
    values,
    insertion_s: engine.endTime_s,
    feasibility: result.feasibility,
    kktResidual: result.kktResidual,
    flights: engine.flights,
    reflights: engine.reflights,
  };
}
