/** `plumeline calibrate`: inputs of a study fitted to observed points of its flight. */
import { CAUTION } from '../../core/contract/caution.ts';
import { calibrationSteps, type Calibration } from '../../core/study/calibration/calibrate.ts';
import { calibrationCsv } from '../../core/study/calibration/calibrationCsv.ts';
import { calibratedStudy } from '../../core/study/calibration/calibrated.ts';
import { readPoints, PointsError, type ObservedPoint } from '../../core/study/calibration/observed.ts';
import { NumberError } from '../../core/study/numbers.ts';
import { HostFailure } from '../host/failure.ts';
import { readTextFile } from '../host/studyFiles.ts';
import { CommandFailure, EXIT } from './exit.ts';
import type { OpenedStudy } from './openStudy.ts';
import { deliverText, type Report } from './report.ts';
import { workThrough } from './progress.ts';
import { section, table } from './tables.ts';
import type { Terminal } from './terminal.ts';

export interface CalibrateOptions {
  readonly points: string;
  readonly fit: string;
  /** Where the calibrated study goes. */
  readonly out?: string;
}

/** Calibrates and, when asked, writes the calibrated study. Throws CommandFailure for what cannot be read or fitted. */
export async function calibrateCommand(
  terminal: Terminal,
  opened: OpenedStudy,
  options: CalibrateOptions,
): Promise<Report> {
  const points = await readObserved(options.points);
  const paths = options.fit.split(',').map((path) => path.trim());
  const found = await fit(opened, points, paths, terminal);
  const converged = found.status === 'converged';
  if (converged && options.out !== undefined) {
    const text = `${JSON.stringify(calibratedStudy(opened.study, found), null, 2)}\n`;
    await deliverText(terminal, text, options.out);
  }
  return {
    exit: converged ? EXIT.done : EXIT.noAnswer,
    ...(converged ? {} : { complaint: found.message }),
    // What has not converged is no answer: its reason alone.
    json: () => ({
      command: 'calibrate',
      ...(converged ? found : { status: found.status, message: found.message, counts: found.counts }),
    }),
    csv: () => calibrationCsv(found, CAUTION, opened.hash),
    people: () =>
      converged
        ? people(opened, found, terminal.colour)
        : `${opened.study.title}: no answer. ${found.message}`,
  };
}

async function readObserved(path: string): Promise<ObservedPoint[]> {
  try {
    return readPoints(await readTextFile(path));
  } catch (error) {
    if (error instanceof HostFailure) throw new CommandFailure(EXIT.badInput, `--points: ${error.message}`);
    if (error instanceof PointsError) throw new CommandFailure(EXIT.badInput, `--points: ${error.message}.`);
    throw error;
  }
}

async function fit(
  opened: OpenedStudy,
  points: readonly ObservedPoint[],
  paths: readonly string[],
  terminal: Terminal,
): Promise<Calibration> {
  try {
    const { interrupted } = terminal;
    const steps = calibrationSteps(opened.study, points, paths, { stop: interrupted });
    return await workThrough(terminal, steps, 'steps at most');
  } catch (error) {
    if (error instanceof NumberError) throw new CommandFailure(EXIT.badInput, `--${error.message}.`);
    throw error;
  }
}

function people(opened: OpenedStudy, found: Calibration, colour: boolean): string {
  const { inputs, points, correlation } = found;
  const digits = (value: number): string => (Number.isNaN(value) ? '' : String(Number(value.toPrecision(6))));
  const short = (value: number): string => (Number.isNaN(value) ? '' : value.toFixed(2));
  const rows = inputs.map(({ path, nominal, priorDeviation, value, deviation, heldAt }) => [
    path,
    digits(nominal),
    digits(priorDeviation),
    digits(value),
    heldAt === null ? digits(deviation) : `at its ${heldAt} end`,
  ]);
  const observed = points.map((p) => [
    p.quantity,
    digits(p.time_s),
    digits(p.value),
    digits(p.error),
    digits(p.before),
    digits(p.computed),
    short(p.residual),
  ]);
  const square = inputs.map(({ path }, i) => [path, ...correlation[i]!.map(short)]);
  return [
    `${opened.study.title}: ${inputs.length} ${inputs.length === 1 ? 'input' : 'inputs'} calibrated to ${points.length} points. ${found.message} ` +
      `Chi-square of the points ${short(found.chiSquareBefore)} before, ${short(found.chiSquare)} after; ` +
      `reduced, with the inputs' own uncertainty, ${short(found.reducedChiSquare)}.`,
    section(
      'Inputs',
      table(['path ', 'stated', 'deviation', 'calibrated', 'deviation left'], rows, colour),
      colour,
    ),
    section('Correlation', table(['path ', ...inputs.map((_, i) => String(i + 1))], square, colour), colour),
    section(
      'Points, SI; residual in errors',
      table(['quantity ', 'time', 'observed', 'error', 'before', 'computed', 'residual'], observed, colour),
      colour,
    ),
  ].join('\n\n');
}
