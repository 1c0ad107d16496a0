/** `plumeline sweep --with-return` and what `modes --with-return` adds: the way home solved with each ascent. */
import { CAUTION } from '../../core/contract/caution.ts';
import { bindingWords } from '../../core/solve/returnWords.ts';
import type { TogetherOutcome } from '../../core/solve/together.ts';
import {
  coupledSteps,
  type CoupledMode,
  type CoupledPoint,
  type CoupledSweep,
} from '../../core/study/coupled.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { fixed, km } from '../../core/units/figures.ts';
import { EXIT } from './exit.ts';
import type { OpenedStudy } from './openStudy.ts';
import { workThrough } from './progress.ts';
import type { Report } from './report.ts';
import type { SweepRequest } from './sweep.ts';
import { section, table } from './tables.ts';
import type { Terminal } from './terminal.ts';

export async function sweepCoupled(
  terminal: Terminal,
  opened: OpenedStudy,
  request: SweepRequest,
  plan: string,
): Promise<Report> {
  const { gaps_s, reference_s, event } = request;
  const options = {
    gaps_s,
    reference_s,
    stop: terminal.interrupted,
    ...(event === undefined ? {} : { event }),
  };
  const result = await workThrough(terminal, coupledSteps(opened.study, plan, options));
  const lost = result.points.filter(({ outcome }) => outcome.status !== 'converged').length;
  const { outcome } = result.reference;
  const complaint =
    outcome.status !== 'converged'
      ? `no answer at the reference gap of ${reference_s} s. ${outcome.message}`
      : lost > 0
        ? `no answer at ${lost} of ${result.points.length} points; each says why.`
        : undefined;
  return {
    exit: complaint === undefined ? EXIT.done : EXIT.noAnswer,
    ...(complaint === undefined ? {} : { complaint }),
    json: () => ({
      command: 'sweep',
      plan,
      reference_s,
      points: result.points.map((point) => ({
        gap_s: point.gap_s,
        ...togetherFigures(point.outcome),
        payloadAlone_kg: point.alonePayload_kg,
        parting: point.parting,
        counts: point.outcome.counts,
      })),
    }),
    csv: () =>
      csvText(
        [CAUTION, `inputs ${opened.hash}`],
        COLUMNS.map(([name]) => name),
        result.points.map((point) => COLUMNS.map(([, value]) => value(point))),
      ),
    people: () => forPeople(terminal.colour, opened, plan, result),
  };
}

/** What JSON says of a solve with the return. */
export function togetherFigures(outcome: TogetherOutcome): object {
  const { status, message, payload_kg, used_kg, reserve_kg, pricePerKilogram, home, compiledHome } = outcome;
  const binding = home === null || compiledHome === null ? [] : home.binding;
  return {
    status,
    message,
    payload_kg,
    used_kg,
    reserve_kg,
    pricePerKilogram,
    binding: binding.map((each) => bindingWords(compiledHome!, each)),
  };
}

const COLUMNS = [
  ['gap_s', (p: CoupledPoint) => p.gap_s],
  ['status', (p: CoupledPoint) => p.outcome.status],
  ['payload_kg', (p: CoupledPoint) => p.outcome.payload_kg],
  ['payloadAlone_kg', (p: CoupledPoint) => p.alonePayload_kg],
  ['returnTakes_kg', (p: CoupledPoint) => p.outcome.used_kg],
  ['reserve_kg', (p: CoupledPoint) => p.outcome.reserve_kg],
  ['payloadPerReserveKilogram', (p: CoupledPoint) => p.outcome.pricePerKilogram],
  ['partingHeight_m', (p: CoupledPoint) => p.parting?.height_m ?? Number.NaN],
  ['partingSpeed_mps', (p: CoupledPoint) => p.parting?.speed_mps ?? Number.NaN],
  ['message', (p: CoupledPoint) => p.outcome.message],
] as const;

function forPeople(colour: boolean, { study }: OpenedStudy, plan: string, result: CoupledSweep): string {
  const { reference, reference_s, points } = result;
  const { name } = study.returns!.plans[plan]!;
  const gap = (gap_s: number): string => fixed(gap_s, Number.isInteger(gap_s) ? 0 : 2);
  if (reference.outcome.status !== 'converged')
    return `${study.title}: no answer at a gap of ${gap(reference_s)} s. ${reference.outcome.message}`;
  const rows = points.map(({ gap_s, outcome, alonePayload_kg, parting }) =>
    outcome.status !== 'converged'
      ? [gap(gap_s), 'not solved', '', '', '', '', '']
      : [
          gap(gap_s),
          fixed(outcome.payload_kg, 0),
          fixed(outcome.payload_kg - reference.outcome.payload_kg, 0, true),
          fixed(alonePayload_kg - reference.alonePayload_kg, 0, true),
          fixed(outcome.used_kg, 0),
          fixed(outcome.used_kg - reference.outcome.used_kg, 0, true),
          parting === null ? '' : `${km(parting.height_m)} km, ${fixed(parting.speed_mps, 0)} m/s`,
        ],
  );
  const head = [
    'gap, s',
    'payload, kg',
    'change, kg',
    'without return, kg',
    'return takes, kg',
    'change, kg',
    'parts at',
  ];
  const lost = points.filter(({ outcome }) => outcome.status !== 'converged');
  return [
    `${study.title}, ${name}: payload against the staging gap with the return solved in the same problem; changes are against ${gap(reference_s)} s (no error band).`,
    table(head, rows, colour),
    `"Without return" is the change of an ascent that keeps ${fixed(reference.outcome.reserve_kg, 0)} kg at every gap and knows nothing of the return.`,
    ...lost.map(({ gap_s, outcome }) => `At ${gap(gap_s)} s: ${outcome.message}`),
  ].join('\n\n');
}

/** The ways of staging with the return coupled, against the first of them. */
export function coupledModesSection(
  colour: boolean,
  { study }: OpenedStudy,
  plan: string,
  coupled: readonly CoupledMode[],
): string {
  const first = coupled[0];
  if (first === undefined) return 'No way of staging is left to solve with the return.';
  const rows = coupled.map(({ id, outcome }) => [
    study.stagingModes![id]!.name,
    ...(outcome.status !== 'converged'
      ? ['not solved', '', '', '']
      : [
          fixed(outcome.payload_kg, 0),
          fixed(outcome.payload_kg - first.outcome.payload_kg, 0, true),
          fixed(outcome.used_kg, 0),
          fixed(outcome.used_kg - first.outcome.used_kg, 0, true),
        ]),
  ]);
  const head = [
    'way of staging ',
    'payload, kg',
    'against the first',
    'return takes, kg',
    'against the first',
  ];
  const lost = coupled.filter(({ outcome }) => outcome.status !== 'converged');
  return [
    section(
      `With the return "${study.returns!.plans[plan]!.name}" solved in the same problem, at the same gaps`,
      table(head, rows, colour),
      colour,
    ),
    ...lost.map(({ id, outcome }) => `${study.stagingModes![id]!.name}: ${outcome.message}`),
  ].join('\n');
}
