/** `plumeline sweep`: payload against the staging gap, re-solved at every point. */
import { CAUTION } from '../../core/contract/caution.ts';
import { gapDerivative_kgps } from '../../core/study/envelope.ts';
import { gapEvent, withGap } from '../../core/study/gap.ts';
import { asAnswered } from '../../core/solve/answer.ts';
import { sweepCsv } from '../../core/study/sweepCsv.ts';
import { sweepSteps, type SteeringMode, type SweepPoint, type SweepResult } from '../../core/study/sweep.ts';
import { fixed, km } from '../../core/units/figures.ts';
import { EXIT } from './exit.ts';
import type { OpenedStudy } from './openStudy.ts';
import { workThrough } from './progress.ts';
import type { Report } from './report.ts';
import { LOSSES, section, table } from './tables.ts';
import { pause, type Terminal } from './terminal.ts';

export interface SweepRequest {
  readonly gaps_s: readonly number[];
  readonly modes: readonly SteeringMode[];
  readonly reference_s: number;
  readonly event?: string;
}

/** Each mode by what is held. */
const NAMES: Record<SteeringMode, string> = {
  reoptimised: 'All steering re-solved, orbit met',
  held: 'Booster steering kept, the rest re-solved, orbit met',
  fixed: 'All steering kept',
};
const WITH_RETURN: Record<SteeringMode, string> = {
  reoptimised: 'All steering and the return re-solved in one problem, orbit met',
  held: 'Booster steering and what is kept for the return kept, the rest re-solved, orbit met; no return is solved',
  fixed: 'All steering and what is kept for the return kept; no return is solved',
};
const FIXED_NOTE =
  'With all steering kept the payload is closed on orbital energy alone: the flight misses the target orbit, and its perigee says by how much.';

export async function sweep(terminal: Terminal, opened: OpenedStudy, request: SweepRequest): Promise<Report> {
  const { study } = opened;
  const event = gapEvent(study, request.event);
  const steps = sweepSteps(study, { ...request, event, ledgers: true, stop: terminal.interrupted });
  const result = await workThrough(terminal, steps);
  const slopes = new Map<SweepPoint, number>();
  for (const point of result.points) {
    // The envelope theorem needs an optimum: where all steering is kept there is none.
    if (point.mode === 'fixed') continue;
    const { coupled } = result.reference;
    // Where none was solved the point flies with what the reference keeps.
    const kept = asAnswered(study, point.coupled === null ? coupled : null);
    slopes.set(
      point,
      gapDerivative_kgps(withGap(kept, event, point.gap_s), event, point.outcome, sideOf(request)),
    );
    await pause(terminal);
  }
  const { outcome } = result.reference;
  const lost = result.points.filter((point) => point.outcome.status !== 'converged');
  const complaint =
    outcome.status !== 'converged'
      ? `no answer at the reference gap of ${result.reference.gap_s} s. ${outcome.message}`
      : lost.length > 0
        ? `no answer at ${lost.length} of ${result.points.length} points; each says why.`
        : undefined;
  return {
    exit: complaint === undefined ? EXIT.done : EXIT.noAnswer,
    ...(complaint === undefined ? {} : { complaint }),
    json: () => sweepJson(result, event, slopes),
    csv: () => sweepCsv(result, CAUTION, opened.hash),
    people: () => forPeople(terminal.colour, opened, request, result, slopes),
  };
}

/** Near zero the slope is that towards the gaps asked for. */
function sideOf({ gaps_s }: SweepRequest): 1 | -1 {
  return gaps_s.every((gap_s) => gap_s <= 0) && gaps_s.some((gap_s) => gap_s < 0) ? -1 : 1;
}

function sweepJson(result: SweepResult, event: string, slopes: ReadonlyMap<SweepPoint, number>): object {
  return {
    command: 'sweep',
    event,
    reference: {
      gap_s: result.reference.gap_s,
      status: result.reference.outcome.status,
      message: result.reference.outcome.message,
      payload_kg: result.reference.outcome.payload_kg,
      coupled: result.reference.coupled,
    },
    points: result.points.map((point) => ({
      mode: point.mode,
      gap_s: point.gap_s,
      effectiveGap_s: point.effectiveGap_s,
      status: point.outcome.status,
      message: point.outcome.message,
      payload_kg: point.payload_kg,
      share: point.share,
      payloadPerSecond_kgps: slopes.get(point) ?? null,
      perigee_m: point.perigee_m,
      apogee_m: point.apogee_m,
      coupled: point.coupled,
      closedOn: point.mode === 'fixed' ? 'orbital energy' : 'target orbit',
      ledger: point.ledger,
      kktResidual: point.outcome.kktResidual,
      feasibility: point.outcome.feasibility,
      counts: point.outcome.counts,
    })),
  };
}

function forPeople(
  colour: boolean,
  { study }: OpenedStudy,
  request: SweepRequest,
  result: SweepResult,
  slopes: ReadonlyMap<SweepPoint, number>,
): string {
  const { outcome, gap_s, coupled } = result.reference;
  if (outcome.status !== 'converged')
    return `${study.title}: no answer at a gap of ${gapText(gap_s)} s. ${outcome.message}`;
  const parts = [
    `${study.title}: payload against the staging gap; 100 % is ${fixed(outcome.payload_kg, 0)} kg, at ${gapText(gap_s)} s (no error band).`,
  ];
  for (const mode of request.modes) {
    const points = result.points.filter((point) => point.mode === mode);
    parts.push(
      section(
        (coupled === null ? NAMES : WITH_RETURN)[mode],
        modeTable(mode, points, slopes, colour),
        colour,
      ),
    );
    const reasons = points.filter((point) => point.outcome.status !== 'converged');
    for (const point of reasons) parts.push(`At ${gapText(point.gap_s)} s: ${point.outcome.message}`);
    if (mode === 'fixed') parts.push(FIXED_NOTE);
    const base = points.find((point) => point.gap_s === gap_s);
    if (base?.ledger != null)
      parts.push(
        section(`Losses against those at ${gapText(gap_s)} s, m/s`, lossTable(points, base, colour), colour),
      );
  }
  return parts.join('\n\n');
}

function modeTable(
  mode: SteeringMode,
  points: readonly SweepPoint[],
  slopes: ReadonlyMap<SweepPoint, number>,
  colour: boolean,
): string {
  const last = mode === 'fixed' ? 'perigee, km' : 'kg for 1 s more';
  const coupled = points.some((point) => point.coupled !== null);
  const rows = points.map((point) =>
    point.outcome.status === 'converged'
      ? [
          gapText(point.gap_s),
          fixed(point.effectiveGap_s, 2),
          fixed(point.payload_kg, 0),
          fixed(100 * point.share, 1),
          mode === 'fixed' ? km(point.perigee_m) : fixed(slopes.get(point) ?? Number.NaN, 1, true),
          ...(coupled ? [fixed(point.coupled?.used_kg ?? Number.NaN, 0)] : []),
        ]
      : [
          gapText(point.gap_s),
          fixed(point.effectiveGap_s, 2),
          'not solved',
          ...(coupled ? ['', '', ''] : ['', '']),
        ],
  );
  const head = ['gap, s', 'effective, s', 'payload, kg', 'share, %', last];
  return table(coupled ? [...head, 'return takes, kg'] : head, rows, colour);
}

function lossTable(points: readonly SweepPoint[], base: SweepPoint, colour: boolean): string {
  const rows = points.flatMap((point) => {
    if (point.ledger === null || base.ledger === null || point === base) return [];
    const { ledger } = point;
    const from = base.ledger;
    const changes = LOSSES.map(([, value]) => value(ledger) - value(from));
    const all = changes.reduce((sum, change) => sum + change, 0);
    return [[gapText(point.gap_s), ...changes.map((change) => fixed(change, 1, true)), fixed(all, 1, true)]];
  });
  return table(['gap, s', ...LOSSES.map(([name]) => name), 'all'], rows, colour);
}

function gapText(gap_s: number): string {
  return fixed(gap_s, Number.isInteger(gap_s) ? 0 : 2);
}
