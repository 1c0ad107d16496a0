/** Members of a spread solved: each from the same inputs in all cases, from its index alone. */
import type { Steps } from '../../contract/places.ts';
import type { Study } from '../../contract/study.ts';
import type { CompiledStudy } from '../../flight/compile.ts';
import { PlanError } from '../../flight/planTypes.ts';
import { SobolPoints } from '../../math/sobol.ts';
import { compileAnswer, solveAnswer } from '../../solve/answer.ts';
import { refusalOf, stepsToNumber, withNumbers, withStep } from '../numbers.ts';
import { drawCount } from './header.ts';
import type { SpreadPlan } from './plan.ts';
import { valueAt } from './shapes.ts';

/** Why a member has no answer in a case: what the solve says, a number out of its range, or a sequence that cannot be flown. */
export interface MemberFailure {
  readonly member: number;
  /** 0 the member itself; with indices 1 the second draw, from 2 on the draws that differ in one input. */
  readonly draw: number;
  readonly case: number;
  readonly status: string;
  readonly message: string;
}

/** Payloads of a run of members, plain data. */
export interface MemberBatch {
  readonly from: number;
  /** One more than the last member. */
  readonly to: number;
  /** kg, member by member, draw by draw, case by case; NaN where there is no answer. */
  readonly payloads_kg: Float64Array;
  readonly failures: readonly MemberFailure[];
}

/** A plan ready to have members solved: what is compiled once and used for each of them. */
export class MemberSolver {
  private readonly points: SobolPoints;
  private readonly steps: readonly Steps[];
  private readonly bases: readonly CompiledStudy[];
  private readonly point: Float64Array;

  constructor(readonly plan: SpreadPlan) {
    const { inputs, study } = plan;
    this.points = new SobolPoints(plan.indices ? 2 * inputs.length : inputs.length, plan.seed);
    this.point = new Float64Array(this.points.dimension);
    this.steps = inputs.map((input) => stepsToNumber(study, input.path));
    this.bases = plan.cases.map((each) => compileAnswer(withNumbers(study, each.changes)));
  }

  /** The numbers that a member's draw gives the inputs, each in its own unit; see `MemberFailure.draw`. */
  valuesOf(member: number, draw = 0): number[] {
    const { inputs } = this.plan;
    this.points.point(member, this.point);
    return inputs.map((input, i) => {
      const second = draw === 1 || draw === i + 2;
      return valueAt(input, this.point[second ? inputs.length + i : i]!);
    });
  }

  /**
   * Solves members from `from` to before `to`; null when `stop` came true meanwhile. Payloads in kg. What has no answer is
   * NaN and among the failures with its reason.
   */
  solve(from: number, to: number, stop: () => boolean = () => false): MemberBatch | null {
    const draws = drawCount(this.plan);
    const { cases } = this.plan;
    const payloads_kg = new Float64Array((to - from) * draws * cases.length);
    const failures: MemberFailure[] = [];
    let at = 0;
    for (let member = from; member < to; member++) {
      for (let draw = 0; draw < draws; draw++) {
        const values = this.valuesOf(member, draw);
        const study = this.studyOf(values);
        for (let c = 0; c < cases.length; c++) {
          if (stop()) return null;
          const solved =
            typeof study === 'string'
              ? { status: 'notAllowed', message: study }
              : this.solveCase(study, c, values, stop);
          if (typeof solved === 'number') payloads_kg[at++] = solved;
          else {
            if (solved.status === 'cancelled') return null;
            payloads_kg[at++] = Number.NaN;
            failures.push({ member, draw, case: c, ...solved });
          }
        }
      }
    }
    return { from, to, payloads_kg, failures };
  }

  /** The study with these numbers, or why its places do not allow one of them. */
  private studyOf(values: readonly number[]): Study | string {
    let { study } = this.plan;
    for (let i = 0; i < values.length; i++) {
      const refused = refusalOf(this.plan.study, this.steps[i]!, values[i]!);
      if (refused !== null) return refused;
      study = withStep(study, this.steps[i]!, values[i]!);
    }
    return study;
  }

  private solveCase(
    study: Study,
    c: number,
    values: readonly number[],
    stop: () => boolean,
  ): number | { status: string; message: string } {
    const { inputs, cases } = this.plan;
    const { start, moves, changes } = cases[c]!;
    // To first order where the answer will be.
    const guess = Float64Array.from(start.values);
    const n = guess.length;
    inputs.forEach((input, i) => {
      const aside = values[i]! - input.nominal;
      for (let p = 0; p < n; p++) guess[p] = guess[p]! + aside * moves[i * n + p]!;
    });
    try {
      const compiled = compileAnswer(withNumbers(study, changes), this.bases[c]);
      const { outcome } = solveAnswer(compiled, { memory: { ...start, values: guess }, stop });
      return outcome.status === 'converged'
        ? outcome.payload_kg
        : { status: outcome.status, message: outcome.message };
    } catch (error) {
      if (error instanceof PlanError) return { status: 'cannotBeFlown', message: `${error.message}.` };
      throw error;
    }
  }
}
