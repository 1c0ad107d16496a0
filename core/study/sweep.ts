/**
 * The staging question as a curve: the gap is varied and the payload re-solved at each point, in up to three ways of
 * treating the steering.
 */
import type { Study } from '../contract/study.ts';
import { recompile, PAYLOAD, type CompiledStudy } from '../flight/compile.ts';
import { recordFlight } from '../flight/record.ts';
import type { Ledger } from '../flight/ledger.ts';
import {
  asAnswered,
  compileAnswer,
  solveAnswer,
  type CoupledReturn,
  type StudyAnswer,
} from '../solve/answer.ts';
import { freeParameters, solvePayload, type PayloadOutcome, type SolveMemory } from '../solve/payload.ts';
import { solveOnEnergy } from '../solve/energy.ts';
import { GapError, gapEvent, withGap } from './gap.ts';

/**
 * re-optimised: all steering and payload free, orbit met. held: booster steering as at the reference point, upper-stage
 * law and payload re-solved, orbit met. fixed: all steering as at the reference point, payload closed on orbital energy
 * alone; the target orbit is missed, and the perigee tells by how much. Where a return is solved with the ascent, re-optimised
 * solves both at each point; held and fixed keep what the reference point keeps for it, and no return is solved there.
 */
export type SteeringMode = 'reoptimised' | 'held' | 'fixed';
export const STEERING_MODES: readonly SteeringMode[] = ['reoptimised', 'held', 'fixed'];

export interface SweepPoint {
  readonly mode: SteeringMode;
  readonly gap_s: number;
  /** Between half-thrust points, s. */
  readonly effectiveGap_s: number;
  readonly outcome: PayloadOutcome;
  /** kg; NaN when not converged. */
  readonly payload_kg: number;
  /** Payload over that of the reference point, dimensionless. */
  readonly share: number;
  /** Osculating at insertion, m above the equatorial radius; NaN when not converged. */
  readonly perigee_m: number;
  readonly apogee_m: number;
  /** Null when not converged or not asked for. */
  readonly ledger: Ledger | null;
  /** The return that the point was solved with; null where none was. */
  readonly coupled: CoupledFigures | null;
}

/** What a return takes that was solved with an ascent, and what is kept for it, kg; payload that a kilogram more costs, kg. */
export interface CoupledFigures {
  readonly plan: string;
  readonly body: string;
  readonly used_kg: number;
  readonly reserve_kg: number;
  readonly pricePerKilogram: number;
}

export interface SweepResult {
  readonly reference: {
    readonly gap_s: number;
    readonly outcome: PayloadOutcome;
    readonly coupled: CoupledFigures | null;
  };
  /** By mode in the order asked for, then by gap in the order asked for. */
  readonly points: readonly SweepPoint[];
  readonly cancelled: boolean;
}

export interface SweepOptions {
  readonly gaps_s: readonly number[];
  readonly modes?: readonly SteeringMode[];
  /** The point whose steering is kept in the modes `held` and `fixed`, and whose payload is 100 %. */
  readonly reference_s?: number;
  /** Fly each answer once more with its ledger. */
  readonly ledgers?: boolean;
  /** The gap event to vary; the study's first when left out. */
  readonly event?: string;
  readonly onProgress?: (done: number, of: number) => void;
  readonly stop?: () => boolean;
}

/**
 * Sweeps the gap (s) and re-solves the payload (kg) at each. Points that do not converge are kept with their reason.
 * Throws GapError when the study has no gap to vary, PlanError when a gap cannot be flown.
 */
export function sweepGap(study: Study, options: SweepOptions): SweepResult {
  const steps = sweepSteps(study, options);
  for (;;) {
    const step = steps.next();
    if (step.done === true) return step.value;
    options.onProgress?.(step.value.done, step.value.of);
  }
}

/** Solves done so far and in all; unitless. */
export interface SweepProgress {
  readonly done: number;
  readonly of: number;
}

/**
 * The same sweep in steps, so that a caller with other things to do can pause or stop between two solves. Gaps in seconds,
 * payloads in kg.
 */
export function* sweepSteps(study: Study, options: SweepOptions): Generator<SweepProgress, SweepResult> {
  const event = gapEvent(study, options.event);
  const reference_s = options.reference_s ?? options.gaps_s[0];
  if (reference_s === undefined)
    throw new GapError('gaps_s: received none, allowed is one or more gaps in seconds');
  const modes = options.modes ?? ['reoptimised'];
  const stop = options.stop ?? ((): boolean => false);
  const of = 1 + modes.length * options.gaps_s.length;
  let done = 0;
  const reference = solveAnswer(compileAnswer(withGap(study, event, reference_s)), { stop });
  yield { done: ++done, of };
  const points: SweepPoint[] = [];
  if (reference.outcome.status === 'converged') {
    for (const mode of modes) {
      let { memory } = reference.outcome;
      for (const gap_s of nearestFirst(options.gaps_s, reference_s)) {
        if (stop()) break;
        const answer = solveMode(withGap(study, event, gap_s), mode, reference, memory, event, stop);
        if (answer.outcome.memory !== null) ({ memory } = answer.outcome);
        points.push(measure(answer, event, mode, gap_s, reference.outcome, options.ledgers === true));
        yield { done: ++done, of };
      }
    }
  }
  points.sort(
    (p, q) =>
      modes.indexOf(p.mode) - modes.indexOf(q.mode) ||
      options.gaps_s.indexOf(p.gap_s) - options.gaps_s.indexOf(q.gap_s),
  );
  const { outcome } = reference;
  return {
    reference: { gap_s: reference_s, outcome, coupled: coupledFigures(reference.coupled) },
    points,
    cancelled: stop(),
  };
}

/** What of a coupled return goes into points and files; kg. */
export function coupledFigures(coupled: CoupledReturn | null): CoupledFigures | null {
  if (coupled === null) return null;
  const { plan, body, used_kg, reserve_kg, pricePerKilogram } = coupled;
  return { plan, body, used_kg, reserve_kg, pricePerKilogram };
}

/**
 * Solves a study (one point) in one mode, from a neighbour's memory and against a reference point's answer; gap event by id.
 * Payload in kg. Throws PlanError when it cannot be flown.
 */
export function solveMode(
  study: Study,
  mode: SteeringMode,
  reference: StudyAnswer,
  memory: SolveMemory | null,
  event: string,
  stop: () => boolean,
): StudyAnswer {
  if (mode === 'reoptimised') {
    const carried = memory === null ? {} : { memory };
    return solveAnswer(compileAnswer(study, reference.asked), { ...carried, stop });
  }
  // The steering that is kept knows of no return: it goes with what was kept for one.
  const { outcome, coupled, asked } = reference;
  const compiled = recompile(asked, asAnswered(study, coupled), asked.air, null);
  const alone = (own: PayloadOutcome): StudyAnswer => ({
    ...{ outcome: own, compiled, asked: compiled, coupled: null },
  });
  if (mode === 'fixed')
    return alone(solveOnEnergy(compiled, outcome.values, memory?.values[PAYLOAD] ?? outcome.payload_kg));
  // A coupled memory ends with the reserve.
  const values = Float64Array.from((memory?.values ?? outcome.values).subarray(0, outcome.values.length));
  const free = upperParameters(compiled, event);
  for (let p = 0; p < values.length; p++) if (!free.includes(p)) values[p] = outcome.values[p]!;
  return alone(solvePayload(compiled, { free, values, fromValues: true, stop }));
}

/**
 * Payload and the numbers of laws that start with or after the gap's ignition or the parting that follows, as indices; and
 * the launch azimuth where the target names an inclination, which nothing else could meet. Unitless.
 */
export function upperParameters(compiled: CompiledStudy, event: string): number[] {
  const { events } = compiled.study.sequence;
  const ignition = events.findIndex((e) => e.id === event);
  const time = compiled.plan.eventTimes_s[ignition]!;
  return freeParameters(compiled).filter((index) => {
    const { kind, event: own } = compiled.parameters[index]!;
    if (kind !== 'law') return true;
    // A law that waits for where the vehicle is has no time yet; the sequence's order stands in for it.
    const starts = compiled.plan.eventTimes_s[own]!;
    return Number.isNaN(starts) ? own > ignition : starts >= time;
  });
}

function measure(
  { compiled, outcome, coupled }: StudyAnswer,
  event: string,
  mode: SteeringMode,
  gap_s: number,
  reference: PayloadOutcome,
  withLedger: boolean,
): SweepPoint {
  const { events } = compiled.study.sequence;
  const planned = compiled.plan.gaps.find((gap) => events[gap.event]!.id === event);
  const effectiveGap_s = planned?.effective_s ?? Number.NaN;
  const failed = outcome.status !== 'converged';
  const record = failed || !(withLedger || mode === 'fixed') ? null : recordFlight(compiled, outcome.values);
  const { target } = compiled.study;
  return {
    mode,
    gap_s,
    effectiveGap_s,
    outcome,
    payload_kg: outcome.payload_kg,
    share: outcome.payload_kg / reference.payload_kg,
    perigee_m: failed ? Number.NaN : (record?.orbit?.perigeeHeight_m ?? target.perigee_m),
    apogee_m: failed ? Number.NaN : (record?.orbit?.apogeeHeight_m ?? target.apogee_m),
    ledger: record?.ledger ?? null,
    coupled: coupledFigures(coupled),
  };
}

/** Outward from the reference, so that each solve starts from a neighbour. */
function nearestFirst(gaps_s: readonly number[], reference_s: number): number[] {
  return [...gaps_s].sort((p, q) => Math.abs(p - reference_s) - Math.abs(q - reference_s));
}
