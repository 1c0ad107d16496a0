/**
 * A flight that was flown and reported, flown again: a study made from the report's masses, thrusts and times, its steering
 * fitted to the reported insertion alone, and every other reported event scored. What nobody published, the drag table, is
 * flown at a low, a middle and a high level, each fitted anew.
 */
import type { Study } from '../../contract/study.ts';
import type { EvidenceOutcome, FittedNumber } from '../rows.ts';
import { reportedCharts } from './charts.ts';
import { Reflown } from './reflown.ts';
import type { ReportedFlight } from './report.ts';
import { scoreReported } from './scores.ts';
import { windNotes } from './windOfTheDay.ts';

/**
 * Fits and flies the study at three drag levels and scores the middle one; SI and degrees. When a fit fails its rows say so
 * by failing.
 */
export function checkReportedFlight(
  id: string,
  title: string,
  study: Study,
  published: ReportedFlight,
): EvidenceOutcome {
  const mid = new Reflown(study, published, 'mid', null);
  const flights = [
    mid,
    new Reflown(study, published, 'low', mid.fit.values),
    new Reflown(study, published, 'high', mid.fit.values),
  ] as const;
  const { paths } = published.fit;
  return {
    id,
    title,
    about: `Reflown from the flight evaluation report, ${paths.length} steering numbers fitted to its insertion alone. ${mid.fit.message}`,
    rows: scoreReported(published, flights),
    fitted: fittedNumbers(flights, paths),
    charts: flights.every((flight) => flight.usable) ? reportedCharts(flights, published) : [],
    notes: [...published.notes, ...windNotes(study, published, mid)],
  };
}

function fittedNumbers(flights: readonly Reflown[], paths: readonly string[]): FittedNumber[] {
  const [mid, low, high] = flights;
  return paths.map((path) => {
    const index = mid!.compiled.parameters.findIndex((parameter) => parameter.path === path);
    const { name, unit, perUnit } = mid!.compiled.parameters[index]!;
    const read = (flight: Reflown): number => flight.fit.values[index]! / perUnit;
    return { path, name, unit, value: read(mid!), band: [read(low!), read(high!)] };
  });
}
