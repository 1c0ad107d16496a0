/** What a solve is asked and what it hands back. */
import type { WarmStart } from '../nlp/problem.ts';
import type { LimitOutcome } from './limitOutcome.ts';

export type PayloadStatus =
  | 'converged'
  /** The empty vehicle cannot reach the orbit. */
  | 'cannotReachOrbit'
  | 'cannotLiftOff'
  /** The orbit can be reached, but not within the study's limits. */
  | 'limitCannotBeMet'
  /** It may have an answer; none was found. */
  | 'notSolved'
  | 'cancelled';

export interface SolveCounts {
  /** Flights with step-size control, flights over held steps, right-hand sides, steps of the programme. */
  readonly flights: number;
  readonly reflights: number;
  readonly rightHandSides: number;
  readonly iterations: number;
}

/** What a neighbouring solve can start from. */
export interface SolveMemory {
  readonly values: Float64Array;
  readonly free: readonly number[];
  readonly warm: WarmStart;
  /** Where a return was solved in the same problem: which, and its numbers. `values` then end with what is kept for it. */
  readonly coupled?: { readonly plan: string; readonly homeValues: Float64Array };
}

export interface PayloadOutcome {
  readonly status: PayloadStatus;
  /** One sentence for people; says what to try when not converged. */
  readonly message: string;
  /** kg; NaN unless converged. */
  readonly payload_kg: number;
  /** At insertion, payload included, and propellant burned on the way, kg; NaN unless converged. */
  readonly finalMass_kg: number;
  readonly propellant_kg: number;
  /** How the study's limits fared; empty unless converged under limits. */
  readonly limits: readonly LimitOutcome[];
  /** Parameter values, SI and radians; those tried last when not converged. */
  readonly values: Float64Array;
  /** Indices of the parameters solved for. */
  readonly free: readonly number[];
  /**
   * What the goal gains per unit of residual of each condition of the target, kg: dPayload/d(residual) as a rule (see
   * `OrbitTarget`).
   */
  readonly multipliers_kg: Float64Array;
  readonly kktResidual: number;
  /** Largest residual of the target: 1 is 10 km or 100 m/s. */
  readonly feasibility: number;
  readonly counts: SolveCounts;
  readonly memory: SolveMemory | null;
}

export interface PayloadOptions {
  /** Parameters to solve for; all that are free in the study when left out. */
  readonly free?: readonly number[];
  /** Values of the parameters not solved for, and where a warm solve starts; the study's own when left out. */
  readonly values?: Float64Array;
  /** A neighbouring answer; without it the solve is cold and needs no guess. */
  readonly memory?: SolveMemory;
  /** Start from `values` as they are, without a neighbour's memory and without a cold start. */
  readonly fromValues?: boolean;
  readonly stop?: () => boolean;
}
