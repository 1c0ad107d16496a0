/** What the window asks of its compute worker, and what comes back. Plain data, structured cloned. */
import type { Claim } from '../../core/contract/claims.ts';
import type { Study } from '../../core/contract/study.ts';
import type { CloseUpOutcome, CloseUps } from '../../core/replay/film/closeUps.ts';
import type { SettlingTold } from '../../core/replay/settlingTold.ts';
import type { EvidenceReport, Published } from '../../core/evidence/checks.ts';
import type { FlightData } from '../../core/replay/flightData.ts';
import type { HomewardReply } from '../../core/replay/homeward.ts';
import type { KeptReserve } from '../../core/solve/answer.ts';
import type { ReserveVerdict } from '../../core/solve/chosenReturns.ts';
import type { PayloadOutcome, SolveMemory } from '../../core/solve/payload.ts';
import type { Calibration } from '../../core/study/calibration/calibrate.ts';
import type { ObservedPoint } from '../../core/study/calibration/observed.ts';
import type { ObservedFlight } from '../../core/study/calibration/observer.ts';
import type { BreakEven } from '../../core/study/breakEven.ts';
import type { ClaimVerdict } from '../../core/study/claim/judge.ts';
import type { Bend } from '../../core/study/fits.ts';
import type { BreakEven as RingBreakEven, ModeRow } from '../../core/study/modes.ts';
import type { NumberChange } from '../../core/study/numbers.ts';
import type { NumberSweep } from '../../core/study/numberSweep.ts';
import type { ExchangeRate, RatesResult } from '../../core/study/rates.ts';
import type { SpreadSummary } from '../../core/study/spread/summary.ts';
import type { SteeringMode, SweepResult } from '../../core/study/sweep.ts';

export interface SolveRequest {
  readonly study: Study;
  /** A neighbouring answer to start from while the hand moves; left out, the solve is cold and its answer canonical. */
  readonly memory?: SolveMemory;
}

export interface SolveReply {
  readonly outcome: PayloadOutcome;
  /** The flight of the answer; null when there is none. */
  readonly flight: FlightData | null;
  /** Whether each body keeps enough for the return that the study chooses for it; those that do are flown. */
  readonly reserves: readonly ReserveVerdict[];
  /** What the answer keeps for the return that it was solved with; null where the ascent was solved alone. */
  readonly kept: KeptReserve | null;
  /** Payload per second of gap, kg/s; NaN without an answer or a gap, and from a neighbour's memory, where it is not worked out. */
  readonly gapDerivative_kgps: number;
  /** Whether a neighbour's memory was used; such an answer is provisional. */
  readonly warm: boolean;
  /** How the propellant lies before each ignition in flight, for the strands of the braid. */
  readonly settling: readonly SettlingTold[];
}

export interface SweepRequest {
  readonly study: Study;
  readonly gaps_s: readonly number[];
  readonly modes: readonly SteeringMode[];
  readonly reference_s: number;
}

export interface SpreadRequest {
  readonly study: Study;
  /** The event whose gap is varied, and the gaps that every member solves, s; the first is what others are held against. */
  readonly event: string;
  readonly gaps_s: readonly number[];
  /** At least so many; a kept spread that was asked for more goes on to those. */
  readonly members: number;
  readonly seed: number;
  /** Whether the variance is taken apart by input, which costs (k + 2) solves a member and gap instead of one. */
  readonly indices: boolean;
}

/** What a spread that is kept over a reload says of itself. */
export interface Kept {
  /** Members that an earlier page, or an earlier request, had solved. */
  readonly before: number;
  /** Why nothing can be kept; empty when it can. */
  readonly complaint: string;
}

export interface SpreadReply {
  readonly gaps_s: readonly number[];
  readonly summary: SpreadSummary;
  readonly kept: Kept;
  /** Whether the curve from no gap on bends, by the members of the spread; null where too few gaps were drawn. */
  readonly bend: Bend | null;
  /** Paths of the numbers that vary, in the order of the shares. */
  readonly inputs: readonly string[];
}

export interface ClaimRequest {
  readonly study: Study;
  /** Which of the study's claims. */
  readonly claim: string;
  readonly members: number;
  readonly seed: number;
}

export interface ClaimReply {
  readonly claim: Claim;
  readonly verdict: ClaimVerdict;
  readonly summary: SpreadSummary;
  readonly kept: Kept;
}

export interface RatesRequest {
  readonly study: Study;
}

export interface VerifyRequest {
  readonly study: Study;
  readonly path: string;
}

export interface BreakEvenRequest {
  readonly study: Study;
  readonly change: NumberChange;
  readonly against: string;
}

export interface NumberSweepRequest {
  readonly study: Study;
  readonly path: string;
  /** In the number's own unit, and the one whose steering is kept. */
  readonly values: readonly number[];
  readonly reference: number;
  readonly modes: readonly SteeringMode[];
}

export interface ModesRequest {
  readonly study: Study;
}

/** A way of staging as the window shows it. */
export interface ModeReply extends Omit<ModeRow, 'parting' | 'settling' | 'outcome' | 'masses_kg' | 'flown'> {
  readonly masses_kg: readonly (readonly [body: string, mass_kg: number])[];
  /** How the liquid in the tanks lies at ignition; null when nobody knows. */
  readonly propellant: SettlingTold | null;
  /** The parting as a small picture; null when the bodies do not part. */
  readonly picture: CloseUps | null;
  /** Parameter values of the flight, SI and radians; null when none was found. */
  readonly values: Float64Array | null;
  /** Gap between the bodies (m) and its rate (m/s) against the time from release (s); empty when they do not part. */
  readonly apart: readonly { readonly time_s: number; readonly gap_m: number; readonly speed_mps: number }[];
}

export interface ModesReply {
  /** The first is the study's own staging, where it can be told apart from none. */
  readonly rows: readonly ModeReply[];
  readonly breakEven: RingBreakEven | null;
}

/** Views of a parting in the flight of these parameter values. */
export interface CloseUpRequest {
  readonly study: Study;
  readonly values: Float64Array;
  /** The body whose link is undone. */
  readonly link: string;
  /** So many springs or pushers give nothing. */
  readonly failed?: number;
  /** The way of staging (its id in the study) and its gap (s), whose flight the values are; the study's own when left out. */
  readonly way?: { readonly id: string; readonly gap_s: number };
}

/** A return (id) of the study: solved from the answer without it, or with it. */
export interface HomewardRequest {
  readonly study: Study;
  readonly plan: string;
  readonly together: boolean;
}

export interface EvidenceRequest {
  readonly published: Published;
}

export interface ObserveRequest {
  readonly study: Study;
  readonly points: readonly ObservedPoint[];
}

export interface CalibrateRequest extends ObserveRequest {
  readonly paths: readonly string[];
}

export interface CalibrateReply {
  readonly calibration: Calibration;
  /** The flight with what was found; null when nothing was. */
  readonly after: ObservedFlight | null;
}

/** Named methods of the worker. */
export interface ComputeMethods {
  solve: { request: SolveRequest; reply: SolveReply };
  sweep: { request: SweepRequest; reply: SweepResult };
  spread: { request: SpreadRequest; reply: SpreadReply };
  claim: { request: ClaimRequest; reply: ClaimReply };
  rates: { request: RatesRequest; reply: RatesResult };
  /** One rate solved again on both sides; null where the number has none. */
  verifyRate: { request: VerifyRequest; reply: { readonly rate: ExchangeRate | null } };
  breakEven: { request: BreakEvenRequest; reply: BreakEven };
  numberSweep: { request: NumberSweepRequest; reply: NumberSweep };
  modes: { request: ModesRequest; reply: ModesReply };
  evidence: { request: EvidenceRequest; reply: EvidenceReport };
  homeward: { request: HomewardRequest; reply: HomewardReply };
  observe: { request: ObserveRequest; reply: ObservedFlight };
  calibrate: { request: CalibrateRequest; reply: CalibrateReply };
  closeUps: { request: CloseUpRequest; reply: CloseUpOutcome };
}

export type Method = keyof ComputeMethods;

export type ToWorker =
  | { readonly kind: 'call'; readonly id: number; readonly method: Method; readonly request: unknown }
  | { readonly kind: 'cancel'; readonly id: number };

export type FromWorker =
  | { readonly kind: 'reply'; readonly id: number; readonly reply: unknown }
  | { readonly kind: 'progress'; readonly id: number; readonly done: number; readonly of: number }
  | { readonly kind: 'cancelled'; readonly id: number }
  | { readonly kind: 'failed'; readonly id: number; readonly message: string };
