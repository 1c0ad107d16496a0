/** Solves for the flight home that takes least propellant, from the parting of a given ascent. */
import { SOLVE_ACCURACY } from '../flight/accuracy.ts';
import type { NlpResult, WarmStart } from '../nlp/problem.ts';
import type { CompiledReturn } from '../recovery/compile.ts';
import type { MissedEdge } from '../recovery/edges.ts';
import { ReturnEngine } from '../recovery/engine.ts';
import type { ReturnStart } from '../recovery/start.ts';
import { bindings, type Binding } from './returnBinding.ts';
import { cannotHold, plainValues } from './returnColdStart.ts';
import { MISS_m, SPEED_mps } from './returnProblem.ts';
import { ReturnSearch, type ReturnSolution } from './returnSearch.ts';
import { exceededSentence, missedSentence } from './returnWords.ts';
import type { SolveCounts } from './payload.ts';

export type ReturnStatus =
  | 'converged'
  /** It would land, but takes more than the ascent keeps for it; the numbers are those of a reserve that would do. */
  | 'reserveFallsShort'
  /** The landing engines cannot hold the body up. */
  | 'cannotLand'
  /** An edge of the entry burn is never reached. */
  | 'edgeNeverComes'
  /** It lands, but not within its limits. */
  | 'cannotKeepLimits'
  /** It may have an answer; none was found. */
  | 'notSolved'
  | 'cancelled';

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
      message: `${falls}, and no reserve was found that would do from this parting. ${enough.message}`,
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
  const stop = options.stop ?? ((): boolean => false);
  const search = new ReturnSearch(engine, start, free, base, margin, stop);
  const outcome = (
    status: ReturnStatus,
    message: string,
    solution: ReturnSolution | null = null,
  ): ReturnOutcome => {
    const result = solution?.result ?? null;
    const values = solution?.values ?? base;
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
        iterations: search.iterations,
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
    );
  }
  const { memory } = options;
  if (memory?.values.length === base.length) {
    const same = memory.free.length === free.length;
    const values = Float64Array.from(memory.values);
    if (!taken) values[at.reserve] = start.reserve_kg;
    const solution = search.attempt(values, 'kept', same ? memory.warm : undefined);
    const { stop: why, message } = solution.result;
    if (why === 'converged' || why === 'cancelled') return outcome(why, message, solution);
  }
  const found = search.run();
  if (found.kind !== 'converged' && stop())
    return outcome('cancelled', 'Cancelled before an answer was found.');
  switch (found.kind) {
    case 'converged':
    case 'cancelled':
      return outcome(found.kind, found.solution.result.message, found.solution);
    case 'limits':
      return outcome(
        found.least ? 'cannotKeepLimits' : 'notSolved',
        exceeded(engine, start, found.solution, found.least),
        found.solution,
      );
    case 'noFlight':
      return found.missed === null
        ? outcome('notSolved', NO_GUESS)
        : outcome('edgeNeverComes', missedSentence(found.missed));
    case 'notSolved':
      return outcome('notSolved', unsolved(found.solution.result, found.missed), found.solution);
  }
}

/** The worst of what a flight exceeds, in words. */
function exceeded(
  engine: ReturnEngine,
  start: ReturnStart,
  { values }: ReturnSolution,
  least: boolean,
): string {
  engine.fly(values, start);
  const { limits, peaks } = engine.peaks;
  const share = ({ value, limit }: (typeof peaks)[number]): number => value / limits[limit]!.value;
  const worst = peaks.reduce((most, peak) => (share(peak) > share(most) ? peak : most));
  const { kind, value } = limits[worst.limit]!;
  return exceededSentence({ kind, phase: worst.phase, value: worst.value, limit: value, least });
}

const NO_GUESS =
  'No boostback brings the fall near the place, or the landing engines are too weak to stop it; give the burns more engines, or another place.';

function unsolved({ message, feasibility }: NlpResult, missed: MissedEdge | null): string {
  const near = `${(MISS_m * feasibility).toFixed(0)} m, ${(SPEED_mps * feasibility).toFixed(1)} m/s or ${(100 * feasibility).toFixed(1)} % of a limit`;
  const why = missed === null ? message : `On other ways: ${missedSentence(missed)}`;
  return `No landing was found: the nearest is off by ${near}. ${why} Allow more dynamic pressure, heating or load, a longer entry burn, or another place.`;
}
