/** The most payload with a body's flight home solved in the same problem: the ascent gives way to the return where that pays. */
import { PAYLOAD, type CompiledStudy } from '../flight/compile.ts';
import { SOLVE_ACCURACY, type Accuracy } from '../flight/accuracy.ts';
import { FlightEngine } from '../flight/engine.ts';
import type { NlpResult, WarmStart } from '../nlp/problem.ts';
import { SqpSolver } from '../nlp/sqp.ts';
import { compileReturn, type CompiledReturn } from '../recovery/compile.ts';
import { ReturnEngine } from '../recovery/engine.ts';
import { burnedPropellant_kg, endMass_kg } from '../flight/timed.ts';
import { limitOutcomes } from './limitedSolve.ts';
import { limitsOf } from './limits.ts';
import type { PayloadOutcome, SolveCounts } from './outcome.ts';
import { freeParameters } from './payload.ts';
import { PayloadProblem } from './payloadProblem.ts';
import type { ReturnOutcome } from './return.ts';
import { bindings, type Binding } from './returnBinding.ts';
import {
  marginOf,
  reserveIsFree,
  solveInSequence,
  sumCounts,
  type SequenceMemory,
  type SequenceOutcome,
} from './sequenceReturn.ts';
import { TogetherProblem } from './togetherProblem.ts';

/**
 * Target met to 3 cm and 0.3 mm/s, touchdown to 0.6 mm and 30 µm/s: what the steps, chosen anew in each flight, leave of an
 * ascent's noise after the way home is a third of that. The payload is then good to grams.
 */
const FEASIBILITY = 3e-6;
/** Scaled KKT residual; the payload errs with its square. */
const OPTIMALITY = 5e-6;
/** The same noise in the merit. */
const NOISE = 1e-7;
const MOST_STEPS = 200;
/** A solve that gets no further, with a KKT residual below this, is begun again from where it stands, so often. */
const NEAR = 1e-2;
const MOST_AGAIN = 2;
/** What is left at the ground of the noise of steps must be small against the tolerance, though the parting moves too. */
const HOME_ACCURACY: Accuracy = { relative: 1e-10, position_m: 1e-4, speed_mps: 1e-7 };

/** What a neighbouring solve can start from. */
export interface TogetherMemory {
  /** Numbers of ascent (the reserve is the last) and return, SI and radians. */
  readonly values: Float64Array;
  readonly homeValues: Float64Array;
  /** Null where a given reserve was enough, and what one after the other was solved from. */
  readonly warm: WarmStart | null;
  readonly apart: SequenceMemory | null;
}

export interface TogetherOutcome {
  readonly status: 'converged' | 'notSolved' | 'cancelled';
  /** One sentence for people; says what to try when there is no answer. */
  readonly message: string;
  /** What the ascent carries, what the return takes and what is kept for it, kg; NaN without an answer. */
  readonly payload_kg: number;
  readonly used_kg: number;
  readonly reserve_kg: number;
  /** Of the ascent: its values are those of the study with that reserve (see `withReserve`). */
  readonly ascent: PayloadOutcome;
  readonly home: ReturnOutcome | null;
  readonly compiledHome: CompiledReturn | null;
  /** One after the other, where that was solved too. */
  readonly sequence: SequenceOutcome | null;
  /** What a kilogram more of reserve costs, kg of payload; one more that the return takes costs that and the margin's share of it. */
  readonly pricePerKilogram: number;
  readonly kktResidual: number;
  /** Largest residual: 1 is 10 km or 100 m/s at insertion, 200 m or 10 m/s at touchdown, 1 t of reserve, a limit as a whole. */
  readonly feasibility: number;
  readonly counts: SolveCounts;
  readonly memory: TogetherMemory | null;
}

export interface TogetherOptions {
  /** A neighbouring answer; without it the solve is cold, starts one after the other, and needs no guess. */
  readonly memory?: TogetherMemory;
  readonly stop?: () => boolean;
  /**
   * A cold solve goes one after the other only as far as a start needs, where that is not wanted to compare with: its
   * `sequence` is then `near`.
   */
  readonly near?: boolean;
}

/**
 * The most payload (kg) of a study compiled by `compileWithReturn`, or what else its goal is, with the return of an id. A given
 * reserve that is more than the return takes leaves the ascent as it is: that is then the answer. Judged by feasibility and
 * KKT residual alone. Throws PlanError as `compileReturn`.
 */
export function solveTogether(
  compiled: CompiledStudy,
  id: string,
  options: TogetherOptions = {},
): TogetherOutcome {
  const stop = options.stop ?? ((): boolean => false);
  const { memory } = options;
  if (memory?.warm != null) {
    const near = solveFrom(compiled, id, memory, null, stop);
    if (near !== null && near.status !== 'notSolved') return near;
  }
  if (options.near === true) {
    const sequence = solveInSequence(compiled, id, { stop, memory: memory?.apart ?? null, near: true });
    const outcome = fromSequence(compiled, id, sequence, stop);
    if (sequence.status !== 'near' || outcome.status !== 'notSolved') return outcome;
    // It was not near enough.
    return fromSequence(compiled, id, solveInSequence(compiled, id, { stop, memory: sequence.memory }), stop);
  }
  const sequence = solveInSequence(compiled, id, { stop, memory: memory?.apart ?? null });
  return fromSequence(compiled, id, sequence, stop);
}

/** Goes on from what one after the other has come to. */
function fromSequence(
  compiled: CompiledStudy,
  id: string,
  sequence: SequenceOutcome,
  stop: () => boolean,
): TogetherOutcome {
  const { ascent, home, compiledHome, counts } = sequence;
  const enough = sequence.status === 'converged' && !reserveIsFree(compiled, id);
  // A return that falls short of what is given still says where to start.
  if (enough || home?.memory == null || sequence.status === 'cancelled') {
    return {
      status: enough ? 'converged' : sequence.status === 'cancelled' ? 'cancelled' : 'notSolved',
      message: enough ? 'The reserve is enough: the ascent need not give way.' : sequence.message,
      payload_kg: sequence.payload_kg,
      used_kg: sequence.used_kg,
      reserve_kg: sequence.reserve_kg,
      ascent: withoutReserve(ascent),
      home,
      compiledHome,
      sequence,
      pricePerKilogram: 0,
      kktResidual: Math.max(ascent.kktResidual, home?.kktResidual ?? 0),
      feasibility: Math.max(ascent.feasibility, home?.feasibility ?? 0),
      counts,
      memory:
        enough && home !== null
          ? { values: ascent.values, homeValues: home.values, warm: null, apart: sequence.memory }
          : null,
    };
  }
  // The start is the same whether one after the other went on from there or not.
  const end = { values: ascent.values, homeValues: home.memory.values };
  const outcome = solveFrom(compiled, id, { ...(sequence.start ?? end), warm: null }, sequence, stop);
  if (outcome === null) throw new Error('the ascent that the return was solved from does not fly');
  if (outcome.status !== 'notSolved' || sequence.status === 'near' || sequence.start === null) return outcome;
  return solveFrom(compiled, id, { ...end, warm: null }, sequence, stop) ?? outcome;
}

/** Solves from numbers of both. Null when a neighbour's do not fit, or its ascent does not fly. */
function solveFrom(
  compiled: CompiledStudy,
  id: string,
  from: Omit<TogetherMemory, 'apart'>,
  sequence: SequenceOutcome | null,
  stop: () => boolean,
): TogetherOutcome | null {
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  const reserveAt = compiled.parameters.length - 1;
  const values = Float64Array.from(from.values);
  const taken = reserveIsFree(compiled, id);
  if (!taken) values[reserveAt] = compiled.parameters[reserveAt]!.value;
  if (values.length !== compiled.parameters.length || engine.fly(values) !== 'flown') return null;
  const compiledHome = compileReturn(compiled, id, engine.plan);
  if (from.homeValues.length !== compiledHome.numbers.length) return null;
  const homeEngine = new ReturnEngine(compiledHome, HOME_ACCURACY);
  const margin = marginOf(compiled, id);
  const free = freeParameters(compiled);
  if (taken) free.push(reserveAt);
  const homeFree = compiledHome.numbers.flatMap((_, i) => (i === compiledHome.at.reserve ? [] : [i]));
  const ascent = new PayloadProblem(engine, free, values, limitsOf(compiled));
  const problem = new TogetherProblem(ascent, engine, homeEngine, homeFree, from.homeValues, margin);
  const solver = new SqpSolver(problem.variableCount, problem.equalityCount, problem.inequalityCount);
  const { warm } = from;
  const fits = warm?.multipliers.length === problem.equalityCount + problem.inequalityCount;
  const options = {
    feasibilityTolerance: FEASIBILITY,
    optimalityTolerance: OPTIMALITY,
    maxIterations: MOST_STEPS,
    precision: NOISE,
    stop,
  };
  let result = solver.solve(problem, problem.variables(), {
    ...options,
    ...(warm !== null && fits ? { start: warm } : {}),
  });
  for (
    let again = 0;
    again < MOST_AGAIN && result.stop === 'noProgress' && result.kktResidual < NEAR;
    again++
  ) {
    // A curvature learned far away may bar the way.
    const { iterations } = result;
    result = solver.solve(problem, result.x, options);
    result = { ...result, iterations: iterations + result.iterations };
  }
  return outcomeOf(result, problem, engine, homeEngine, sequence);
}

function outcomeOf(
  result: NlpResult,
  problem: TogetherProblem,
  engine: FlightEngine,
  homeEngine: ReturnEngine,
  sequence: SequenceOutcome | null,
): TogetherOutcome {
  const { compiled } = engine;
  const { ascent } = problem;
  const scale_kg = compiled.parameters[PAYLOAD]!.scale;
  problem.evaluate(result.x, new Float64Array(problem.equalityCount + problem.inequalityCount));
  const payload_kg = ascent.values[PAYLOAD]!;
  const converged = result.stop === 'converged' && payload_kg >= 0;
  const status = converged ? 'converged' : result.stop === 'cancelled' ? 'cancelled' : 'notSolved';
  const { at, numbers } = homeEngine.compiled;
  const own = ascent.inequalityCount;
  const price = result.inequalityMultipliers[own]! * (scale_kg / numbers[at.reserve]!.scale);
  const message =
    result.stop === 'converged' && payload_kg < 0
      ? `With this return the vehicle falls short of the orbit: its best flight gets there ${(-payload_kg).toFixed(0)} kg lighter at insertion; land downrange, stage lower or slower, or give the return more engines or room in its limits.`
      : converged || status === 'cancelled'
        ? result.message
        : `${result.message} Try the return alone first, another place, or more room in its limits.`;
  const counts: SolveCounts = {
    flights: engine.flights + homeEngine.flights,
    reflights: engine.reflights + homeEngine.reflights,
    rightHandSides: engine.driver.stepper.evaluations + homeEngine.driver.stepper.evaluations,
    iterations: result.iterations,
  };
  const values = Float64Array.from(ascent.values);
  const common = { message, kktResidual: result.kktResidual, feasibility: result.feasibility, counts };
  const answer = (number: number): number => (converged ? number : Number.NaN);
  return {
    ...common,
    status,
    payload_kg: answer(payload_kg),
    used_kg: answer(homeEngine.used_kg),
    reserve_kg: answer(problem.start?.reserve_kg ?? Number.NaN),
    ascent: {
      ...common,
      status,
      payload_kg: answer(payload_kg),
      finalMass_kg: answer(endMass_kg(engine.plan, payload_kg)),
      propellant_kg: answer(burnedPropellant_kg(engine.plan)),
      limits: converged ? limitOutcomes(engine, ascent, ownResult(result, problem), scale_kg) : [],
      values: values.slice(0, -1),
      free: freeParameters(compiled),
      multipliers_kg: Float64Array.from(
        result.equalityMultipliers.subarray(0, ascent.equalityCount),
        (m) => -m * scale_kg,
      ),
      memory: null,
    },
    home:
      problem.start === null
        ? null
        : {
            ...common,
            status,
            used_kg: answer(homeEngine.used_kg),
            reserve_kg: problem.homeValues[at.reserve]!,
            kept_kg: problem.homeValues[at.reserve]!,
            values: Float64Array.from(problem.homeValues),
            free: problem.free,
            start: problem.start,
            binding: converged ? homeBindings(result, problem, homeEngine, scale_kg) : [],
            memory: null,
          },
    compiledHome: homeEngine.compiled,
    sequence,
    pricePerKilogram: answer(price),
    counts: sequence === null ? counts : sumCounts([sequence.counts, counts]),
    memory: converged
      ? { values, homeValues: Float64Array.from(problem.homeValues), warm: result.warm, apart: null }
      : null,
  };
}

/** The part of a result that is the ascent's own. */
function ownResult(result: NlpResult, { ascent }: TogetherProblem): NlpResult {
  return {
    ...result,
    inequalityMultipliers: result.inequalityMultipliers.subarray(0, ascent.inequalityCount),
  };
}

/** What holds the return, priced in kg of payload. */
function homeBindings(
  result: NlpResult,
  { ascent, free }: TogetherProblem,
  engine: ReturnEngine,
  scale_kg: number,
): Binding[] {
  const limits = result.inequalityMultipliers.subarray(ascent.inequalityCount + 1);
  const bounds = result.boundMultipliers.subarray(ascent.variableCount);
  return bindings(engine, free, limits, bounds, scale_kg);
}

function withoutReserve(ascent: PayloadOutcome): PayloadOutcome {
  return { ...ascent, values: ascent.values.slice(0, -1), memory: null };
}
