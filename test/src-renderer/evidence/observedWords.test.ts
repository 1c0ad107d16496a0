import { describe, expect, it } from 'vitest';
import type { Calibration } from '../../../core/study/calibration/calibrate.ts';
import type { ObservedPoint } from '../../../core/study/calibration/observed.ts';
import {
  deviationWords,
  fitSentence,
  flightSentence,
  valueWords,
} from '../../../src-renderer/evidence/observedWords.ts';

const point: ObservedPoint = { quantity: 'speed', time_s: 1, value: 1, error: 1 };
const points = Array.from({ length: 50 }, () => point);

describe('a flight against observed points, in words', () => {
  it('says how far it lies from them, in standard errors', () => {
    // Fifty points, each two errors off.
    expect(flightSentence(points, 200)).toBe(
      'As the study has it, the flight lies 2.0 standard errors from the 50 points.',
    );
    expect(flightSentence([point], 9)).toContain('3.0 standard errors from the one point.');
  });

  it('judges the errors by reduced chi-square, two deviations of which are 0.4 for fifty points', () => {
    const said = (reducedChiSquare: number): string =>
      fitSentence({
        points,
        chiSquare: 50,
        chiSquareBefore: 200,
        reducedChiSquare,
      } as unknown as Calibration);
    expect(said(1.05)).toBe(
      'Fitted, the flight lies 1.0 standard errors from the points instead of 2.0. Reduced chi-square 1.05, ' +
        'what the errors account for.',
    );
    expect(said(1.39)).toContain(', what the errors account for');
    expect(said(1.41)).toContain('more than the errors account for');
    expect(said(0.59)).toContain('less than the errors account for');
  });

  it('writes a value to a tenth of its deviation, and a deviation to two digits', () => {
    const path = 'vehicle.bodies.booster.dryMass_kg';
    expect(valueWords(path, 109_892.53, 646)).toBe('109.89 t');
    expect(deviationWords(path, 646.2)).toBe('650 kg');
    expect(valueWords('x.ispVacuum_s', 339.06249, 0.17)).toBe('339.06 s');
    expect(valueWords('x.ispVacuum_s', 339.06249, Number.NaN)).toBe('339.0625 s');
    expect(deviationWords(path, Number.NaN)).toBe('–');
  });
});
