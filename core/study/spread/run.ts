/** A spread worked through in one place, in steps between which a caller can pause or stop. */
import { headerOf } from './header.ts';
import { MemberSolver } from './members.ts';
import type { SpreadPlan, SpreadProgress } from './plan.ts';
import { SpreadTally } from './tally.ts';

export interface SpreadRange {
  /** The first member. */
  readonly from: number;
  /** One more than the last. */
  readonly to: number;
  readonly stop?: () => boolean;
  /** Members that are solved already, of the same plan: they are not solved again, and the others are added to them. */
  readonly tally?: SpreadTally;
}

/** The runs of members within `from` … before `to` that a tally does not hold yet, in order; indices count from 0. */
export function missingRuns(tally: SpreadTally, from: number, to: number): [number, number][] {
  const runs: [number, number][] = [];
  let at = from;
  for (const run of tally.sums.covered()) {
    if (run.to <= at || run.from >= to) continue;
    if (run.from > at) runs.push([at, run.from]);
    at = Math.max(at, run.to);
  }
  if (at < to) runs.push([at, to]);
  return runs;
}

/**
 * Solves members of a plan one by one and yields after each. What comes back holds the members that were solved before
 * `stop` came true. Quantities in their own units.
 */
export function* spreadSteps(
  plan: SpreadPlan,
  { from, to, stop, tally = new SpreadTally(headerOf(plan)) }: SpreadRange,
): Generator<SpreadProgress, SpreadTally> {
  const solver = new MemberSolver(plan);
  const runs = missingRuns(tally, from, to);
  const left = runs.reduce((sum, [start, end]) => sum + end - start, 0);
  let done = to - from - left;
  for (const [start, end] of runs) {
    for (let member = start; member < end; member++) {
      const batch = solver.solve(member, member + 1, stop);
      if (batch === null) return tally;
      tally.add(batch);
      yield { done: ++done, of: to - from };
    }
  }
  return tally;
}
