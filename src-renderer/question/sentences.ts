/** The sweep in sentences: what it says, and why. */
import type { NumberSweep } from '../../core/study/numberSweep.ts';
import type { SweepPoint, SweepResult } from '../../core/study/sweep.ts';
import { fixed } from '../../core/units/figures.ts';

/** Converged points of the re-solved curve in order of gap. */
export function solvedPoints(sweep: SweepResult): SweepPoint[] {
  return sweep.points
    .filter((point) => point.mode === 'reoptimised' && point.outcome.status === 'converged')
    .sort((p, q) => p.gap_s - q.gap_s);
}

/** One sentence on what waiting costs; `band` has in words how sure the cost of ten seconds is, empty when nothing is known. */
export function answerSentence(sweep: SweepResult, band = ''): string {
  const points = solvedPoints(sweep);
  const zero = points.find((p) => p.gap_s === 0);
  const ten = points.find((p) => p.gap_s === 10);
  const last = points[points.length - 1];
  if (zero === undefined || last === undefined || last.gap_s <= 0)
    return 'The sweep has too few solved points to answer.';
  const loss = (p: SweepPoint): string => `${fixed(100 * (1 - p.payload_kg / zero.payload_kg), 1)} %`;
  const first =
    ten === undefined ? '' : `Ten seconds cost ${loss(ten)}${band === '' ? '' : ` (${band})`} of the payload`;
  const rest = last === ten ? '' : `${first === '' ? '' : ', '}${fixed(last.gap_s, 0)} s cost ${loss(last)}`;
  const before = points.filter((p) => p.gap_s < 0);
  const best = before.reduce<SweepPoint | null>(
    (most, p) => (most === null || p.payload_kg > most.payload_kg ? p : most),
    null,
  );
  const overlap =
    best === null
      ? ''
      : best.payload_kg > zero.payload_kg
        ? ` An overlap of ${fixed(-best.gap_s, 1)} s adds ${fixed(100 * (best.payload_kg / zero.payload_kg - 1), 1)} %.`
        : ' An overlap adds nothing.';
  return `${first}${rest}.${overlap}`;
}

/** What a wait costs against none, and what takes it: parts of the velocity ledger in m/s, payload in kg. */
export interface WaitCost {
  readonly wait_s: number;
  readonly gravity_mps: number;
  readonly steering_mps: number;
  /** Drag, back-pressure and centrifugal together. */
  readonly rest_mps: number;
  readonly total_mps: number;
  readonly cost_kg: number;
}

/** The cost of ten seconds, or of the longest gap that was solved; null where the sweep has no two points to compare. */
export function waitCost(sweep: SweepResult): WaitCost | null {
  const points = solvedPoints(sweep);
  const zero = points.find((p) => p.gap_s === 0);
  const later = points.find((p) => p.gap_s === 10) ?? points[points.length - 1];
  if (zero?.ledger == null || later?.ledger == null || later === zero) return null;
  const a = zero.ledger;
  const b = later.ledger;
  const gravity_mps = b.gravity_mps - a.gravity_mps;
  const steering_mps = b.steering_mps - a.steering_mps;
  const rest_mps =
    b.drag_mps + b.backPressure_mps + b.centrifugal_mps - a.drag_mps - a.backPressure_mps - a.centrifugal_mps;
  return {
    ...{ wait_s: later.gap_s, gravity_mps, steering_mps, rest_mps },
    total_mps: gravity_mps + steering_mps + rest_mps,
    cost_kg: zero.payload_kg - later.payload_kg,
  };
}

/** Where the speed went between no gap and ten seconds, and what is held. */
export function whySentence(sweep: SweepResult): string {
  const cost = waitCost(sweep);
  if (cost === null) return '';
  const { wait_s, gravity_mps, steering_mps, rest_mps, total_mps, cost_kg } = cost;
  return (
    `While nothing pushes, gravity goes on pulling. With ${fixed(wait_s, 0)} s of it gravity takes ` +
    `${fixed(gravity_mps, 0, true)} m/s, steering back to the best path ${fixed(steering_mps, 0, true)} m/s and the rest ` +
    `${fixed(rest_mps, 1, true)} m/s: ${fixed(total_mps, 0)} m/s in all, which is ${fixed(cost_kg, 0)} kg, or ` +
    `${fixed(cost_kg / wait_s, 1)} kg for each second. The percentage depends on how small the payload is; ` +
    'the kilograms do so far less.'
  );
}

/** Kilograms for a unit beside the per cent, and why the one depends on the payload and the other does not. */
export function percentSentence(sweep: NumberSweep, size: number, unit: string): string {
  const { value: from, outcome } = sweep.reference;
  const rates = sweep.points
    .filter((p) => Number.isFinite(p.payload_kg) && p.value !== from)
    .map((p) => (size * (p.payload_kg - outcome.payload_kg)) / (p.value - from));
  if (rates.length === 0) return '';
  const [least, most] = [Math.min(...rates), Math.max(...rates)];
  const digits = Math.max(Math.abs(least), Math.abs(most)) < 10 ? 1 : 0;
  const [from_, to_] = [fixed(least, digits, true), fixed(most, digits, true)];
  const range = `${from_ === to_ ? from_ : `${from_} to ${to_}`} kg for 1 ${unit === '' ? 'more' : unit}`;
  return (
    `${range}. The per cent are these kilograms over a payload of ${fixed(outcome.payload_kg / 1000, 1)} t: the payload is what is left of ` +
    'a far heavier stage in orbit, so that the same kilograms are twice the per cent where half as much is carried. Shares ' +
    'are in proportion to the metres per second that each cause takes.'
  );
}
