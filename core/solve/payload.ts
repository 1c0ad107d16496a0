/** Solves for the most payload that reaches the target orbit with every reserve intact. */
import { AZIMUTH, PAYLOAD, startValues, type CompiledStudy } from '../flight/compile.ts';
import { FlightEngine, SOLVE_ACCURACY } from '../flight/engine.ts';
import type { NlpResult, WarmStart } from '../nlp/problem.ts';
import { SqpSolver } from '../nlp/sqp.ts';
import { coldStarts, emptyIdealVelocity_mps } from './coldStart.ts';
import { PayloadProblem } from './payloadProblem.ts';
import { OrbitTarget } from './target.ts';

export type PayloadStatus =
  | 'converged'
  /** The empty vehicle cannot reach the orbit. */
  | 'cannotReachOrbit'
  | 'cannotLiftOff'
  /** It may have an answer; none was found. */
  | 'notSolved'
  | 'cancelled';

export interface SolveCounts {
  /** Flights with step-size control, flights over held steps, right-hand sides, steps of the programme. */
  readonly flights: number;
  readonly reflights: number;
  readonly rightHandSides: number;
  readonly iterations: number;
}

/** What a neighbouring solve can start from. */
export interface SolveMemory {
  readonly values: Float64Array;
  readonly free: readonly number[];
  readonly warm: WarmStart;
}

export interface PayloadOutcome {
  readonly status: PayloadStatus;
  /** One sentence for people; says what to try when not converged. */
  readonly message: string;
  /** kg; NaN unless converged. */
  readonly payload_kg: number;
  /** Parameter values, SI and radians; those tried last when not converged. */
  readonly values: Float64Array;
  /** Indices of the parameters solved for. */
  readonly free: readonly number[];
  /** dPayload/d(residual) of each condition of the target, kg per unit residual (see `OrbitTarget`). */
  readonly multipliers_kg: Float64Array;
  readonly kktResidual: number;
  /** Largest residual of the target: 1 is 10 km or 100 m/s. */
  readonly feasibility: number;
  readonly counts: SolveCounts;
  readonly memory: SolveMemory | null;
}

export interface PayloadOptions {
  /** Parameters to solve for; all that are free in the study when left out. */
  readonly free?: readonly number[];
  /** Values of the parameters not solved for, and where a warm solve starts; the study's own when left out. */
  readonly values?: Float64Array;
  /** A neighbouring answer; without it the solve is cold and needs no guess. */
  readonly memory?: SolveMemory;
  /** Start from `values` as they are, without a neighbour's memory and without a cold start. */
  readonly fromValues?: boolean;
  readonly stop?: () => boolean;
}

/** Conditions met to 0.1 mm and 1 µm/s; the payload is then good to grams. */
const FEASIBILITY = 1e-8;
/** Scaled KKT residual; the payload errs with its square. */
const OPTIMALITY = 1e-6;
const MOST_STEPS = 80;

/**
 * The most payload (kg) of a compiled study. Judged by feasibility and KKT residual alone; anything else comes back with
 * a status and a sentence, never as an answer.
 */
export function solvePayload(compiled: CompiledStudy, options: PayloadOptions = {}): PayloadOutcome {
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  const free = options.free ?? freeParameters(compiled);
  const base = Float64Array.from(options.memory?.values ?? options.values ?? startValues(compiled));
  const problem = new PayloadProblem(engine, free, base);
  let iterations = 0;
  const outcome = (status: PayloadStatus, message: string, result: NlpResult | null): PayloadOutcome => {
    if (result !== null) problem.adopt(result.x);
    problem.values[AZIMUTH] = wholeTurn_rad(problem.values[AZIMUTH]!);
    const scale = compiled.parameters[PAYLOAD]!.scale;
    return {
      status,
      message,
      payload_kg: status === 'converged' ? problem.values[PAYLOAD]! : Number.NaN,
      values: Float64Array.from(problem.values),
      free,
      multipliers_kg: Float64Array.from(result?.equalityMultipliers ?? [], (m) => -m * scale),
      kktResidual: result?.kktResidual ?? Number.NaN,
      feasibility: result?.feasibility ?? Number.NaN,
      counts: {
        flights: engine.flights,
        reflights: engine.reflights,
        rightHandSides: engine.driver.stepper.evaluations,
        iterations,
      },
      memory:
        status === 'converged' && result !== null
          ? { values: Float64Array.from(problem.values), free, warm: result.warm }
          : null,
    };
  };
  if (problem.variableCount < problem.equalityCount) {
    return outcome(
      'notSolved',
      `The target asks for ${problem.equalityCount} conditions and the study leaves ${problem.variableCount} numbers free; free more steering.`,
      null,
    );
  }
  const solver = new SqpSolver(problem.variableCount, problem.equalityCount, 0);
  const attempt = (values: Float64Array, warm?: WarmStart): NlpResult => {
    problem.values.set(values);
    const result = solver.solve(problem, problem.variables(), {
      feasibilityTolerance: FEASIBILITY,
      optimalityTolerance: OPTIMALITY,
      maxIterations: MOST_STEPS,
      ...(warm === undefined ? {} : { start: warm }),
      ...(options.stop === undefined ? {} : { stop: options.stop }),
    });
    iterations += result.iterations;
    return result;
  };
  const { memory } = options;
  if (memory !== undefined || options.fromValues === true) {
    const same =
      memory !== undefined &&
      memory.free.length === free.length &&
      memory.free.every((p, i) => p === free[i]);
    const result = attempt(base, same ? memory.warm : undefined);
    if (result.stop === 'converged') return outcome('converged', result.message, result);
    if (result.stop === 'cancelled') return outcome('cancelled', result.message, result);
    if (options.fromValues === true) return outcome('notSolved', result.message, result);
  }
  let last: NlpResult | null = null;
  const starts = coldStarts(engine, free, base, 1, options.stop);
  for (const start of starts) {
    const result = attempt(start.values);
    last = result;
    if (result.stop === 'converged') return outcome('converged', result.message, result);
    if (result.stop === 'cancelled') return outcome('cancelled', result.message, result);
  }
  if (options.stop?.() === true) return outcome('cancelled', 'Cancelled before an answer was found.', last);
  if (engine.status.code === 'cannotLiftOff') {
    // Its own weight, not that of the payloads tried, must be too much.
    const empty = Float64Array.from(base);
    empty[PAYLOAD] = 0;
    if (engine.fly(empty) === 'cannotLiftOff') return outcome('cannotLiftOff', engine.status.message, last);
  }
  const target = new OrbitTarget(compiled.study.target);
  const ideal = emptyIdealVelocity_mps(compiled);
  if (ideal < target.speed_mps) {
    return outcome(
      'cannotReachOrbit',
      `The empty vehicle has an ideal velocity of ${ideal.toFixed(0)} m/s and the orbit needs ${target.speed_mps.toFixed(0)} m/s before any loss; give it more propellant, less dry mass or a lower orbit.`,
      last,
    );
  }
  return outcome(
    'notSolved',
    last === null
      ? `No flight came to insertion from any start.${lastWords(engine)} Check thrust, masses and the times of the sequence.`
      : `${last.message} Try another kick or upper-stage steering in the study, or a lower orbit.`,
    last,
  );
}

/** The same azimuth from 0 to below a turn, where a study keeps it; rad. One that lies there is left as it is. */
function wholeTurn_rad(azimuth_rad: number): number {
  const turn = 2 * Math.PI;
  return azimuth_rad >= 0 && azimuth_rad <= turn
    ? azimuth_rad
    : azimuth_rad - turn * Math.floor(azimuth_rad / turn);
}

/** What became of the last flight tried, when it failed. */
function lastWords(engine: FlightEngine): string {
  const { code, message } = engine.status;
  return code === 'flown' ? '' : ` The last one: ${message}`;
}

/** Indices of the parameters that the study leaves free. Unitless. */
export function freeParameters(compiled: CompiledStudy): number[] {
  return compiled.parameters.flatMap((parameter, index) => (parameter.free ? [index] : []));
}
