/**
 * What becomes of a return that is solved from cold, and whether that holds: a landing is flown again more finely, and it, what
 * is said to exceed its limits and what is said never to come about are attacked from starts drawn at random.
 */
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { SOLVE_ACCURACY } from '../../core/flight/accuracy.ts';
import type { CompiledReturn } from '../../core/recovery/compile.ts';
import { ReturnEngine } from '../../core/recovery/engine.ts';
import { reviewReturn } from '../../core/recovery/review.ts';
import type { ReturnStart } from '../../core/recovery/start.ts';
import { solveReturn, type ReturnOutcome } from '../../core/solve/return.ts';
import { ReturnSearch } from '../../core/solve/returnSearch.ts';
import { startOfVariation, type Variation } from './returnPlans.ts';

export type ReturnVerdict =
  | 'optimum'
  | 'limits out of reach'
  | 'edge out of reach'
  | 'refused'
  | 'not solved'
  /** The finer flight misses, or breaks a limit. */
  | 'false optimum: not closed'
  /** A start drawn at random came to less. */
  | 'false optimum: improved'
  /** A start drawn at random landed. */
  | 'false out of reach';

export interface ReturnJudgement {
  readonly verdict: ReturnVerdict;
  readonly used_kg: number;
  readonly detail: string;
  readonly flights: number;
}

const CLOSED_m = 5;
const CLOSED_mps = 1;
/** A limit is held to a millionth by the solve, and reviewed with other steps. */
const CLOSED_LIMIT = 1e-4;
const STARTS = 8;
/** Less than what was found by more than this share is an improvement. */
const LESS = 1e-3;

/** Solves the return of a variation from cold and judges the outcome. */
export function judgeReturn(variation: Variation, seed: number): ReturnJudgement {
  const own = startOfVariation(variation);
  if (typeof own === 'string') return { verdict: 'refused', used_kg: Number.NaN, detail: own, flights: 0 };
  const { compiled, start } = own;
  const outcome = solveReturn(compiled, start);
  const told = (verdict: ReturnVerdict, detail: string): ReturnJudgement => ({
    verdict,
    used_kg: outcome.used_kg,
    detail,
    flights: outcome.counts.flights,
  });
  switch (outcome.status) {
    case 'converged': {
      const missed = miss(compiled, start, outcome);
      if (missed !== null) return told('false optimum: not closed', missed);
      const least_kg = leastOf(compiled, start, outcome, seed);
      return least_kg < (1 - LESS) * outcome.used_kg
        ? told('false optimum: improved', `another start came to ${least_kg.toFixed(0)} kg`)
        : told('optimum', '');
    }
    case 'cannotKeepLimits':
    case 'edgeNeverComes': {
      const least_kg = leastOf(compiled, start, outcome, seed);
      // With more than half of its load kept for the way home no ascent is left.
      if (least_kg < 0.5 * compiled.numbers[compiled.at.reserve]!.upper)
        return told('false out of reach', `another start landed with ${least_kg.toFixed(0)} kg`);
      const edge = outcome.status === 'edgeNeverComes';
      return told(edge ? 'edge out of reach' : 'limits out of reach', outcome.message);
    }
    default:
      return told('not solved', outcome.message);
  }
}

/** What the finer flight misses or exceeds, in words; null when nothing. */
function miss(compiled: CompiledReturn, start: ReturnStart, outcome: ReturnOutcome): string | null {
  const review = reviewReturn(compiled, start, outcome.values);
  if (review === null) return 'the finer flight does not come down';
  if (!(review.miss_m < CLOSED_m && review.touchdownSpeed_mps < CLOSED_mps))
    return `the finer flight ends ${review.miss_m} m and ${review.touchdownSpeed_mps} m/s away`;
  const broken = review.peaks.find(({ value, limit }) => value > limit * (1 + CLOSED_LIMIT));
  return broken === undefined ? null : `${broken.kind} comes to ${broken.value} over ${broken.limit}`;
}

/** The least propellant that starts drawn at random come to within the limits, kg; infinite when none lands. */
function leastOf(
  compiled: CompiledReturn,
  start: ReturnStart,
  { values, free }: ReturnOutcome,
  seed: number,
): number {
  const generator = xoroshiro128plus(seed);
  const between = (low: number, high: number): number => low + (high - low) * uniformFloat64(generator);
  const engine = new ReturnEngine(compiled, SOLVE_ACCURACY);
  const { at, numbers, plan } = compiled;
  const margin = plan.reserve.kind === 'taken' ? plan.reserve.margin : 0;
  const search = new ReturnSearch(engine, start, free, values, margin, () => false);
  let least_kg = Number.POSITIVE_INFINITY;
  for (let i = 0; i < STARTS; i++) {
    const from = Float64Array.from(values);
    const set = (number: number, value: number): void => {
      if (number < 0) return;
      from[number] = Math.min(Math.max(value, numbers[number]!.lower), numbers[number]!.upper);
    };
    set(at.reserve, between(50_000, 400_000));
    set(at.boostElevation, between(-0.4, 1.2));
    set(at.boostBurn, values[at.boostBurn]! * between(0.7, 1.4));
    set(at.entryHeight, between(15_000, 70_000));
    set(at.entryBurn, between(0.5, 40));
    set(at.landingHeight, values[at.landingHeight]! * between(0.6, 1.6));
    set(at.landingBurn, values[at.landingBurn]! * between(0.6, 1.6));
    const { result } = search.attempt(from);
    if (result.stop === 'converged')
      least_kg = Math.min(least_kg, result.objective * numbers[at.reserve]!.scale);
  }
  return least_kg;
}
