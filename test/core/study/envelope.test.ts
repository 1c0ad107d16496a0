import { describe, expect, it } from 'vitest';
import { compileStudy } from '../../../core/flight/compile.ts';
import { solvePayload, type PayloadOutcome } from '../../../core/solve/payload.ts';
import { gapDerivative_kgps } from '../../../core/study/envelope.ts';
import { withGap } from '../../../core/study/gap.ts';
import { Worst } from '../earth/worst.ts';
import { r1 } from '../flight/studies.ts';

const study = r1();
const answers = new Map<number, PayloadOutcome>();
function answer(gap_s: number): PayloadOutcome {
  const known = answers.get(gap_s);
  if (known !== undefined) return known;
  const near = answers.values().next().value?.memory;
  const fresh = solvePayload(compileStudy(withGap(study, 'ignition', gap_s)), near ? { memory: near } : {});
  expect(fresh.status, fresh.message).toBe('converged');
  answers.set(gap_s, fresh);
  return fresh;
}

describe('the worth of a second of gap', () => {
  it('is by the multipliers what it is by solving again', () => {
    // The difference over ±0.5 s errs by a twenty-fourth of the payload's third derivative: the second, −0.4 kg/s² by the
    // reference's sweep, changes by less than 0.01 kg/s³ for a gap, and by some tenths for an overlap.
    const apart = new Worst('envelope derivative against re-solving', 'kg/s', 0.01);
    for (const gap_s of [-3, 2, 10, 25]) {
      const difference = answer(gap_s + 0.5).payload_kg - answer(gap_s - 0.5).payload_kg;
      const slope = gapDerivative_kgps(withGap(study, 'ignition', gap_s), 'ignition', answer(gap_s));
      console.log(
        `gap ${gap_s} s: ${slope.toFixed(3)} kg/s by multipliers, ${difference.toFixed(3)} by solving again`,
      );
      apart.add(`${gap_s} s`, slope - difference);
    }
    apart.report();
  });

  it('is another on each side of zero, where a gap becomes an overlap', () => {
    const here = answer(0).payload_kg;
    const oneSided = (side: number): number => {
      // Second order: (−3 P(0) + 4 P(h) − P(2h)) / 2h.
      const h = 0.25 * side;
      return (-3 * here + 4 * answer(h).payload_kg - answer(2 * h).payload_kg) / (2 * h);
    };
    // Here the formula errs by h²/3 = 0.02 of the third derivative.
    for (const side of [1, -1] as const) {
      const slope = gapDerivative_kgps(study, 'ignition', answer(0), side);
      console.log(
        `gap 0, side ${side}: ${slope.toFixed(3)} kg/s by multipliers, ${oneSided(side).toFixed(3)} by solving`,
      );
      expect(Math.abs(slope - oneSided(side))).toBeLessThan(0.02);
    }
    const more = gapDerivative_kgps(study, 'ignition', answer(0), 1);
    const less = gapDerivative_kgps(study, 'ignition', answer(0), -1);
    expect(less - more).toBeGreaterThan(100);
  });

  it('is no number where there is no answer', () => {
    const lost = { ...answer(0), status: 'notSolved' as const };
    expect(gapDerivative_kgps(study, 'ignition', lost)).toBeNaN();
    const unweighted = { ...answer(0), multipliers_kg: new Float64Array(0) };
    expect(gapDerivative_kgps(study, 'ignition', unweighted)).toBeNaN();
  });
});
