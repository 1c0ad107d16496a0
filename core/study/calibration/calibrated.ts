/** A study with what a calibration found. */
import type { Study } from '../../contract/study.ts';
import { normalQuantile } from '../../math/normalQuantile.ts';
import { withNumbers } from '../numbers.ts';
import type { Calibration } from './calibrate.ts';

/** Two thirds of a normal distribution's weight lie within so many deviations of its middle. */
const TWO_THIRDS = normalQuantile(5 / 6);

/**
 * The study with the calibrated values, their spreads normal with what the points left uncertain (each in its own unit), and
 * a note of how they came about; inputs at an end of their spread keep it. Correlations are not part of a study. Throws
 * RangeError for a calibration that has not converged: it is no answer.
 */
export function calibratedStudy(study: Study, calibration: Calibration): Study {
  if (calibration.status !== 'converged') {
    throw new RangeError(
      `calibration: received one that is ${calibration.status}, allowed is a converged one`,
    );
  }
  const { inputs, points, reducedChiSquare } = calibration;
  const changed = withNumbers(study, inputs);
  const provenance = { ...study.provenance };
  for (const { path, value, nominal, deviation, heldAt } of inputs) {
    const before = provenance[path]!;
    const said = `calibrated from ${nominal} to ${points.length} observed points, reduced chi-square ${reducedChiSquare.toFixed(2)}`;
    const note = [before.note, said].filter((each) => each !== undefined).join('; ');
    const half = TWO_THIRDS * deviation;
    provenance[path] = {
      ...before,
      note: note.slice(-4000),
      ...(heldAt === null ? { spread: { shape: 'normal', low: value - half, high: value + half } } : {}),
    };
  }
  return { ...changed, provenance };
}
