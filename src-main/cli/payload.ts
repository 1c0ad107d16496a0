/** `plumeline payload`: the most payload that reaches the target orbit, and how it gets there. */
import { CAUTION } from '../../core/contract/caution.ts';
import { recordFlight } from '../../core/flight/record.ts';
import { goalOf } from '../../core/solve/goal.ts';
import { getsBy } from '../../core/solve/reserveWords.ts';
import { checkByRestarts, RESTARTS_AGREE_kg, type RestartReport } from '../../core/solve/restarts.ts';
import { fixed } from '../../core/units/figures.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { EXIT } from './exit.ts';
import { flightJson } from './fly.ts';
import type { OpenedStudy } from './openStudy.ts';
import type { Report } from './report.ts';
import { answerSentence, endOf, solveLine, outcomeJson, reserveLines, solve } from './solve.ts';
import {
  ledgerSection,
  limitSection,
  logSection,
  LOSSES,
  orbitLine,
  parameterRows,
  parameterSection,
} from './tables.ts';
import { pause, type Terminal } from './terminal.ts';

/** The starts of `--restarts` are the same each time. */
const SEED = 1;

/** `restarts`: from how many starts around the answer it is solved again; 0 for none. */
export async function payload(terminal: Terminal, opened: OpenedStudy, restarts: number): Promise<Report> {
  const solved = await solve(terminal, opened);
  const { compiled, outcome, verdicts } = solved;
  const { colour } = terminal;
  const converged = outcome.status === 'converged';
  // What is not converged is shown with its reason alone: its numbers are no answer.
  const record = converged ? recordFlight(compiled, outcome.values) : null;
  await pause(terminal);
  const checked =
    converged && restarts > 0 ? checkByRestarts(solved, restarts, SEED, terminal.interrupted) : null;
  await pause(terminal);
  const better = checked === null || checked.better === null ? null : restartSentence(checked);
  return {
    ...(better === null ? endOf(solved) : { exit: EXIT.noAnswer, complaint: better }),
    json: () => ({
      command: 'payload',
      goal: goalOf(compiled),
      ...outcomeJson(outcome),
      returns: verdicts,
      ...(checked === null ? {} : { restarts: { ...checked, better: checked.better?.values ?? null } }),
      ...(record === null ? {} : flightJson(compiled, record)),
    }),
    csv: () => {
      const rows: [string, string | number, string][] = [
        ['status', outcome.status, ''],
        ['message', outcome.message, ''],
        ['goal', goalOf(compiled), ''],
        ['payload', outcome.payload_kg, 'kg'],
        ['mass at insertion', outcome.finalMass_kg, 'kg'],
        ['propellant burned', outcome.propellant_kg, 'kg'],
        ['kktResidual', outcome.kktResidual, ''],
        ['feasibility', outcome.feasibility, ''],
      ];
      for (const { plan, state, kept_kg, takes_kg, spare_kg, worth_kg } of verdicts)
        rows.push(
          [`return ${plan}`, state, ''],
          [`return ${plan} kept`, kept_kg, 'kg'],
          [`return ${plan} takes`, takes_kg, 'kg'],
          [`return ${plan} spare`, spare_kg, 'kg'],
          [`return ${plan} spare worth payload`, worth_kg, 'kg'],
        );
      if (checked !== null)
        rows.push(
          ['restarts', checked.tried, ''],
          ['restarts that converged', checked.converged, ''],
          ['restarts that came to the same', checked.same, ''],
        );
      if (record !== null) {
        for (const { limit, value, time_s, binds, worth_kg } of outcome.limits) {
          rows.push(
            [limit.path, value, limit.path.slice(limit.path.lastIndexOf('_') + 1)],
            [`${limit.path} reached at`, time_s, 's'],
            [`${limit.path} binds`, binds ? 1 : 0, ''],
            [`${limit.path} worth a unit`, worth_kg, 'kg'],
          );
        }
        for (const { path, value, unit } of parameterRows(compiled, record.values))
          rows.push([path, value, unit]);
        const { ledger, orbit } = record;
        if (ledger !== null) {
          rows.push(['ideal velocity', ledger.ideal_mps, 'm/s']);
          for (const [name, value] of LOSSES) rows.push([`${name} loss`, value(ledger), 'm/s']);
          rows.push(
            ['speed gained', ledger.speedGained_mps, 'm/s'],
            ['ledger closure', ledger.closure_mps, 'm/s'],
          );
        }
        if (orbit !== null)
          rows.push(['perigee', orbit.perigeeHeight_m, 'm'], ['apogee', orbit.apogeeHeight_m, 'm']);
      }
      return csvText([CAUTION, `inputs ${opened.hash}`], ['quantity', 'value', 'unit'], rows);
    },
    people: () =>
      [
        answerSentence(opened, outcome, verdicts),
        ...reserveLines({ verdicts: verdicts.filter(getsBy) }),
        ...(record === null || outcome.limits.length === 0
          ? []
          : [limitSection(outcome.limits, goalOf(compiled), colour)]),
        ...(record === null ? [] : [parameterSection(compiled, record.values, true, colour)]),
        ...(record?.orbit == null ? [] : [orbitLine(record.orbit, compiled)]),
        ...(record?.ledger == null ? [] : [ledgerSection(record.ledger, colour)]),
        ...(record === null ? [] : [logSection(record.log, colour, false)]),
        solveLine(outcome),
        ...(checked === null ? [] : [restartSentence(checked)]),
        ...(checked?.better == null
          ? []
          : [`The better one:\n${parameterSection(compiled, checked.better.values, true, colour)}`]),
      ].join('\n\n'),
  };
}

/** What the starts around the answer came to. */
function restartSentence(report: RestartReport): string {
  const { tried, converged, same, otherWay, scatter_kg, better_kg, better } = report;
  const head = `Solved again from ${tried} starts around the answer: ${converged} converged`;
  const around =
    otherWay === 0 ? '' : `, ${otherWay} of them on flights round the other way, which do not count`;
  if (better !== null)
    return `${head}${around}; one is better by ${fixed(better_kg, 1)} kg, so the answer above is only the best near its start. Give the study the better one's steering as its guess.`;
  const agree = `${same} came to the answer within ${RESTARTS_AGREE_kg} kg (the farthest ${scatter_kg.toExponential(0)} kg off)`;
  return `${head}${around}; ${agree}, none to a better one.`;
}
