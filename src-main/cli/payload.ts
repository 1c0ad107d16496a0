/** `plumeline payload`: the most payload that reaches the target orbit, and how it gets there. */
import { CAUTION } from '../../core/contract/caution.ts';
import { recordFlight } from '../../core/flight/record.ts';
import { goalOf } from '../../core/solve/goal.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { EXIT } from './exit.ts';
import { flightJson } from './fly.ts';
import type { OpenedStudy } from './openStudy.ts';
import type { Report } from './report.ts';
import { answerSentence, solveLine, outcomeJson, solve } from './solve.ts';
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

export async function payload(terminal: Terminal, opened: OpenedStudy): Promise<Report> {
  const { compiled, outcome } = await solve(terminal, opened);
  const { colour } = terminal;
  const converged = outcome.status === 'converged';
  // What is not converged is shown with its reason alone: its numbers are no answer.
  const record = converged ? recordFlight(compiled, outcome.values) : null;
  await pause(terminal);
  return {
    exit: converged ? EXIT.done : EXIT.noAnswer,
    ...(converged ? {} : { complaint: outcome.message }),
    json: () => ({
      command: 'payload',
      goal: goalOf(compiled),
      ...outcomeJson(outcome),
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
        answerSentence(opened, outcome),
        ...(record === null || outcome.limits.length === 0
          ? []
          : [limitSection(outcome.limits, goalOf(compiled), colour)]),
        ...(record === null ? [] : [parameterSection(compiled, record.values, true, colour)]),
        ...(record?.orbit == null ? [] : [orbitLine(record.orbit, compiled)]),
        ...(record?.ledger == null ? [] : [ledgerSection(record.ledger, colour)]),
        ...(record === null ? [] : [logSection(record.log, colour, false)]),
        solveLine(outcome),
      ].join('\n\n'),
  };
}
