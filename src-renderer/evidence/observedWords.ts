/** A study's flight against observed points, in words. */
import type { ObservedPoint } from '../../core/study/calibration/observed.ts';
import type { Calibration } from '../../core/study/calibration/calibrate.ts';
import { fixed } from '../../core/units/figures.ts';
import { readable } from '../../core/units/readable.ts';

/** Root mean square of the residuals, in standard errors. */
function off(chiSquare: number, points: number): string {
  return fixed(Math.sqrt(chiSquare / points), 1);
}

/** How far the study's own flight lies from the points. */
export function flightSentence(points: readonly ObservedPoint[], chiSquare: number): string {
  const count = points.length === 1 ? 'the one point' : `the ${points.length} points`;
  return `As the study has it, the flight lies ${off(chiSquare, points.length)} standard errors from ${count}.`;
}

/** What a fit came to, and whether the errors are what they were said to be. */
export function fitSentence({ points, chiSquare, chiSquareBefore, reducedChiSquare }: Calibration): string {
  // Of a reduced chi-square of so many points two deviations.
  const room = 2 * Math.sqrt(2 / points.length);
  const judged =
    reducedChiSquare > 1 + room
      ? 'more than the errors account for: something that was not fitted is wrong, or the errors are too small'
      : reducedChiSquare < 1 - room
        ? 'less than the errors account for: they may be smaller than stated'
        : 'what the errors account for';
  return (
    `Fitted, the flight lies ${off(chiSquare, points.length)} standard errors from the points instead of ` +
    `${off(chiSquareBefore, points.length)}. Reduced chi-square ${fixed(reducedChiSquare, 2)}, ${judged}.`
  );
}

/** A value as people read it, cut to a tenth of what is uncertain of it; both in the unit of the path's last word. */
export function valueWords(path: string, value: number, deviation: number): string {
  const step = deviation > 0 ? 10 ** (Math.floor(Math.log10(deviation)) - 1) : 0;
  return asText(path, step > 0 ? Math.round(value / step) * step : value);
}

/** A deviation to two digits; a dash where there is none. */
export function deviationWords(path: string, deviation: number): string {
  return Number.isFinite(deviation) ? asText(path, Number(deviation.toPrecision(2))) : '–';
}

/** A number with its unit, in full. */
export function asText(path: string, value: number): string {
  const { figure, unit } = readable(path, value);
  return unit === '' ? figure : `${figure} ${unit}`;
}
