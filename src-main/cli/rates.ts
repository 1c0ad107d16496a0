/** `plumeline rates`: exchange rates of a study's numbers, and which change of one makes up for a change of another. */
import { CAUTION } from '../../core/contract/caution.ts';
import { breakEven } from '../../core/study/breakEven.ts';
import { numberOf } from '../../core/study/numbers.ts';
import { findRates, rateSteps, type ExchangeRate, type RatesResult } from '../../core/study/rates.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { fixed } from '../../core/units/figures.ts';
import { badInput, EXIT } from './exit.ts';
import { readChange, type OpenedStudy } from './openStudy.ts';
import { workThrough } from './progress.ts';
import type { Report } from './report.ts';
import { outcomeJson } from './solve.ts';
import { section, table } from './tables.ts';
import { pause, type Terminal } from './terminal.ts';

export interface RatesOptions {
  readonly find?: string;
  readonly verify?: boolean;
  readonly change?: string;
  readonly against?: string;
}

export async function rates(terminal: Terminal, opened: OpenedStudy, options: RatesOptions): Promise<Report> {
  const [first] = (options.find ?? '').split(/\s+/).filter((word) => word !== '');
  const steps = rateSteps(opened.study, {
    verify: options.verify === true,
    ...(first === undefined ? {} : { find: first }),
    stop: terminal.interrupted,
  });
  const result = await workThrough(terminal, steps, 'numbers');
  const { outcome, idle, without } = result;
  const shown = findRates(result.rates, options.find ?? '');
  const answered = outcome.status === 'converged';
  return {
    exit: answered ? EXIT.done : EXIT.noAnswer,
    ...(answered ? {} : { complaint: outcome.message }),
    json: () => ({ command: 'rates', ...outcomeJson(outcome), rates: shown, idle, without }),
    csv: () =>
      csvText(
        [CAUTION, `inputs ${opened.hash}`],
        ['path', 'unit', 'value', 'perUnit_kg', 'perPercent_kg', 'side', 'verified_kg'],
        shown.map((r) => [
          r.path,
          r.unit,
          r.value,
          r.perUnit_kg,
          r.perPercent_kg,
          r.side,
          r.verified_kg ?? undefined,
        ]),
      ),
    people: () =>
      answered
        ? forPeople(opened, outcome.payload_kg, shown, result, terminal.colour)
        : `${opened.study.title}: no answer. ${outcome.message}`,
  };
}

/** Five digits and no exponent for what people read. */
function figure(value: number): string {
  if (!Number.isFinite(value)) return fixed(value, 0);
  const size = Math.floor(Math.log10(Math.max(Math.abs(value), 1e-12)));
  return fixed(value, Math.min(Math.max(4 - size, 0), 12));
}

function forPeople(
  { study }: OpenedStudy,
  payload_kg: number,
  shown: readonly ExchangeRate[],
  { idle, without }: RatesResult,
  colour: boolean,
): string {
  const verified = shown.some((rate) => rate.verified_kg !== null);
  const rows = shown.map((rate) => [
    rate.path,
    figure(rate.value),
    rate.unit === '' ? '–' : rate.unit,
    figure(rate.perUnit_kg),
    fixed(rate.perPercent_kg, 2, true),
    rate.side === 'central' ? '' : rate.side,
    ...(verified ? [figure(rate.verified_kg ?? Number.NaN)] : []),
  ]);
  const head = [
    'number ',
    'value',
    'unit ',
    'kg a unit',
    'kg for 1 %',
    'side ',
    ...(verified ? ['solved again'] : []),
  ];
  const kinks = shown.some((rate) => rate.side !== 'central')
    ? [
        'Where a side is named the rate holds to that side alone: the number stands on an edge of what is allowed, or more and less of it are worth different amounts.',
      ]
    : [];
  return [
    section(
      `${study.title}: kilograms of payload for a unit more of each number, at ${fixed(payload_kg, 0)} kg (no error band)`,
      table(head, rows, colour),
      colour,
    ),
    ...kinks,
    `${idle.length} more numbers change nothing; ${without.length} have no rate (${[...new Set(without.map((each) => each.why))].slice(0, 3).join('; ') || 'none'}).`,
  ].join('\n\n');
}

export async function evenOut(
  terminal: Terminal,
  opened: OpenedStudy,
  options: RatesOptions,
): Promise<Report> {
  if (options.change === undefined || options.against === undefined)
    throw badInput(
      '--change, --against',
      'one of the two',
      'both: the change, and the number that makes up for it',
    );
  const change = await readChange(opened.study, '--change', options.change);
  const { against } = options;
  const before = numberOf(opened.study, change.path);
  const result = breakEven(opened.study, { change, against, stop: terminal.interrupted });
  await pause(terminal);
  const solved = result.status === 'solved';
  return {
    exit: solved ? EXIT.done : EXIT.noAnswer,
    ...(solved ? {} : { complaint: result.message }),
    json: () => ({ command: 'rates', change, against, ...result }),
    csv: () => {
      const rows = Object.entries(result).filter(
        (entry): entry is [string, number | string] => typeof entry[1] !== 'object',
      );
      return csvText([CAUTION, `inputs ${opened.hash}`], ['quantity', 'value'], rows);
    },
    people: () =>
      [
        `${opened.study.title}: ${change.path} from ${figure(before)} to ${figure(change.value)} takes the payload from ${fixed(result.payload_kg, 1)} to ${fixed(result.changed_kg, 1)} kg.`,
        solved
          ? `${against} at ${figure(result.value)} instead of ${figure(result.from)} (${figure(result.value - result.from)}) brings it back, solved again; by the slope at the start it would be ${figure(result.linear)} (${figure(result.linear - result.from)}).`
          : result.message,
      ].join('\n'),
  };
}
