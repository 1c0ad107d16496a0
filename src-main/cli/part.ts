/** `plumeline part`: how two bodies come apart in a flight of the study, and whether they touch again. */
import { CAUTION } from '../../core/contract/caution.ts';
import { compileStudy, startValues } from '../../core/flight/compile.ts';
import { recordFlight } from '../../core/flight/record.ts';
import { chooseLink, withFailedPushers, withPushedParting } from '../../core/parting/links.ts';
import {
  partingTable,
  safeIgnition,
  workOutParting,
  type Parting,
  type SafeIgnition,
} from '../../core/parting/parting.ts';
import { ignitionEvent, settlingBefore } from '../../core/parting/settling/ignition.ts';
import {
  missingMotor,
  type SettlingMotor,
  type StagingSettling,
} from '../../core/parting/settling/staging.ts';
import type { PhaseSample } from '../../core/parting/phase.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { clock, fixed } from '../../core/units/figures.ts';
import { EXIT } from './exit.ts';
import type { OpenedStudy } from './openStudy.ts';
import type { Report } from './report.ts';
import { settlingSection } from './settling.ts';
import { section, table } from './tables.ts';
import { pause, type Terminal } from './terminal.ts';

export interface PartRequest {
  readonly link?: string;
  readonly failed: number;
  readonly clearance_m: number;
}

const TIMES_s = [0, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1, 1.5, 2, 3, 4, 6, 8, 10, 15, 20];

/** Flies the study's own numbers with the mechanisms felt, whatever the link says, and works the parting out. */
export async function part(terminal: Terminal, opened: OpenedStudy, request: PartRequest): Promise<Report> {
  const link = chooseLink(opened.study, request.link);
  const study = withFailedPushers(withPushedParting(opened.study, link), link, request.failed);
  const compiled = compileStudy(study);
  const record = recordFlight(compiled, startValues(compiled));
  await pause(terminal);
  const parting = workOutParting(compiled, record, link);
  const groups = Object.values(study.vehicle.bodies[link]!.engineGroups);
  const startDelay_s = Math.min(...groups.map((group) => group.startUp.delay_s), Infinity);
  const safe =
    groups.length === 0 ? null : safeIgnition(compiled, record, link, request.clearance_m, startDelay_s);
  const event = ignitionEvent(compiled, link);
  const settling = event === null ? null : settlingBefore(compiled, record, link, event);
  const motor =
    settling === null ? null : missingMotor(settling, parting.case.release_s, parting.case.above.mass_kg);
  const { phase } = parting;
  const ends = phase.steps.count === 0 ? [] : [phase.steps.end];
  const rows = partingTable(parting, [...TIMES_s.filter((t) => !(t >= (ends[0] ?? 0))), ...ends]);
  const clear = phase.code === 'clear';
  return {
    exit: clear ? EXIT.done : EXIT.noAnswer,
    ...(clear ? {} : { complaint: phase.message }),
    json: () => ({ command: 'part', ...partJson(parting, safe, request, settling, motor), table: rows }),
    csv: () => partCsv(rows, opened.hash),
    people: () =>
      [
        forPeople(terminal.colour, opened, parting, safe, rows, request),
        ...(settling === null ? [] : [settlingSection(settling, motor, terminal.colour)]),
      ].join('\n\n'),
  };
}

function partJson(
  parting: Parting,
  safe: SafeIgnition | null,
  request: PartRequest,
  settling: StagingSettling | null,
  motor: SettlingMotor | null,
): object {
  const { case: own, phase } = parting;
  return {
    link: own.link,
    release_s: own.release_s,
    failed: request.failed,
    verdict: phase.code,
    message: phase.message,
    joint_N: own.joint_N,
    opening: phase.opening,
    recontact: phase.recontact,
    rimOut_s: phase.rimOut_s,
    leastRim_m: phase.leastRim_m,
    leavingSpeed_mps: parting.leavingSpeed_mps,
    endSpeed_mps: parting.endSpeed_mps,
    endDrift_m: parting.endDrift_m,
    safeIgnition: safe,
    settling:
      settling === null
        ? null
        : {
            state: settling.state,
            ignition_s: settling.ignition_s,
            settledFrom_s: settling.settledFrom_s,
            criterion: settling.criterion,
            tanks: settling.tanks.map(({ history, ...tank }) => ({ id: history.fill.id, ...tank })),
          },
    settlingMotor: motor,
    upper: own.above,
    lower: own.below,
  };
}

const COLUMNS = [
  ['time_s', (s: PhaseSample) => s.time_s],
  ['gap_m', (s: PhaseSample) => s.gap_m],
  ['speed_mps', (s: PhaseSample) => s.speed_mps],
  ['drift_m', (s: PhaseSample) => s.drift_m],
  ['tilt_deg', (s: PhaseSample) => (s.tilt_rad * 180) / Math.PI],
  ['rim_m', (s: PhaseSample) => s.rim_m],
] as const;

function partCsv(rows: readonly PhaseSample[], hash: string): string {
  return csvText(
    [CAUTION, `inputs ${hash}`],
    COLUMNS.map(([name]) => name),
    rows.map((row) => COLUMNS.map(([, value]) => value(row))),
  );
}

function forPeople(
  colour: boolean,
  { study }: OpenedStudy,
  parting: Parting,
  safe: SafeIgnition | null,
  rows: readonly PhaseSample[],
  request: PartRequest,
): string {
  const { case: own, phase } = parting;
  const { opening } = phase;
  const failed = request.failed > 0 ? ` with ${request.failed} spring or pusher failed` : '';
  const joint = Math.abs(own.joint_N) / 1000;
  const sense = own.joint_N >= 0 ? 'presses the bodies together' : 'pulls at the joint';
  const lines = [
    `${study.title}: "${own.link}" is let go at ${clock(own.release_s)}${failed}. ${phase.message}`,
    `Before release ${fixed(joint, 1)} kN ${sense}. At release the upper body accelerates at ` +
      `${fixed(opening.upper_mps2, 3)} m/s², the lower at ${fixed(opening.lower_mps2, 3)} m/s².`,
  ];
  if (Number.isFinite(phase.leastRim_m) && rows.length > 0) {
    const out = Number.isNaN(phase.rimOut_s)
      ? 'never leaves the interstage'
      : `is out of the interstage after ${fixed(phase.rimOut_s, 2)} s`;
    lines.push(
      `The engine section ${out}; least clearance on the way ${fixed(1000 * phase.leastRim_m, 0)} mm.`,
    );
  }
  if (safe !== null) {
    lines.push(
      Number.isNaN(safe.delay_s)
        ? `No ignition is safe: ${fixed(safe.clearance_m, 1)} m of gap never open.`
        : `For ${fixed(safe.clearance_m, 1)} m of gap before thrust, start no sooner than ${fixed(safe.delay_s, 2)} s after release.`,
    );
  }
  if (rows.length === 0) return lines.join('\n');
  const cells = rows.map((row) => [
    fixed(row.time_s, 2),
    fixed(row.gap_m, 3),
    fixed(row.speed_mps, 3),
    fixed(1000 * row.drift_m, 1),
    fixed((row.tilt_rad * 180) / Math.PI, 3),
    Number.isFinite(row.rim_m) ? fixed(1000 * row.rim_m, 0) : '',
  ]);
  const head = ['s', 'gap, m', 'opening, m/s', 'drift, mm', 'tilt, °', 'to the rim, mm'];
  return [lines.join('\n'), section('After release', table(head, cells, colour), colour)].join('\n\n');
}
