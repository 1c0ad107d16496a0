/** What a thread of the command does: pieces of a spread or a map, from plain data to plain data. Built as a file of its own. */
import { solveBand, type BandResult, type BandTask } from '../../core/study/numberSweep.ts';
import { MemberSolver, type MemberBatch } from '../../core/study/spread/members.ts';
import type { SpreadPlan } from '../../core/study/spread/plan.ts';

export interface MembersTask {
  readonly plan: SpreadPlan;
  readonly from: number;
  readonly to: number;
}

/** What is compiled once and used for each piece of the same plan. */
let latest: MemberSolver | null = null;

/** Solves the members of one piece. Payloads in kg; see `MemberSolver.solve`. */
export function members({ plan, from, to }: MembersTask): MemberBatch {
  if (latest?.plan.identity !== plan.identity) latest = new MemberSolver(plan);
  const batch = latest.solve(from, to);
  if (batch === null) throw new Error('members: stopped, and nobody asked for it');
  return batch;
}

/** Solves a band of a map. Payloads in kg; see `solveBand`. */
export function band(task: BandTask): BandResult {
  return solveBand(task);
}
