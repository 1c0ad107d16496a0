/** `plumeline return`: what a body's flight home takes, from the parting of the answer with the most payload. */
import { CAUTION } from '../../core/contract/caution.ts';
import { SOLVE_ACCURACY } from '../../core/flight/accuracy.ts';
import { FlightEngine } from '../../core/flight/engine.ts';
import { compileReturn, type CompiledReturn } from '../../core/recovery/compile.ts';
import { allowedReturn, reviewReturn, type ReturnReview } from '../../core/recovery/review.ts';
import { partingFigures, startOfReturn, type ReturnStart } from '../../core/recovery/start.ts';
import type { PayloadOutcome } from '../../core/solve/payload.ts';
import { coupledPlan } from '../../core/solve/answer.ts';
import { solveReturn, type ReturnOutcome } from '../../core/solve/return.ts';
import {
  bindingSentence,
  bindingWords,
  KIND_WORDS,
  peakFigure,
  PHASE_WORDS,
} from '../../core/solve/returnWords.ts';
import { compileWithReturn } from '../../core/solve/sequenceReturn.ts';
import { solveTogether, type TogetherOutcome } from '../../core/solve/together.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { fixed, km, tonnes } from '../../core/units/figures.ts';
import type { CompiledBody } from '../../core/vehicle/structure.ts';
import { badInput, EXIT } from './exit.ts';
import type { OpenedStudy } from './openStudy.ts';
import type { Report } from './report.ts';
import { answerSentence, outcomeJson, solve } from './solve.ts';
import { section, table } from './tables.ts';
import { pause, type Terminal } from './terminal.ts';

/** Which return is meant: the one named, else the study's first chosen, else its first. */
export function planName({ study }: OpenedStudy, name: string | undefined, option = '--plan'): string {
  const returns = study.returns;
  const known = Object.keys(returns?.plans ?? {});
  const nothing = known.length === 0 ? 'a study with returns.plans' : known.join(', ');
  if (name !== undefined) {
    if (!known.includes(name)) throw badInput(option, JSON.stringify(name), nothing);
    return name;
  }
  const first = returns?.chosen[0] ?? known[0];
  if (first === undefined) throw badInput('STUDY', 'a study without returns', nothing);
  return first;
}

/** The ascent alone and the return from its parting, or both in one problem. */
export async function returnHome(
  terminal: Terminal,
  opened: OpenedStudy,
  options: { readonly plan?: string; readonly together?: boolean },
): Promise<Report> {
  const id = planName(opened, options.plan);
  // A study that is answered with this return knows it no other way.
  if (options.together === true || coupledPlan(opened.study) === id)
    return homeTogether(terminal, opened, id);
  const { compiled, outcome: ascent } = await solve(terminal, opened);
  if (ascent.status !== 'converged') return withoutAscent(opened, ascent);
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  engine.fly(ascent.values);
  const home = compileReturn(compiled, id, engine.plan);
  const start = startOfReturn(engine, home.body, home.reserve_kg, ascent.values, compiled.makeLaws());
  if (start === null)
    throw new Error('the ascent that was solved for has lost the parting that it was compiled with');
  const outcome = solveReturn(home, start, { stop: terminal.interrupted });
  await pause(terminal);
  return report(terminal, opened, home, ascent.payload_kg, outcome, null);
}

async function homeTogether(terminal: Terminal, opened: OpenedStudy, id: string): Promise<Report> {
  const compiled = compileWithReturn(opened.study, id);
  await pause(terminal);
  const together = solveTogether(compiled, id, { stop: terminal.interrupted });
  await pause(terminal);
  const { home, compiledHome, ascent, status, message } = together;
  if (home === null || compiledHome === null) return withoutAscent(opened, { ...ascent, message });
  // What holds for both is said of both.
  const outcome: ReturnOutcome = { ...home, status: status === 'converged' ? status : 'notSolved', message };
  return report(terminal, opened, compiledHome, together.payload_kg, outcome, together);
}

function withoutAscent(opened: OpenedStudy, ascent: PayloadOutcome): Report {
  return {
    exit: EXIT.noAnswer,
    complaint: ascent.message,
    json: () => ({ command: 'return', ascent: outcomeJson(ascent) }),
    csv: () =>
      csvText(
        [CAUTION, `inputs ${opened.hash}`],
        ['quantity', 'value', 'unit'],
        [['status', ascent.status, '']],
      ),
    people: () => answerSentence(opened, ascent),
  };
}

function report(
  terminal: Terminal,
  opened: OpenedStudy,
  home: CompiledReturn,
  payload_kg: number,
  outcome: ReturnOutcome,
  together: TogetherOutcome | null,
): Report {
  const { start } = outcome;
  const landed =
    outcome.status === 'converged' || (outcome.status === 'reserveFallsShort' && outcome.memory !== null);
  const review = landed ? reviewReturn(home, start, outcome.values) : null;
  const converged = outcome.status === 'converged';
  const binding = outcome.binding.map((each) => bindingWords(home, each));
  const { bodies } = home.study;
  return {
    exit: converged ? EXIT.done : EXIT.noAnswer,
    ...(converged ? {} : { complaint: outcome.message }),
    json: () => ({
      command: 'return',
      plan: home.id,
      status: outcome.status,
      message: outcome.message,
      payload_kg,
      used_kg: outcome.used_kg,
      reserve_kg: outcome.reserve_kg,
      kept_kg: outcome.kept_kg,
      ...(review === null ? {} : { review, numbers: numberRows(home, outcome), binding }),
      kktResidual: outcome.kktResidual,
      feasibility: outcome.feasibility,
      counts: together?.counts ?? outcome.counts,
      ...(together === null ? {} : { together: togetherJson(together) }),
      allowances: allowanceRows(opened, bodies),
    }),
    csv: () => returnCsv(opened, home, outcome, review, binding, together),
    people: () => people(terminal, opened, home, outcome, review, bodies, together),
  };
}

interface NumberRow {
  readonly name: string;
  readonly value: number;
  readonly unit: string;
}

function numberRows(home: CompiledReturn, outcome: ReturnOutcome): NumberRow[] {
  return home.numbers.map(({ name, unit, perUnit }, i) => ({
    name,
    value: outcome.values[i]! / perUnit,
    unit,
  }));
}

/** What each allowance takes of the reserve that its body keeps, kg. */
function allowanceRows(
  { study }: OpenedStudy,
  bodies: readonly CompiledBody[],
): { body: string; deorbit_kg: number; landing_kg: number; kept_kg: number }[] {
  return Object.entries(study.returns?.allowances ?? {}).map(([id, allowance]) => {
    const body = bodies.find((each) => each.id === id)!;
    return {
      body: id,
      ...allowedReturn(body, allowance),
      kept_kg: body.data.propellant?.returnReserve_kg ?? 0,
    };
  });
}

function returnCsv(
  opened: OpenedStudy,
  home: CompiledReturn,
  outcome: ReturnOutcome,
  review: ReturnReview | null,
  binding: readonly string[],
  together: TogetherOutcome | null,
): string {
  const rows: [string, string | number, string][] = [
    ['plan', home.id, ''],
    ['status', outcome.status, ''],
    ['message', outcome.message, ''],
    ['used', outcome.used_kg, 'kg'],
    ['reserve', outcome.reserve_kg, 'kg'],
    ['kept', outcome.kept_kg, 'kg'],
    ...(together === null ? [] : togetherRows(together)),
  ];
  if (review !== null) {
    for (const burn of review.burns)
      rows.push([`${PHASE_WORDS[burn.phase]} propellant`, burn.propellant_kg, 'kg']);
    for (const peak of review.peaks)
      rows.push([`peak ${KIND_WORDS[peak.kind]}`, peak.value, PEAK_UNITS[peak.kind]]);
    rows.push(['touchdown speed', review.touchdownSpeed_mps, 'm/s'], ['miss', review.miss_m, 'm']);
    for (const { name, value, unit } of numberRows(home, outcome)) rows.push([name, value, unit]);
    for (const words of binding) rows.push(['binding', words, '']);
  }
  return csvText([CAUTION, `inputs ${opened.hash}`], ['quantity', 'value', 'unit'], rows);
}

const PEAK_UNITS = { dynamicPressure: 'Pa', heating: 'W/m²', load: 'm/s²' } as const;

function people(
  { colour }: Terminal,
  opened: OpenedStudy,
  home: CompiledReturn,
  outcome: ReturnOutcome,
  review: ReturnReview | null,
  bodies: readonly CompiledBody[],
  together: TogetherOutcome | null,
): string {
  const { title } = opened.study;
  const { name } = home.plan;
  if (review === null) return `${title}, ${name}: no answer. ${outcome.message}`;
  const head =
    outcome.status === 'converged'
      ? `${title}, ${name}: the return takes ${tonnes(review.used_kg)} t; ${tonnes(outcome.kept_kg)} t are kept for it.`
      : `${title}, ${name}: no answer. ${outcome.message}\nWith that reserve:`;
  const burns = review.burns.map((burn) => [
    PHASE_WORDS[burn.phase],
    fixed(burn.start_s, 1),
    fixed(burn.end_s - burn.start_s, 1),
    tonnes(burn.propellant_kg),
  ]);
  const peaks = review.peaks.map((peak) => [
    KIND_WORDS[peak.kind],
    peakFigure(peak.kind, peak.value),
    Number.isNaN(peak.limit) ? 'not limited' : `limit ${peakFigure(peak.kind, peak.limit)}`,
    PHASE_WORDS[peak.phase],
  ]);
  const numbers = numberRows(home, outcome).map(({ name: what, value, unit }) => [
    what,
    fixed(value, 3),
    unit,
  ]);
  const { counts } = together ?? outcome;
  const allowances = allowanceRows(opened, bodies).map(
    (row) =>
      `${row.body}: leaving orbit takes ${tonnes(row.deorbit_kg)} t and landing ${tonnes(row.landing_kg)} t by its allowance; ${tonnes(row.kept_kg)} t are kept.`,
  );
  return [
    head,
    ...(together === null ? [] : togetherWords(home, together)),
    section('Burns', table([' ', 'start s', 'length s', 'propellant t'], burns, colour), colour),
    section('Greatest on the way', table([' ', '', ' ', ' '], peaks, colour), colour),
    `Touchdown at ${fixed(review.touchdownSpeed_mps, 4)} m/s, ${fixed(review.miss_m, 3)} m off; ${tonnes(review.landedMass_kg)} t land.`,
    bindingSentence(home, outcome.binding),
    section('Its numbers', table([' ', '', ' '], numbers, colour), colour),
    ...allowances,
    `${outcome.status === 'converged' ? `${outcome.message} ` : ''}The solve took ${fixed(counts.iterations, 0)} steps, ${fixed(counts.flights, 0)} flights and ${fixed(counts.reflights, 0)} over held steps.`,
  ].join('\n\n');
}

/** What solving one after the other comes to against solving together. */
function differenceWords({ sequence, payload_kg }: TogetherOutcome): string {
  if (sequence === null) return '';
  if (sequence.status !== 'converged') return `One after the other there is no answer: ${sequence.message}`;
  const lost_kg = payload_kg - sequence.payload_kg;
  return `One after the other it would be ${tonnes(sequence.payload_kg)} t, ${fixed(lost_kg, 1)} kg less, with ${tonnes(sequence.reserve_kg)} t kept.`;
}

function togetherWords(home: CompiledReturn, together: TogetherOutcome): string[] {
  const { payload_kg, sequence, pricePerKilogram } = together;
  const carried = `Solved with the ascent, ${tonnes(payload_kg)} t of payload reach the orbit.`;
  if (together.memory?.apart != null) return [`${carried} ${together.message}`];
  const parting = (start: ReturnStart): string => {
    const { height_m, speed_mps, angle_rad } = partingFigures(home.study, start);
    return `at ${km(height_m)} km with ${fixed(speed_mps, 0)} m/s, climbing at ${fixed((angle_rad * 180) / Math.PI, 1)}°`;
  };
  const apart = sequence?.status === 'converged' ? sequence.home : null;
  const own = together.home === null ? '' : `They part ${parting(together.home.start)}`;
  return [
    `${carried} ${differenceWords(together)}`,
    `${own}${apart === null ? '' : `; one after the other, ${parting(apart.start)}`}. A kilogram less to be kept for the return would be worth ${fixed(pricePerKilogram, 2)} kg of payload.`,
  ];
}

function togetherJson({ payload_kg, pricePerKilogram, sequence }: TogetherOutcome): object {
  return {
    payload_kg,
    pricePerKilogram,
    ...(sequence === null
      ? {}
      : {
          sequence: {
            status: sequence.status,
            message: sequence.message,
            payload_kg: sequence.payload_kg,
            used_kg: sequence.used_kg,
            reserve_kg: sequence.reserve_kg,
            difference_kg: payload_kg - sequence.payload_kg,
          },
        }),
  };
}

function togetherRows({
  payload_kg,
  pricePerKilogram,
  sequence,
}: TogetherOutcome): [string, number, string][] {
  return [
    ['payload', payload_kg, 'kg'],
    ['payload for a kilogram less kept', pricePerKilogram, 'kg'],
    ...(sequence === null
      ? []
      : ([
          ['payload one after the other', sequence.payload_kg, 'kg'],
          ['difference', payload_kg - sequence.payload_kg, 'kg'],
          ['reserve one after the other', sequence.reserve_kg, 'kg'],
        ] satisfies [string, number, string][])),
  ];
}
