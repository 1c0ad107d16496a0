/** A solve under limits: from the answer without them, if need be by tightening them stride by stride. */
import type { CompiledStudy } from '../flight/compile.ts';
import { SOLVE_ACCURACY } from '../flight/accuracy.ts';
import { FlightEngine } from '../flight/engine.ts';
import type { NlpResult } from '../nlp/problem.ts';
import { limitFigure, limitName, readingWords, type LimitOutcome } from './limitOutcome.ts';
import { FlightLimits, type Limit, type Reading } from './limits.ts';
import type { PayloadOptions, PayloadOutcome } from './outcome.ts';
import type { PayloadProblem } from './payloadProblem.ts';

/** Shares of the way from the flight without limits to the limits that are gone in turn when one stride is too long. */
const STRIDES = [0.25, 0.5, 0.75, 1];
/** A limit overstepped by more than this, as a share of it or of 10 km, is not met. */
const MET = 1e-6;

/** Solves with a start and limits; null leaves limits out of account. */
export type LimitedSolve = (options: PayloadOptions, limits: readonly Limit[] | null) => PayloadOutcome;

/** See the top of the file. The outcome is that under the limits, or names the one that cannot be met; SI. */
export function solveLimited(
  compiled: CompiledStudy,
  options: PayloadOptions,
  limits: readonly Limit[],
  solve: LimitedSolve,
): PayloadOutcome {
  const { memory, fromValues, ...others } = options;
  if (fromValues === true) return solve(options, limits);
  if (memory !== undefined) {
    const near = solve({ ...others, memory, fromValues: true }, limits);
    if (near.status === 'converged' || near.status === 'cancelled') return near;
  }
  const free = solve(others, null);
  if (free.status !== 'converged') return free;
  const counts = [free];
  const from = (start: PayloadOutcome, bounds: readonly Limit[]): PayloadOutcome => {
    const found = solve({ ...others, values: start.values, fromValues: true }, bounds);
    counts.push(found);
    return found;
  };
  let answer = from(free, limits);
  if (answer.status === 'notSolved') {
    const open = readLimits(compiled, free.values, limits);
    let start = free;
    for (const share of STRIDES) {
      const bounds = limits.map((limit, i) => between(limit, open[i]!.value, share));
      answer = from(start, bounds);
      if (answer.status !== 'converged') break;
      start = answer;
    }
    if (answer.status === 'notSolved') answer = cannotBeMet(answer, limits, open);
  }
  const total = (key: keyof PayloadOutcome['counts']): number =>
    counts.reduce((sum, each) => sum + each.counts[key], 0);
  return {
    ...answer,
    counts: {
      flights: total('flights'),
      reflights: total('reflights'),
      rightHandSides: total('rightHandSides'),
      iterations: total('iterations'),
    },
  };
}

/** How these limits fare on the flight of these values (SI, radians); empty when it does not come to insertion. */
export function readLimits(
  compiled: CompiledStudy,
  values: Float64Array,
  limits: readonly Limit[],
): readonly Reading[] {
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  if (engine.fly(values) !== 'flown') return [];
  const located = new FlightLimits(engine, limits);
  return located.locate(values) ? located.readings() : [];
}

/** How the limits of a programme fared at its result; `scale_kg` is a unit of its objective. Empty where it has none. */
export function limitOutcomes(
  engine: FlightEngine,
  problem: PayloadProblem,
  result: NlpResult,
  scale_kg: number,
): LimitOutcome[] {
  const { limits } = problem;
  if (limits === null || engine.fly(problem.values) !== 'flown' || !limits.locate(problem.values)) return [];
  const multipliers = result.inequalityMultipliers.subarray(problem.inequalityCount - limits.count);
  const shadow = limits.limits.map(() => 0);
  multipliers.forEach((multiplier, condition) => (shadow[limits.limitOf(condition)]! += multiplier));
  return limits.readings().map((reading, i) => {
    const binds = shadow[i]! > 0 && Math.abs(excess(reading)) < MET;
    return {
      ...reading,
      binds,
      worth_kg: binds ? shadow[i]! * scale_kg * limits.perUnit(reading.limit) : 0,
      words: readingWords(reading),
    };
  });
}

/** By how much a limit is overstepped, as a share of it or of 10 km; negative where it is kept. */
function excess({ limit, value }: Reading): number {
  return limit.kind === 'altitude' ? (limit.value - value) / 1e4 : value / limit.value - 1;
}

/** A limit on the way from what the flight without limits has to what is asked for. */
function between(limit: Limit, open: number, share: number): Limit {
  const kept = excess({ limit, value: open, time_s: Number.NaN }) <= 0;
  return kept ? limit : { ...limit, value: open + share * (limit.value - open) };
}

function cannotBeMet(
  answer: PayloadOutcome,
  limits: readonly Limit[],
  open: readonly Reading[],
): PayloadOutcome {
  // As asked for, not as tightened so far.
  const nearest = answer.limits.map((reading, i) => ({ ...reading, limit: limits[i]! }));
  const over = (readings: readonly Reading[]): Reading[] =>
    readings.filter((reading) => excess(reading) > MET).sort((p, q) => excess(q) - excess(p));
  const worst = over(nearest)[0] ?? over(open)[0];
  if (worst === undefined) return answer;
  const { limit } = worst;
  const asked = `${limitName(limit)} of at ${limit.kind === 'altitude' ? 'least' : 'most'} ${limitFigure(limit, limit.value)}`;
  return {
    ...answer,
    status: 'limitCannotBeMet',
    message:
      `The limit cannot be met: ${asked} (${limit.path}). The orbit is reached without it, and the flight that came nearest to ` +
      `both has ${readingWords(worst)}; ease the limit, or free more steering.`,
  };
}
