/**
 * The answer to a study, by one door: the most payload (or another goal) of its ascent or, where a return that it chooses keeps
 * what it takes, of ascent and return in one problem.
 */
import type { Study } from '../contract/study.ts';
import { compileStudy, recompile, type CompiledStudy } from '../flight/compile.ts';
import { PlanError } from '../flight/planTypes.ts';
import type { CompiledReturn } from '../recovery/compile.ts';
import type { PayloadOutcome, SolveMemory } from './outcome.ts';
import { solvePayload } from './payload.ts';
import type { ReturnOutcome } from './return.ts';
import { compileWithReturn, withReserve } from './sequenceReturn.ts';
import { solveTogether, type TogetherMemory } from './together.ts';

/** The return that an answer was solved with. */
export interface CoupledReturn {
  /** Its id in the study, and its body's. */
  readonly plan: string;
  readonly body: string;
  /** What it takes, and what the body keeps for it: that and a share of it, the margin; kg. */
  readonly used_kg: number;
  readonly reserve_kg: number;
  /** Payload that a kilogram more of reserve costs, kg. */
  readonly pricePerKilogram: number;
  readonly home: CompiledReturn;
  readonly outcome: ReturnOutcome;
}

/** An answer, or why there is none. */
export interface StudyAnswer {
  /** Its numbers are those of `compiled`; its memory starts a neighbour through this door. */
  readonly outcome: PayloadOutcome;
  /** The study as the answer flies it: with what its return takes, where that was solved for. */
  readonly compiled: CompiledStudy;
  /** As it was compiled for the solve. */
  readonly asked: CompiledStudy;
  /** Null where the ascent was solved alone, or there is no answer. */
  readonly coupled: CoupledReturn | null;
}

export interface AnswerOptions {
  /** A neighbouring answer; without it, or with one of another kind, the solve is cold and needs no guess. */
  readonly memory?: SolveMemory;
  /** Start from these numbers instead (SI, radians), in the memory's order; with `fromValues` from nowhere else. */
  readonly values?: Float64Array;
  readonly fromValues?: boolean;
  readonly stop?: () => boolean;
}

/**
 * Id of the return that a study is answered with: the chosen one whose reserve is `taken`; null when there is none. Throws
 * PlanError when there are two. Unitless.
 */
export function coupledPlan({ returns }: Study): string | null {
  const taken = (returns?.chosen ?? []).filter((id) => returns!.plans[id]?.reserve.kind === 'taken');
  if (taken.length > 1)
    throw new PlanError(
      'returns.chosen',
      `received ${taken.map((id) => `"${id}"`).join(' and ')}, which both keep what they take; allowed is one of these, the others with a reserve that is given`,
    );
  return taken[0] ?? null;
}

/**
 * Compiles a study for `solveAnswer`; what one compiled before (`like`) has in common with it is not made again. Throws
 * PlanError as `compileStudy` and `compileWithReturn`.
 */
export function compileAnswer(study: Study, like?: CompiledStudy): CompiledStudy {
  const plan = coupledPlan(study);
  if (plan !== null) return compileWithReturn(study, plan, like);
  return like === undefined ? compileStudy(study) : recompile(like, study, like.air, null);
}

/** Paths of the numbers of a study that its solve decides, what is kept for a return among them. Unitless. */
export function solvedPaths({ parameters }: CompiledStudy): string[] {
  return parameters.filter(({ free, kind }) => free || kind === 'reserve').map(({ path }) => path);
}

/** What is kept (kg) for the return of a body that an answer was solved with. */
export interface KeptReserve {
  readonly body: string;
  readonly reserve_kg: number;
}

/** The study that an answer flies: with what is kept for the return that it was solved with, the same where there was none. kg */
export function asAnswered(study: Study, kept: KeptReserve | null): Study {
  return kept === null ? study : withReserve(study, kept.body, kept.reserve_kg);
}

/** Solves a study compiled by `compileAnswer`, from a neighbour's memory or from cold. Payload in kg. */
export function solveAnswer(asked: CompiledStudy, options: AnswerOptions = {}): StudyAnswer {
  const plan = coupledPlan(asked.study);
  const { memory, stop, values, fromValues } = options;
  const stops = stop === undefined ? {} : { stop };
  if (plan !== null) return solveCoupled(asked, plan, options);
  const own = memory === undefined || memory.coupled !== undefined ? {} : { memory };
  const start = values === undefined ? own : { values, ...(fromValues === true ? { fromValues } : own) };
  return { outcome: solvePayload(asked, { ...start, ...stops }), compiled: asked, asked, coupled: null };
}

function solveCoupled(asked: CompiledStudy, plan: string, options: AnswerOptions): StudyAnswer {
  const { memory, values, fromValues, stop } = options;
  const from = memory?.coupled?.plan === plan ? startFrom(memory, values, fromValues === true) : undefined;
  const solved = solveTogether(asked, plan, {
    near: true,
    ...(from === undefined ? {} : { memory: from }),
    ...(stop === undefined ? {} : { stop }),
  });
  const { ascent, home, compiledHome, used_kg, reserve_kg, pricePerKilogram, memory: left } = solved;
  const { status, message } = solved;
  const outcome: PayloadOutcome = { ...ascent, status, message, counts: solved.counts, memory: null };
  // One that was begun anew is no answer from these numbers.
  const lost = fromValues === true && solved.sequence !== null;
  if (status !== 'converged' || lost || left?.warm == null || home === null || compiledHome === null) {
    const failed = status === 'converged' ? 'notSolved' : status;
    return {
      outcome: { ...outcome, status: failed, payload_kg: Number.NaN },
      ...{ compiled: recompile(asked, asked.study, asked.air, null), asked, coupled: null },
    };
  }
  const { body } = compiledHome.plan;
  const kept = asAnswered(asked.study, { body, reserve_kg });
  return {
    outcome: {
      ...outcome,
      memory: {
        values: left.values,
        free: [...ascent.free, asked.parameters.length - 1],
        warm: left.warm,
        coupled: { plan, homeValues: left.homeValues },
      },
    },
    compiled: recompile(asked, kept, asked.air, null),
    asked,
    coupled: { plan, body, used_kg, reserve_kg, pricePerKilogram, home: compiledHome, outcome: home },
  };
}

/** What a coupled solve begins with; from bare numbers without a neighbour's multipliers. */
function startFrom(memory: SolveMemory, values: Float64Array | undefined, bare: boolean): TogetherMemory {
  const none = new Float64Array(0);
  return {
    values: values ?? memory.values,
    homeValues: memory.coupled!.homeValues,
    warm: bare ? { multipliers: none, penalties: none, hessian: none } : memory.warm,
    apart: null,
  };
}
