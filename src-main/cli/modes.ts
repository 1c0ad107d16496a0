/** `plumeline modes`: a study's ways of staging side by side. */
import { CAUTION } from '../../core/contract/caution.ts';
import { modeSteps, type ModeRow, type ModesResult } from '../../core/study/modes.ts';
import { coupledModeSteps, type CoupledMode } from '../../core/study/coupled.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { fixed } from '../../core/units/figures.ts';
import { coupledModesSection, togetherFigures } from './coupled.ts';
import { EXIT } from './exit.ts';
import type { OpenedStudy } from './openStudy.ts';
import { workThrough } from './progress.ts';
import type { Report } from './report.ts';
import { TANK_HEAD, tankCells } from './settling.ts';
import { section, table } from './tables.ts';
import type { Terminal } from './terminal.ts';

/** With the name of a return, each way of staging is also solved with it. */
export async function modes(terminal: Terminal, opened: OpenedStudy, plan: string | null): Promise<Report> {
  const { study } = opened;
  const result = await workThrough(terminal, modeSteps(study, terminal.interrupted));
  const coupled =
    plan === null
      ? null
      : await workThrough(terminal, coupledModeSteps(study, plan, result.rows, terminal.interrupted));
  const lost = result.rows.filter(
    (row) =>
      row.verdict === 'notSolved' ||
      coupled?.some(({ id, outcome }) => id === row.id && outcome.status !== 'converged'),
  );
  return {
    exit: lost.length === 0 ? EXIT.done : EXIT.noAnswer,
    ...(lost.length === 0
      ? {}
      : {
          complaint: `no answer for ${lost.length} of ${result.rows.length} ways of staging; each says why.`,
        }),
    json: () => ({
      command: 'modes',
      rows: result.rows.map((row) => ({ ...rowJson(row), ...homeJson(row, coupled) })),
      breakEven: result.breakEven,
    }),
    csv: () => modesCsv(result, opened.hash, coupled),
    people: () =>
      [
        forPeople(terminal.colour, opened, result),
        ...(coupled === null ? [] : [coupledModesSection(terminal.colour, opened, plan!, coupled)]),
      ].join('\n\n'),
  };
}

function rowJson(row: ModeRow): object {
  const { parting, settling, outcome, masses_kg, flown: _, ...plain } = row;
  return {
    ...plain,
    masses_kg: Object.fromEntries(masses_kg),
    parting:
      parting === null
        ? null
        : {
            code: parting.phase.code,
            message: parting.phase.message,
            joint_N: parting.case.joint_N,
            opening: parting.phase.opening,
            leavingSpeed_mps: parting.leavingSpeed_mps,
            leastRim_m: parting.phase.leastRim_m,
          },
    settling:
      settling === null
        ? null
        : {
            state: settling.state,
            criterion: settling.criterion,
            tanks: settling.tanks.map(({ history, ...tank }) => ({ id: history.fill.id, ...tank })),
          },
    solve: outcome === null ? null : { status: outcome.status, message: outcome.message },
  };
}

const COLUMNS = [
  ['id', (r: ModeRow) => r.id],
  ['name', (r: ModeRow) => r.name],
  ['gap_s', (r: ModeRow) => r.gap_s],
  ['effectiveGap_s', (r: ModeRow) => r.effectiveGap_s],
  ['mass_kg', (r: ModeRow) => [...r.masses_kg.values()].reduce((sum, each) => sum + each, 0)],
  ['payload_kg', (r: ModeRow) => r.payload_kg],
  ['settling', (r: ModeRow) => r.settling?.state ?? ''],
  ['verdict', (r: ModeRow) => r.verdict],
  ['reason', (r: ModeRow) => r.reason],
] as const;

const HOME_COLUMNS = ['payloadWithReturn_kg', 'returnTakes_kg', 'reserve_kg'];

function modesCsv({ rows }: ModesResult, hash: string, coupled: readonly CoupledMode[] | null): string {
  return csvText(
    [CAUTION, `inputs ${hash}`],
    [...COLUMNS.map(([name]) => name), ...(coupled === null ? [] : HOME_COLUMNS)],
    rows.map((row) => {
      const home = coupled?.find(({ id }) => id === row.id)?.outcome;
      const figures = [home?.payload_kg, home?.used_kg, home?.reserve_kg].map((each) => each ?? Number.NaN);
      return [...COLUMNS.map(([, value]) => value(row)), ...(coupled === null ? [] : figures)];
    }),
  );
}

function homeJson(row: ModeRow, coupled: readonly CoupledMode[] | null): object {
  if (coupled === null) return {};
  const own = coupled.find(({ id }) => id === row.id);
  return { withReturn: own === undefined ? null : togetherFigures(own.outcome) };
}

const WORDS: Record<ModeRow['verdict'], string> = {
  works: 'works',
  doubtful: 'doubtful',
  fails: 'fails',
  notSolved: 'not solved',
};

function forPeople(colour: boolean, { study }: OpenedStudy, { rows, breakEven }: ModesResult): string {
  const cells = rows.map((row) => [
    row.name,
    fixed(row.gap_s, 2),
    [...row.masses_kg].map(([body, mass_kg]) => `${fixed(mass_kg, 0)} on ${body}`).join(', '),
    fixed(row.payload_kg, 1),
    row.settling?.state ?? '–',
    WORDS[row.verdict],
  ]);
  const head = ['way of staging ', 'gap, s', 'carries, kg', 'payload, kg', 'propellant ', 'verdict '];
  const parts = [
    `${study.title}: ways of staging side by side, the payload re-solved for each (no error band).`,
    table(head, cells, colour),
    section('Why', rows.map((row) => `${row.name}: ${row.reason}`).join('\n'), colour),
  ];
  const tanks = rows.flatMap(({ name, settling }) => {
    if (settling === null) return [];
    const worst = settling.tanks.reduce((a, b) => (b.margin < a.margin ? b : a));
    return [[name, worst.history.fill.tank.name, ...tankCells(worst)]];
  });
  if (tanks.length > 0) {
    const criterion = rows.find(({ settling }) => settling !== null)!.settling!.criterion;
    parts.push(
      section(
        'Propellant at ignition, the tank that is held least',
        `${table(['way of staging ', 'tank ', ...TANK_HEAD], tanks, colour)}\n${criterion[0]!.toUpperCase()}${criterion.slice(1)}.`,
        colour,
      ),
    );
  }
  const asked = rows.flatMap(({ name, motor }) =>
    motor === null
      ? []
      : [
          [
            name,
            fixed(motor.thrust_N, 0),
            fixed(motor.burn_s, 2),
            fixed(motor.propellant_kg, 2),
            fixed(motor.cost_kg, 2),
          ],
        ],
  );
  if (asked.length > 0) {
    const columns = ['way of staging ', 'thrust, N', 'burn, s', 'propellant, kg', 'costs payload, kg'];
    parts.push(
      section(
        'Settling motors that would bring the propellant home, without cases',
        table(columns, asked, colour),
        colour,
      ),
    );
  }
  if (breakEven !== null) {
    const name = (id: string): string => rows.find((row) => row.id === id)!.name;
    const { gain_kg, perKilogram, ring_kg } = breakEven;
    parts.push(
      `Against "${name(breakEven.other)}", "${name(breakEven.ringed)}" carries ${fixed(gain_kg, 1, true)} kg. A kilogram of ` +
        `ring costs ${fixed(perKilogram, 3)} kg: ` +
        (ring_kg > 0
          ? `at a ring of ${fixed(ring_kg, 0)} kg both carry alike.`
          : 'no ring is light enough to carry as much.'),
    );
  }
  return parts.join('\n\n');
}
