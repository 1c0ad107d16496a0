/** Solves for the flight home that takes least propellant, from the parting of a given ascent. */
import { SOLVE_ACCURACY } from '../flight/engine.ts';
import type { NlpResult, WarmStart } from '../nlp/problem.ts';
import { SqpSolver } from '../nlp/sqp.ts';
import type { CompiledReturn } from '../recovery/compile.ts';
import { ReturnEngine } from '../recovery/engine.ts';
import type { LimitKind } from '../recovery/peaks.ts';
import type { ReturnPhase } from '../recovery/legs.ts';
import type { ReturnStart } from '../recovery/start.ts';
import { cannotHold, plainValues, returnGuesses } from './returnColdStart.ts';
import { MISS_m, ReturnProblem, SPEED_mps } from './returnProblem.ts';
import type { SolveCounts } from './payload.ts';

export type ReturnStatus =
  | 'converged'
  /** It would land, but takes more than the ascent keeps for it; the numbers are those of a reserve that would do. */
  | 'reserveFallsShort'
  /** The landing engines cannot hold the body up. */
  | 'cannotLand'
  /** It may have an answer; none was found. */
  | 'notSolved'
  | 'cancelled';

/** What keeps a return from taking less. */
export type Binding =
  | {
      readonly kind: LimitKind;
      readonly phase: ReturnPhase;
      readonly value: number;
      readonly multiplier_kg: number;
    }
  | {
      readonly kind: 'number';
      readonly number: number;
      readonly at: 'lower' | 'upper';
      readonly multiplier_kg: number;
    };

export interface ReturnMemory {
  readonly values: Float64Array;
  readonly free: readonly number[];
  readonly warm: WarmStart;
}

export interface ReturnOutcome {
  readonly status: ReturnStatus;
  /** One sentence for people; says what to try when there is no answer. */
  readonly message: string;
  /** Propellant from parting to the end of the last tail-off, kg; NaN without an answer. */
  readonly used_kg: number;
  /** The reserve that the body parts with, kg; that which would do where the kept one falls short. */
  readonly reserve_kg: number;
  /** What the ascent keeps, kg. */
  readonly kept_kg: number;
  /** Numbers of the return, SI and radians; those tried last without an answer. */
  readonly values: Float64Array;
  readonly free: readonly number[];
  readonly start: ReturnStart;
  readonly binding: readonly Binding[];
  readonly kktResidual: number;
  /** Largest residual: 1 is 200 m or 10 m/s, or a limit as a whole. */
  readonly feasibility: number;
  readonly counts: SolveCounts;
  readonly memory: ReturnMemory | null;
}

export interface ReturnOptions {
  /** A neighbouring answer; without it the solve is cold and needs no guess. */
  readonly memory?: ReturnMemory;
  readonly stop?: () => boolean;
}

/** Conditions met to 0.2 mm and 10 µm/s. */
const RETURN_FEASIBILITY = 1e-6;
/** Scaled KKT residual; the propellant errs with its square. */
const RETURN_OPTIMALITY = 1e-4;
/** A flight home reaches the ground with this much noise in its residuals, since its steps are chosen anew each time. */
const NOISE = 1e-8;
const MOST_STEPS = 150;
const MOST_GUESSES = 6;
/** A multiplier below this counts as none, kg per unit. */
const LEAST_MULTIPLIER = 1e-6;

/**
 * The return of least propellant (kg) from a start: with the reserve that the start brings (`given`), or with one that is just
 * what is used and the plan's margin (`taken`), the ascent being as it is. Judged by feasibility and KKT residual alone.
 */
export function solveReturn(
  compiled: CompiledReturn,
  start: ReturnStart,
  options: ReturnOptions = {},
): ReturnOutcome {
  const engine = new ReturnEngine(compiled, SOLVE_ACCURACY);
  const { reserve } = compiled.plan;
  const taken = reserve.kind === 'taken';
  const first = solveWith(engine, start, taken, options);
  if (taken || first.status !== 'converged' || first.used_kg <= start.reserve_kg) return first;
  const { memory: _own, ...cold } = options;
  const enough = solveWith(
    engine,
    start,
    true,
    first.memory === null ? cold : { ...cold, memory: first.memory },
  );
  if (enough.status === 'cancelled') return enough;
  const falls = `The return takes more than is kept for it: ${tonnes(start.reserve_kg)} t`;
  if (enough.status !== 'converged') {
    return {
      ...enough,
      status: 'reserveFallsShort',
      message: `${falls}, and no reserve was found that would do from this parting; stage lower or slower, or land downrange.`,
    };
  }
  return {
    ...enough,
    status: 'reserveFallsShort',
    message: `${falls}, and ${tonnes(enough.reserve_kg)} t would do from this parting; keep more, stage lower or slower, or land downrange.`,
  };
}

const tonnes = (mass_kg: number): string => (mass_kg / 1000).toFixed(1);

function solveWith(
  engine: ReturnEngine,
  start: ReturnStart,
  taken: boolean,
  options: ReturnOptions,
): ReturnOutcome {
  const { compiled } = engine;
  const { at, numbers } = compiled;
  const free = numbers.flatMap((_number, i) => (i === at.reserve && !taken ? [] : [i]));
  const base = plainValues(compiled, start);
  const { reserve } = compiled.plan;
  const margin = reserve.kind === 'taken' ? reserve.margin : 0;
  const problem = new ReturnProblem(engine, start, free, base, margin);
  let iterations = 0;
  const outcome = (status: ReturnStatus, message: string, result: NlpResult | null): ReturnOutcome => {
    if (result !== null) problem.adopt(result.x);
    const values = Float64Array.from(problem.values);
    const answered = status === 'converged';
    // The programme's last point need not be its answer.
    if (answered) engine.fly(values, start);
    return {
      status,
      message,
      used_kg: answered ? engine.used_kg : Number.NaN,
      reserve_kg: values[at.reserve]!,
      kept_kg: start.reserve_kg,
      values,
      free,
      start,
      binding:
        answered && result !== null
          ? bindings(
              engine,
              free,
              result.inequalityMultipliers,
              result.boundMultipliers,
              compiled.numbers[at.reserve]!.scale,
            )
          : [],
      kktResidual: result?.kktResidual ?? Number.NaN,
      feasibility: result?.feasibility ?? Number.NaN,
      counts: {
        flights: engine.flights,
        reflights: engine.reflights,
        rightHandSides: engine.driver.stepper.evaluations,
        iterations,
      },
      memory: answered && result !== null ? { values, free, warm: result.warm } : null,
    };
  };
  const refusal = cannotHold(compiled, start);
  if (refusal !== null) {
    const kilonewtons = (force_N: number): string => (force_N / 1000).toFixed(0);
    const thrust = kilonewtons(refusal.thrust_N);
    const weight = kilonewtons(refusal.weight_N);
    return outcome(
      'cannotLand',
      `The landing engines give ${thrust} kN with their margin and the empty body weighs ${weight} kN; light more of them or hold less back.`,
      null,
    );
  }
  const solver = new SqpSolver(problem.variableCount, problem.equalityCount, problem.inequalityCount);
  const attempt = (values: Float64Array, warm?: WarmStart): NlpResult => {
    problem.values.set(values);
    const result = solver.solve(problem, problem.variables(), {
      feasibilityTolerance: RETURN_FEASIBILITY,
      optimalityTolerance: RETURN_OPTIMALITY,
      maxIterations: MOST_STEPS,
      precision: NOISE,
      ...(warm === undefined ? {} : { start: warm }),
      ...(options.stop === undefined ? {} : { stop: options.stop }),
    });
    iterations += result.iterations;
    return result;
  };
  const { memory } = options;
  if (memory?.values.length === base.length) {
    const same = memory.free.length === free.length;
    const values = Float64Array.from(memory.values);
    if (!taken) values[at.reserve] = start.reserve_kg;
    const result = attempt(values, same ? memory.warm : undefined);
    if (result.stop === 'converged' || result.stop === 'cancelled') {
      return outcome(result.stop, result.message, result);
    }
  }
  let last: NlpResult | null = null;
  let tried = 0;
  for (const guess of returnGuesses(engine, start, base, options.stop)) {
    const result = attempt(guess.values);
    tried += 1;
    if (result.stop === 'converged' || result.stop === 'cancelled') {
      return outcome(result.stop, result.message, result);
    }
    if (last === null || !(result.feasibility >= last.feasibility)) last = result;
    if (tried >= MOST_GUESSES) break;
  }
  if (options.stop?.() === true) return outcome('cancelled', 'Cancelled before an answer was found.', last);
  return outcome(
    'notSolved',
    last === null || !Number.isFinite(last.feasibility) ? NO_GUESS : unsolved(last),
    last,
  );
}

const NO_GUESS =
  'No boostback brings the fall near the place, or the landing engines are too weak to stop it; give the burns more engines, or another place.';

function unsolved({ message, feasibility }: NlpResult): string {
  const near = `${(MISS_m * feasibility).toFixed(0)} m, ${(SPEED_mps * feasibility).toFixed(1)} m/s or ${(100 * feasibility).toFixed(1)} % of a limit`;
  return `No landing was found that keeps the limits: the nearest is off by ${near}. ${message} Allow more dynamic pressure, heating or load, a longer entry burn, or another place.`;
}

/**
 * What holds an answer: limits and bounds with a price. Multipliers are those of the limits and of the free numbers, in units of
 * an objective that counts in `scale` kg.
 */
export function bindings(
  engine: ReturnEngine,
  free: readonly number[],
  limitMultipliers: Float64Array,
  boundMultipliers: Float64Array,
  scale: number,
): Binding[] {
  const found: Binding[] = [];
  engine.peaks.peaks.forEach((peak, i) => {
    const multiplier_kg = limitMultipliers[i]! * scale;
    if (multiplier_kg <= LEAST_MULTIPLIER * scale) return;
    const { kind, value } = engine.peaks.limits[peak.limit]!;
    found.push({ kind, phase: peak.phase, value, multiplier_kg });
  });
  free.forEach((number, i) => {
    const multiplier = boundMultipliers[i]! * scale;
    if (Math.abs(multiplier) <= LEAST_MULTIPLIER * scale) return;
    found.push({
      kind: 'number',
      number,
      at: multiplier > 0 ? 'lower' : 'upper',
      multiplier_kg: Math.abs(multiplier),
    });
  });
  return found;
}
