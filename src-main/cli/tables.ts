/** Tables for people, and the parts that several reports show. */
import Table from 'cli-table3';
import picocolors from 'picocolors';
import { G0_mps2 } from '../../core/constants/physical.ts';
import type { Goal } from '../../core/contract/study.ts';
import type { Orbit } from '../../core/earth/orbit.ts';
import type { CompiledStudy } from '../../core/flight/compile.ts';
import type { Ledger } from '../../core/flight/ledger.ts';
import { ledgerByBurning, type LedgerPhase } from '../../core/flight/ledgerPhases.ts';
import type { LogEntry } from '../../core/flight/log.ts';
import { limitFigure, limitName, type LimitOutcome } from '../../core/solve/limitOutcome.ts';
import { clock, fixed, gees, km, kPa, mps, MN, tonnes } from '../../core/units/figures.ts';

/** Words and figures in columns without rules; a column is right-aligned unless its name ends with a blank. */
export function table(
  head: readonly string[],
  rows: readonly (readonly string[])[],
  colour: boolean,
): string {
  const { dim } = picocolors.createColors(colour);
  const blank = Object.fromEntries(EDGES.map((edge) => [edge, '']));
  const grid = new Table({
    chars: { ...blank, middle: '   ' },
    style: { head: [], border: [], 'padding-left': 0, 'padding-right': 0 },
    colAligns: head.map((name) => (name.endsWith(' ') ? 'left' : 'right')),
  });
  if (head.some((name) => name.trim() !== '')) grid.push(head.map((name) => dim(name.trim())));
  for (const row of rows) grid.push([...row]);
  return grid
    .toString()
    .split('\n')
    .map((line) => line.trimEnd())
    .join('\n');
}

const EDGES = [
  ...['top', 'top-mid', 'top-left', 'top-right', 'bottom', 'bottom-mid', 'bottom-left', 'bottom-right'],
  ...['left', 'left-mid', 'mid', 'mid-mid', 'right', 'right-mid'],
];

/** A heading and what stands under it. */
export function section(heading: string, body: string, colour: boolean): string {
  return `${picocolors.createColors(colour).bold(heading)}\n${body}`;
}

type Terms = Pick<Ledger, keyof Ledger & keyof LedgerPhase>;

/** The losses of a ledger in the order in which they are shown. */
export const LOSSES = [
  ['gravity', (l: Terms) => l.gravity_mps],
  ['steering', (l: Terms) => l.steering_mps],
  ['drag', (l: Terms) => l.drag_mps],
  ['back-pressure', (l: Terms) => l.backPressure_mps],
  ['centrifugal', (l: Terms) => l.centrifugal_mps],
] as const;

export function ledgerSection(ledger: Ledger, colour: boolean): string {
  const rows = [
    ['ideal velocity', mps(ledger.ideal_mps)],
    ...LOSSES.map(([name, value]) => [`less ${name}`, fixed(value(ledger), 1)]),
    ['speed against the ground', mps(ledger.speedGained_mps)],
    ['the turning Earth adds', fixed(ledger.relativeToInertial_mps, 1, true)],
    ['what does not close', ledger.closure_mps.toExponential(1).replace('-', '−').replace('e-', 'e−')],
  ];
  return section('Where the metres per second went', table([' ', ''], rows, colour), colour);
}

/** The ledger by spans between events, and added up by which bodies burn. */
export function phaseSection(phases: readonly LedgerPhase[], colour: boolean): string {
  const terms = [['ideal', (l: Terms) => l.ideal_mps], ...LOSSES] as const;
  const figures = (of: Terms): string[] => terms.map(([, value]) => fixed(value(of), 1));
  const rows = [
    ...phases.map((phase) => [
      clock(phase.start_s),
      phase.events.join(', '),
      phase.burning.length === 0 ? 'coast' : phase.burning.join(' + '),
      ...figures(phase),
    ]),
    ...Object.entries(ledgerByBurning(phases)).map(([burning, sum]) => [
      'all',
      '',
      burning.replaceAll('+', ' + '),
      ...figures(sum),
    ]),
  ];
  const head = ['from', 'with ', 'burning ', ...terms.map(([name]) => name)];
  return section('The same from event to event, m/s', table(head, rows, colour), colour);
}

export function orbitLine(orbit: Orbit, { study, earth }: CompiledStudy): string {
  const degrees = (angle_rad: number): string => fixed((angle_rad * 180) / Math.PI, 2);
  const { ascendingNode_deg, argumentOfPerigee_deg } = study.target;
  const aimedAt = [
    ...(ascendingNode_deg === undefined ? [] : [`ascending node ${degrees(orbit.raan_rad)}°`]),
    ...(argumentOfPerigee_deg === undefined
      ? []
      : [`argument of perigee ${degrees(orbit.argumentOfPerigee_rad)}°`]),
  ];
  const angles = [`inclination ${degrees(orbit.inclination_rad)}°`, ...aimedAt].join(', ');
  return (
    `Orbit at insertion: perigee ${km(orbit.perigeeHeight_m)} km, apogee ${km(orbit.apogeeHeight_m)} km above ` +
    `${(earth.radius_m / 1000).toFixed(3)} km, ${angles} (no error band).`
  );
}

/** The limits of an answer, which of them bind, and what easing those would give. */
export function limitSection(limits: readonly LimitOutcome[], goal: Goal, colour: boolean): string {
  const rows = limits.map(({ limit, value, time_s, binds, worth_kg }) => [
    limitName(limit),
    limitFigure(limit, value),
    clock(time_s),
    `${limit.kind === 'altitude' ? 'at least' : 'at most'} ${limitFigure(limit, limit.value)}`,
    binds
      ? `binds; ${limitFigure(limit, easing(limit))} easier gives ${fixed(Math.abs(worth_kg * easing(limit)), 1)} kg`
      : 'kept',
  ]);
  const head = ['limit ', 'reached', 'm:ss', 'allowed', ' '];
  return section(`What the flight keeps to, for ${GOALS[goal]}`, table(head, rows, colour), colour);
}

/** A small change of a limit's quantity that people think in, SI. */
function easing({ kind }: LimitOutcome['limit']): number {
  switch (kind) {
    case 'dynamicPressure':
      return 100;
    case 'pressureAngle':
      return (10 * Math.PI) / 180;
    case 'sensedAcceleration':
      return 0.01 * G0_mps2;
    case 'heatFlux':
      return 10;
    case 'altitude':
      return 100;
  }
}

/** Goals of a solve in words. */
const GOALS: Readonly<Record<Goal, string>> = {
  mostPayload: 'the most payload',
  mostFinalMass: 'the most mass at insertion',
  leastPropellant: 'the least propellant',
};

export function logSection(log: readonly LogEntry[], colour: boolean, whole: boolean): string {
  const name = (entry: LogEntry): string =>
    entry.track === 'main' ? entry.name : `${entry.track}: ${entry.name}`;
  const short = (entry: LogEntry): string[] => [
    clock(entry.time_s),
    name(entry),
    km(entry.height_m),
    mps(entry.speedRelative_mps),
  ];
  const head = ['m:ss', 'event ', 'height, km', 'speed, m/s'];
  if (!whole) return section('What happened', table(head, log.map(short), colour), colour);
  const rows = log.map((entry) => [
    ...short(entry),
    kPa(entry.dynamicPressure_Pa),
    gees(entry.after.sensed_mps2),
    tonnes(entry.after.mass_kg),
    MN(entry.after.thrust_N),
    entry.trigger,
  ]);
  const more = ['q, kPa', 'felt, g', 'mass, t', 'thrust, MN', 'set off by '];
  return section('What happened', table([...head, ...more], rows, colour), colour);
}

/** The numbers that a solve may change, as flown: SI or radians in, the units of the study's file out. */
export function parameterRows(
  compiled: CompiledStudy,
  values: Float64Array,
): { path: string; name: string; value: number; unit: string; free: boolean }[] {
  return compiled.parameters.map((parameter, i) => ({
    path: parameter.path,
    name: parameter.name,
    value: values[i]! / parameter.perUnit,
    unit: parameter.unit,
    free: parameter.free,
  }));
}

export function parameterSection(
  compiled: CompiledStudy,
  values: Float64Array,
  solved: boolean,
  colour: boolean,
): string {
  const rows = parameterRows(compiled, values).map((row) => [
    row.name,
    quantity(row.value, row.unit),
    solved && row.free ? 'solved' : 'kept',
    row.path,
  ]);
  return section('Numbers flown', table([' ', '', ' ', ' '], rows, colour), colour);
}

/** Enough decimals to tell two steerings apart. */
function quantity(value: number, unit: string): string {
  switch (unit) {
    case 'kg':
      return `${tonnes(value)} t`;
    case 'deg':
      return `${fixed(value, 3)}°`;
    case '':
      return fixed(value, 4);
    default:
      return `${fixed(value, 6)} ${unit}`;
  }
}
