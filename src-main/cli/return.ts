/** `plumeline return`: what a body's flight home takes, from the parting of the answer with the most payload. */
import { CAUTION } from '../../core/contract/caution.ts';
import { FlightEngine, SOLVE_ACCURACY } from '../../core/flight/engine.ts';
import { compileReturn, type CompiledReturn } from '../../core/recovery/compile.ts';
import { allowedReturn, reviewReturn, type ReturnReview } from '../../core/recovery/review.ts';
import { startOfReturn } from '../../core/recovery/start.ts';
import { solveReturn, type Binding, type ReturnOutcome } from '../../core/solve/return.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { fixed, gees, kPa, tonnes } from '../../core/units/figures.ts';
import type { CompiledBody } from '../../core/vehicle/structure.ts';
import { badInput, EXIT } from './exit.ts';
import type { OpenedStudy } from './openStudy.ts';
import type { Report } from './report.ts';
import { answerSentence, outcomeJson, solve } from './solve.ts';
import { section, table } from './tables.ts';
import { pause, type Terminal } from './terminal.ts';

const KIND_WORDS = {
  dynamicPressure: 'dynamic pressure',
  heating: 'stagnation heating',
  load: 'load',
} as const;
const PHASE_WORDS = {
  tailOff: 'tail-off',
  wait: 'wait',
  turn: 'turn',
  boostback: 'boostback',
  coast: 'coast',
  entry: 'entry burn',
  descent: 'descent',
  landing: 'landing burn',
} as const;

/** Which return is meant: the one named, else the study's first chosen, else its first. */
function planName({ study }: OpenedStudy, name: string | undefined): string {
  const returns = study.returns;
  const known = Object.keys(returns?.plans ?? {});
  const nothing = known.length === 0 ? 'a study with returns.plans' : known.join(', ');
  if (name !== undefined) {
    if (!known.includes(name)) throw badInput('--plan', JSON.stringify(name), nothing);
    return name;
  }
  const first = returns?.chosen[0] ?? known[0];
  if (first === undefined) throw badInput('STUDY', 'a study without returns', nothing);
  return first;
}

export async function returnHome(
  terminal: Terminal,
  opened: OpenedStudy,
  name: string | undefined,
): Promise<Report> {
  const id = planName(opened, name);
  const { compiled, outcome: ascent } = await solve(terminal, opened);
  if (ascent.status !== 'converged') {
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
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  engine.fly(ascent.values);
  const home = compileReturn(compiled, id, engine.plan);
  const start = startOfReturn(engine, home.body, home.reserve_kg, ascent.values, compiled.makeLaws());
  if (start === null)
    throw new Error('the ascent that was solved for has lost the parting that it was compiled with');
  const outcome = solveReturn(home, start, { stop: terminal.interrupted });
  await pause(terminal);
  const landed =
    outcome.status === 'converged' || (outcome.status === 'reserveFallsShort' && outcome.memory !== null);
  const review = landed ? reviewReturn(home, start, outcome.values) : null;
  const converged = outcome.status === 'converged';
  const binding = outcome.binding.map((each) => bindingWords(home, each));
  return {
    exit: converged ? EXIT.done : EXIT.noAnswer,
    ...(converged ? {} : { complaint: outcome.message }),
    json: () => ({
      command: 'return',
      plan: id,
      status: outcome.status,
      message: outcome.message,
      payload_kg: ascent.payload_kg,
      used_kg: outcome.used_kg,
      reserve_kg: outcome.reserve_kg,
      kept_kg: outcome.kept_kg,
      ...(review === null ? {} : { review, numbers: numberRows(home, outcome), binding }),
      kktResidual: outcome.kktResidual,
      feasibility: outcome.feasibility,
      counts: outcome.counts,
      allowances: allowanceRows(opened, compiled.bodies),
    }),
    csv: () => returnCsv(opened, home, outcome, review, binding),
    people: () => people(terminal, opened, home, outcome, review, binding, compiled.bodies),
  };
}

function bindingWords({ numbers }: CompiledReturn, binding: Binding): string {
  if (binding.kind !== 'number')
    return `${KIND_WORDS[binding.kind]} in the ${PHASE_WORDS[binding.phase]} is at its limit`;
  const { name, lower, upper, unit, perUnit } = numbers[binding.number]!;
  const bound = (binding.at === 'lower' ? lower : upper) / perUnit;
  return `${name} is at its ${binding.at === 'lower' ? 'least' : 'most'}, ${fixed(bound, 2)}${unit === '' ? '' : ` ${unit}`}`;
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
): string {
  const rows: [string, string | number, string][] = [
    ['plan', home.id, ''],
    ['status', outcome.status, ''],
    ['message', outcome.message, ''],
    ['used', outcome.used_kg, 'kg'],
    ['reserve', outcome.reserve_kg, 'kg'],
    ['kept', outcome.kept_kg, 'kg'],
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
  binding: readonly string[],
  bodies: readonly CompiledBody[],
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
  const show = {
    dynamicPressure: (value: number) => `${kPa(value)} kPa`,
    heating: (value: number) => `${fixed(value / 1e4, 1)} W/cm²`,
    load: (value: number) => `${gees(value)} g`,
  };
  const peaks = review.peaks.map((peak) => [
    KIND_WORDS[peak.kind],
    show[peak.kind](peak.value),
    Number.isNaN(peak.limit) ? 'not limited' : `limit ${show[peak.kind](peak.limit)}`,
    PHASE_WORDS[peak.phase],
  ]);
  const numbers = numberRows(home, outcome).map(({ name: what, value, unit }) => [
    what,
    fixed(value, 3),
    unit,
  ]);
  const allowances = allowanceRows(opened, bodies).map(
    (row) =>
      `${row.body}: leaving orbit takes ${tonnes(row.deorbit_kg)} t and landing ${tonnes(row.landing_kg)} t by its allowance; ${tonnes(row.kept_kg)} t are kept.`,
  );
  return [
    head,
    section('Burns', table([' ', 'start s', 'length s', 'propellant t'], burns, colour), colour),
    section('Greatest on the way', table([' ', '', ' ', ' '], peaks, colour), colour),
    `Touchdown at ${fixed(review.touchdownSpeed_mps, 4)} m/s, ${fixed(review.miss_m, 3)} m off; ${tonnes(review.landedMass_kg)} t land.`,
    binding.length === 0 ? 'Nothing holds it back.' : `What holds it: ${binding.join('; ')}.`,
    section('Its numbers', table([' ', '', ' '], numbers, colour), colour),
    ...allowances,
    `${outcome.status === 'converged' ? `${outcome.message} ` : ''}The solve took ${fixed(outcome.counts.iterations, 0)} steps, ${fixed(outcome.counts.flights, 0)} flights and ${fixed(outcome.counts.reflights, 0)} over held steps.`,
  ].join('\n\n');
}
