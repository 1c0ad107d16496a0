/** A spread worked through in one place, in steps between which a caller can pause or stop. */
import { headerOf } from './header.ts';
import { MemberSolver } from './members.ts';
import type { SpreadPlan } from './plan.ts';
import { SpreadTally } from './tally.ts';

/** Members done so far and in all; unitless. */
export interface SpreadProgress {
  readonly done: number;
  readonly of: number;
}

export interface SpreadRange {
  /** The first member. */
  readonly from: number;
  /** One more than the last. */
  readonly to: number;
  readonly stop?: () => boolean;
}

/**
 * Solves members of a plan one by one and yields after each. What comes back holds the members that were solved before
 * `stop` came true. Quantities in their own units.
 */
export function* spreadSteps(
  plan: SpreadPlan,
  { from, to, stop }: SpreadRange,
): Generator<SpreadProgress, SpreadTally> {
  const solver = new MemberSolver(plan);
  const tally = new SpreadTally(headerOf(plan));
  for (let member = from; member < to; member++) {
    const batch = solver.solve(member, member + 1, stop);
    if (batch === null) break;
    tally.add(batch);
    yield { done: member + 1 - from, of: to - from };
  }
  return tally;
}
