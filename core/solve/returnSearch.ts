/**
 * A return solved without a neighbour: from several starts, of whose answers the best counts; where none comes to one, the limits
 * are eased as little as can be, which either leads into them or tells by how much they are out of reach.
 */
import type { NlpResult, WarmStart } from '../nlp/problem.ts';
import { SqpSolver } from '../nlp/sqp.ts';
import type { MissedEdge } from '../recovery/edges.ts';
import type { ReturnEngine } from '../recovery/engine.ts';
import type { ReturnStart } from '../recovery/start.ts';
import { returnGuesses, type ReturnGuess } from './returnColdStart.ts';
import { mostExceeded, ReturnProblem, type LimitUse } from './returnProblem.ts';

/** Conditions met to 0.2 mm and 10 µm/s. */
const RETURN_FEASIBILITY = 1e-6;
/** Scaled KKT residual; the propellant errs with its square. */
const RETURN_OPTIMALITY = 1e-4;
/** A flight home reaches the ground with this much noise in its residuals, since its steps are chosen anew each time. */
const NOISE = 1e-8;
const MOST_STEPS = 150;
/** Starts tried at most, and answers that must agree where there may be several optima. */
const MOST_STARTS = 10;
const AGREEING = 2;
/** Where starts are apart by the entry burn, so many of them are tried in any case. */
const MOST_ENTRIES = 4;
/** Shares of what is kept that are tried last. */
const HEAVIER = [1.3, 2, 3, 4];
/** Answers from two starts that agree to this share of the propellant are one. */
const SAME = 1e-4;
/** Starts from which limits are eased at most. */
const MOST_EASED = 3;
/** Residuals beyond this, of 200 m or 10 m/s, are no landing that only just fails. */
const FAR = 1;
/** Limits eased by less than this share are kept. */
const KEPT = 1e-6;

/** A programme's result with the numbers of the return (SI, radians) that it stands for. */
export interface ReturnSolution {
  readonly result: NlpResult;
  readonly values: Float64Array;
}

/** What a search came to. */
export type ReturnFound =
  | { readonly kind: 'converged' | 'cancelled'; readonly solution: ReturnSolution }
  /** A landing that eases the limits: least of all, if that has been found. */
  | { readonly kind: 'limits'; readonly solution: ReturnSolution; readonly least: boolean }
  /** No start had flown; the edge that came nearest, if it was for an edge. */
  | { readonly kind: 'noFlight'; readonly missed: MissedEdge | null }
  | { readonly kind: 'notSolved'; readonly solution: ReturnSolution; readonly missed: MissedEdge | null };

/** Solves one return's programmes, from any start; counts its steps. */
export class ReturnSearch {
  iterations = 0;
  private readonly problems = new Map<LimitUse, { problem: ReturnProblem; solver: SqpSolver }>();

  /** `free` lists indices of numbers; the others stay at `base` (SI, radians). `margin` is a share of what is used. */
  constructor(
    private readonly engine: ReturnEngine,
    private readonly start: ReturnStart,
    private readonly free: readonly number[],
    private readonly base: Float64Array,
    private readonly margin: number,
    private readonly stop: () => boolean,
  ) {}

  /** Solves from numbers (SI, radians), with the limits kept or eased. */
  attempt(values: Float64Array, limits: LimitUse = 'kept', warm?: WarmStart): ReturnSolution {
    const { problem, solver } = this.programme(limits);
    problem.values.set(values);
    // A start that eases the limits as it needs to is judged by its own flight.
    if (limits === 'eased') this.engine.fly(problem.values, this.start);
    const result = solver.solve(problem, problem.variables(), {
      feasibilityTolerance: RETURN_FEASIBILITY,
      optimalityTolerance: RETURN_OPTIMALITY,
      maxIterations: MOST_STEPS,
      precision: NOISE,
      stop: this.stop,
      ...(warm === undefined ? {} : { start: warm }),
    });
    this.iterations += result.iterations;
    problem.adopt(result.x);
    return { result, values: Float64Array.from(problem.values) };
  }

  /** Solves without a neighbour. */
  run(): ReturnFound {
    const { engine, start, base, stop } = this;
    const tried: { from: Float64Array; solution: ReturnSolution }[] = [];
    let best: ReturnSolution | null = null;
    const edge: { missed: MissedEdge | null } = { missed: null };
    const noteMissed = (): void => {
      const found = engine.missed;
      if (found !== null && (edge.missed === null || away(found) < away(edge.missed))) edge.missed = found;
      engine.missed = null;
    };
    engine.missed = null;
    let agreeing = 0;
    const groups = returnGuesses(engine, start, base, stop, noteMissed);
    // Where its start is free and its end is told, an entry burn has optima of its own high and low: all of them are looked at.
    const { at, plan } = engine.compiled;
    const apart = at.entryHeight >= 0 && at.entryBurn < 0;
    // Edges and limits of load have been seen to bring optima of their own; what is without them has one, and its first answer will do.
    const edged = plan.entry !== undefined && (at.entryHeight < 0 || at.entryBurn < 0);
    const enough = edged || plan.limits.load_mps2 !== undefined ? AGREEING : 1;
    const guesses = apart ? inTurn([...groups]) : flat(groups);
    for (const { values } of guesses) {
      if (tried.length >= MOST_STARTS || (agreeing >= enough && (!apart || tried.length >= MOST_ENTRIES)))
        break;
      const solution = this.attempt(values);
      if (solution.result.stop === 'cancelled') return { kind: 'cancelled', solution };
      tried.push({ from: values, solution });
      if (solution.result.stop !== 'converged') continue;
      const before = best?.result.objective ?? Number.POSITIVE_INFINITY;
      const { objective } = solution.result;
      if (Math.abs(objective - before) <= SAME * objective) agreeing += 1;
      else if (objective < before) agreeing = 1;
      if (objective < before) best = solution;
    }
    if (best === null && engine.compiled.plan.reserve.kind === 'taken') {
      // A body that keeps more falls faster: it may come to an edge, and to a burn that lasts, where a lighter one does not.
      for (const share of HEAVIER) {
        const [group = []] = returnGuesses(engine, start, base, stop, noteMissed, [share]);
        for (const { values } of group.slice(0, 2)) {
          const solution = this.attempt(values);
          if (solution.result.stop === 'cancelled') return { kind: 'cancelled', solution };
          tried.push({ from: values, solution });
          const converged = solution.result.stop === 'converged';
          if (converged && !(best !== null && best.result.objective <= solution.result.objective))
            best = solution;
        }
      }
    }
    if (best !== null) return { kind: 'converged', solution: best };
    const nearest = nearestOf(tried.map(({ solution }) => solution));
    if (nearest === null || !Number.isFinite(nearest.result.feasibility))
      return { kind: 'noFlight', missed: edge.missed };
    const eased = this.ease(tried, nearest);
    if (eased !== null) return eased;
    // Far from any landing, with an edge that was not reached on the way: that is why.
    const far = nearest.result.feasibility > FAR;
    return far && edge.missed !== null
      ? { kind: 'noFlight', missed: edge.missed }
      : { kind: 'notSolved', solution: nearest, missed: edge.missed };
  }

  /** Whether limits are what keeps a return from landing; null where it does not land without them either. */
  private ease(
    tried: readonly { from: Float64Array; solution: ReturnSolution }[],
    nearest: ReturnSolution,
  ): ReturnFound | null {
    if (this.engine.peaks.limits.length === 0) return null;
    const starts = [...tried].sort(
      (one, other) => one.solution.result.feasibility - other.solution.result.feasibility,
    );
    let found: { solution: ReturnSolution; share: number; least: boolean } | null = null;
    for (const { from } of starts.slice(0, MOST_EASED)) {
      const solution = this.attempt(from, 'eased');
      const { stop: why, feasibility } = solution.result;
      if (why === 'cancelled') return { kind: 'cancelled', solution: nearest };
      if (!(feasibility <= RETURN_FEASIBILITY) || this.engine.fly(solution.values, this.start) !== 'flown')
        continue;
      const share = mostExceeded(this.engine);
      if (share <= KEPT) {
        const within = this.attempt(solution.values);
        if (within.result.stop === 'converged' || within.result.stop === 'cancelled')
          return { kind: within.result.stop, solution: within };
        continue;
      }
      if (found === null || share < found.share) found = { solution, share, least: why === 'converged' };
    }
    return found === null ? null : { kind: 'limits', solution: found.solution, least: found.least };
  }

  private programme(limits: LimitUse): { problem: ReturnProblem; solver: SqpSolver } {
    const known = this.problems.get(limits);
    if (known !== undefined) return known;
    const { engine, start, free, base, margin } = this;
    const problem = new ReturnProblem(engine, start, free, base, margin, limits);
    const solver = new SqpSolver(problem.variableCount, problem.equalityCount, problem.inequalityCount);
    this.problems.set(limits, { problem, solver });
    return { problem, solver };
  }
}

/** Guesses group by group. */
function* flat(groups: Iterable<readonly ReturnGuess[]>): Generator<ReturnGuess> {
  for (const group of groups) yield* group;
}

/** The first of each group, then the second of each, and so on. */
function* inTurn(groups: readonly (readonly ReturnGuess[])[]): Generator<ReturnGuess> {
  for (let k = 0; groups.some((group) => k < group.length); k++)
    for (const group of groups) if (k < group.length) yield group[k]!;
}

function nearestOf(solutions: readonly ReturnSolution[]): ReturnSolution | null {
  return solutions.reduce<ReturnSolution | null>(
    (best, each) => (best !== null && best.result.feasibility <= each.result.feasibility ? best : each),
    null,
  );
}

/** How far a missed edge was from being reached, as a share of its value. */
function away({ value, least, most }: MissedEdge): number {
  return Math.min(Math.abs(most - value), Math.abs(least - value)) / Math.max(Math.abs(value), 1);
}
