/** `plumeline fly`: one flight, of the study's own numbers or of the solved answer. */
import { CAUTION } from '../../core/contract/caution.ts';
import { compileStudy, startValues, type CompiledStudy } from '../../core/flight/compile.ts';
import { recordFlight, type FlightRecord } from '../../core/flight/record.ts';
import { ledgerByBurning } from '../../core/flight/ledgerPhases.ts';
import type { LogEntry } from '../../core/flight/log.ts';
import { getsBy } from '../../core/solve/reserveWords.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { EXIT } from './exit.ts';
import type { OpenedStudy } from './openStudy.ts';
import type { Report } from './report.ts';
import { answerSentence, endOf, outcomeJson, reserveLines, solve, type Solved } from './solve.ts';
import {
  ledgerSection,
  logSection,
  orbitLine,
  parameterRows,
  parameterSection,
  phaseSection,
} from './tables.ts';
import { pause, type Terminal } from './terminal.ts';

export async function fly(terminal: Terminal, opened: OpenedStudy, solved: boolean): Promise<Report> {
  const answer = solved ? await solve(terminal, opened) : null;
  if (answer !== null && answer.outcome.status !== 'converged') return noAnswer(opened, answer);
  const compiled = answer?.compiled ?? compileStudy(opened.study);
  const record = recordFlight(compiled, answer?.outcome.values ?? startValues(compiled));
  await pause(terminal);
  const { colour } = terminal;
  const flown = record.status.code === 'flown';
  const headline =
    answer === null
      ? []
      : [
          answerSentence(opened, answer.outcome, answer.verdicts),
          ...reserveLines({ verdicts: answer.verdicts.filter(getsBy) }),
        ];
  return {
    ...(!flown
      ? { exit: EXIT.noAnswer, complaint: record.status.message }
      : answer === null
        ? { exit: EXIT.done }
        : endOf(answer)),
    json: () => ({
      command: 'fly',
      ...(answer === null ? {} : { solve: outcomeJson(answer.outcome), returns: answer.verdicts }),
      ...flightJson(compiled, record),
    }),
    csv: () => logCsv(record.log, opened.hash),
    people: () =>
      [
        [
          ...headline,
          flown
            ? `${opened.study.title}: flown to insertion.`
            : `${opened.study.title}: ${record.status.message}`,
        ].join('\n'),
        ...(record.log.length === 0 ? [] : [logSection(record.log, colour, true)]),
        ...(record.orbit === null ? [] : [orbitLine(record.orbit, compiled)]),
        ...(record.ledger === null ? [] : [ledgerSection(record.ledger, colour)]),
        ...(record.ledgerPhases === null ? [] : [phaseSection(record.ledgerPhases, colour)]),
        parameterSection(compiled, record.values, solved, colour),
      ].join('\n\n'),
  };
}

/** What `--json` says of a flight. */
export function flightJson(compiled: CompiledStudy, record: FlightRecord): object {
  const { events } = compiled.study.sequence;
  return {
    flight: record.status,
    parameters: parameterRows(compiled, record.values),
    log: record.log,
    ledger: record.ledger,
    ledgerPhases: record.ledgerPhases,
    ledgerByBurning: record.ledgerPhases === null ? null : ledgerByBurning(record.ledgerPhases),
    orbit: record.orbit,
    gaps: record.gaps.map(({ event, ...gap }) => ({ event: events[event]!.id, ...gap })),
    tracks: record.tracks.map(({ id, bodies, start_s, end_s, end }) => ({
      id,
      bodies: bodies.map((body) => compiled.bodies[body]!.id),
      start_s,
      end_s,
      end,
    })),
    flightCounts: record.counts,
  };
}

function noAnswer(opened: OpenedStudy, { outcome }: Solved): Report {
  return {
    exit: EXIT.noAnswer,
    complaint: outcome.message,
    json: () => ({ command: 'fly', solve: outcomeJson(outcome) }),
    csv: () => logCsv([], opened.hash),
    people: () => answerSentence(opened, outcome),
  };
}

const LOG_COLUMNS = [
  ['time_s', (e: LogEntry) => e.time_s],
  ['id', (e: LogEntry) => e.id],
  ['name', (e: LogEntry) => e.name],
  ['cause', (e: LogEntry) => e.cause],
  ['trigger', (e: LogEntry) => e.trigger],
  ['track', (e: LogEntry) => e.track],
  ['height_m', (e: LogEntry) => e.height_m],
  ['speedRelative_mps', (e: LogEntry) => e.speedRelative_mps],
  ['speedInertial_mps', (e: LogEntry) => e.speedInertial_mps],
  ['flightPathAngle_deg', (e: LogEntry) => e.flightPathAngle_deg],
  ['downrange_m', (e: LogEntry) => e.downrange_m],
  ['dynamicPressure_Pa', (e: LogEntry) => e.dynamicPressure_Pa],
  ['mach', (e: LogEntry) => e.mach],
  ['massBefore_kg', (e: LogEntry) => e.before.mass_kg],
  ['massAfter_kg', (e: LogEntry) => e.after.mass_kg],
  ['thrustBefore_N', (e: LogEntry) => e.before.thrust_N],
  ['thrustAfter_N', (e: LogEntry) => e.after.thrust_N],
  ['sensedBefore_mps2', (e: LogEntry) => e.before.sensed_mps2],
  ['sensedAfter_mps2', (e: LogEntry) => e.after.sensed_mps2],
] as const;

function logCsv(log: readonly LogEntry[], hash: string): string {
  return csvText(
    [CAUTION, `inputs ${hash}`],
    LOG_COLUMNS.map(([name]) => name),
    log.map((entry) => LOG_COLUMNS.map(([, value]) => value(entry))),
  );
}
