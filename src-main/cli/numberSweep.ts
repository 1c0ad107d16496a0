/** `plumeline sweep --of`: payload against any number of the study, with what the change is made of, fits and read-off. */
import { CAUTION } from '../../core/contract/caution.ts';
import { readPlace, type Reading } from '../../core/study/curve.ts';
import { bendOf, fitCurve, SOLVER_kg, type Bend, type Fit } from '../../core/study/fits.ts';
import { numberSweepSteps, type NumberPoint, type NumberSweep } from '../../core/study/numberSweep.ts';
import { numberOf } from '../../core/study/numbers.ts';
import type { SteeringMode } from '../../core/study/sweep.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { fixed } from '../../core/units/figures.ts';
import { badInput, EXIT } from './exit.ts';
import { readChange, type OpenedStudy } from './openStudy.ts';
import { workThrough } from './progress.ts';
import type { Report } from './report.ts';
import { readWhole } from './spreadOptions.ts';
import { readModes, type SweepOptions } from './sweepOptions.ts';
import { section, table } from './tables.ts';
import type { Terminal } from './terminal.ts';

export interface NumberSweepRequest {
  readonly path: string;
  readonly values: readonly number[];
  readonly modes: readonly SteeringMode[];
  readonly reference: number;
  /** Share of the reference's payload to read off, dimensionless. */
  readonly share: number;
}

/** Values from one to another, so many, evenly; in their own unit. */
export function evenly(from: number, to: number, points: number): number[] {
  return Array.from({ length: points }, (_, i) =>
    Number((from + ((to - from) * i) / (points - 1)).toPrecision(12)),
  );
}

export async function readNumberSweep(
  { study }: OpenedStudy,
  options: SweepOptions,
): Promise<NumberSweepRequest> {
  const path = options.of ?? '';
  const value = async (option: string, text: string): Promise<number> =>
    (await readChange(study, option, `${path}=${text}`)).value;
  const points = readWhole('--points', options.points ?? '11', 2);
  const [from, to] = [await value('--from', options.from), await value('--to', options.to)];
  if (from === to) throw badInput('--to', String(to), `another value than ${from}, where the sweep starts`);
  const percent = Number(options.at ?? '90');
  if (!Number.isFinite(percent))
    throw badInput('--at', JSON.stringify(options.at), 'a number of per cent, such as 90');
  return {
    path,
    values: evenly(from, to, points),
    modes: readModes(options.modes),
    reference:
      options.reference === undefined ? numberOf(study, path) : await value('--reference', options.reference),
    share: percent / 100,
  };
}

export async function sweepNumber(
  terminal: Terminal,
  opened: OpenedStudy,
  request: NumberSweepRequest,
): Promise<Report> {
  const result = await workThrough(
    terminal,
    numberSweepSteps(opened.study, { ...request, stop: terminal.interrupted }),
  );
  const { outcome } = result.reference;
  const lost = result.points.filter((point) => point.outcome.status !== 'converged');
  const complaint =
    outcome.status !== 'converged'
      ? `no answer at the reference value of ${result.reference.value}. ${outcome.message}`
      : lost.length > 0
        ? `no answer at ${lost.length} of ${result.points.length} points; each says why.`
        : undefined;
  const curves = request.modes.map((mode) => curveOf(result, mode, request.share));
  return {
    exit: complaint === undefined ? EXIT.done : EXIT.noAnswer,
    ...(complaint === undefined ? {} : { complaint }),
    json: () => ({
      command: 'sweep',
      path: result.path,
      reference: {
        value: result.reference.value,
        status: outcome.status,
        message: outcome.message,
        payload_kg: outcome.payload_kg,
      },
      points: result.points.map(({ outcome: own, ...point }) => ({
        ...point,
        status: own.status,
        message: own.message,
        limits: own.limits,
      })),
      curves,
    }),
    csv: () =>
      csvText(
        [CAUTION, `inputs ${opened.hash}`, `of ${result.path}`],
        ['mode', 'value', 'status', 'payload_kg', 'share', ...PARTS.map((name) => `${name} kg`), 'reason'],
        result.points.map((p) => [
          ...[p.mode, p.value, p.outcome.status, p.payload_kg, p.payload_kg / outcome.payload_kg],
          ...PARTS.map((name) => partOf(p, name)),
          p.outcome.status === 'converged' ? undefined : p.outcome.message,
        ]),
      ),
    people: () => forPeople(opened, request, result, curves, terminal.colour),
  };
}

const PARTS = [
  'gravity',
  'steering',
  'drag',
  'back-pressure',
  'centrifugal',
  'turning Earth',
  'the vehicle itself',
  'target speed',
] as const;
const partOf = (point: NumberPoint, name: string): number | undefined =>
  point.anatomy?.parts.find((part) => part.name === name)?.payload_kg;

interface ModeCurve {
  readonly mode: SteeringMode;
  readonly fits: readonly Fit[];
  readonly bend: Bend;
  /** Where the share asked for is reached, in the number's unit. */
  readonly place: Reading;
}

function curveOf({ points, reference }: NumberSweep, mode: SteeringMode, share: number): ModeCurve {
  const own = points.filter((point) => point.mode === mode && Number.isFinite(point.payload_kg));
  const [x, y] = [own.map((point) => point.value), own.map((point) => point.payload_kg)];
  return {
    mode,
    fits: fitCurve(x, y),
    bend: bendOf(x, y, SOLVER_kg, undefined, 'kg'),
    place: readPlace({ x, y }, share * reference.outcome.payload_kg),
  };
}

function forPeople(
  { study }: OpenedStudy,
  request: NumberSweepRequest,
  result: NumberSweep,
  curves: readonly ModeCurve[],
  colour: boolean,
): string {
  const { outcome, value } = result.reference;
  if (outcome.status !== 'converged')
    return `${study.title}: no answer at ${result.path} of ${value}. ${outcome.message}`;
  const parts = [
    `${study.title}: payload against ${result.path}; 100 % is ${fixed(outcome.payload_kg, 0)} kg, at ${value} (no error band).`,
    'The percentages depend on how small the payload is; the kilograms do not: the same loss of speed costs a vehicle with half the payload in the same mass twice the per cent.',
  ];
  for (const { mode, fits, bend, place } of curves) {
    const points = result.points.filter((point) => point.mode === mode);
    const used = PARTS.filter((name) => points.some((point) => Math.abs(partOf(point, name) ?? 0) > 0.5));
    const rows = points.map((point) => [
      String(point.value),
      fixed(point.payload_kg, 1),
      fixed((100 * point.payload_kg) / outcome.payload_kg, 2),
      fixed(point.payload_kg - outcome.payload_kg, 1, true),
      ...used.map((name) => fixed(partOf(point, name) ?? Number.NaN, 0, true)),
      point.outcome.limits
        .filter((limit) => limit.binds)
        .map((limit) => limit.words)
        .join('; '),
    ]);
    const head = [
      'value',
      'payload, kg',
      'share, %',
      'change, kg',
      ...used.map((name) => `${name}, kg`),
      'held back by ',
    ];
    parts.push(section(`Steering ${mode}`, table(head, rows, colour), colour));
    for (const point of points.filter((each) => each.outcome.status !== 'converged'))
      parts.push(`At ${point.value}: ${point.outcome.message}`);
    const percent = fixed(100 * request.share, 1);
    parts.push(
      [
        `Fits leave, root mean square: ${fits.map((fit) => `${fit.kind} ${fixed(fit.rms, 2)} kg`).join(', ')}. ${bend.sentence}`,
        Number.isNaN(place.value)
          ? `The payload comes to ${percent} % nowhere between these values.`
          : `The payload comes to ${percent} % at ${place.value.toPrecision(5)}.`,
      ].join('\n'),
    );
  }
  return parts.join('\n\n');
}
