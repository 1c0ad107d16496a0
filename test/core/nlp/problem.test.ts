import { describe, expect, test } from 'vitest';
import type { NlpOptions, NlpProblem } from '../../../core/nlp/problem.ts';
import { SqpSolver, solveNlp } from '../../../core/nlp/sqp.ts';
import { familyMember, tight } from './problems.ts';

const start = new Float64Array(5);
const good = solveNlp(familyMember(0.4), start, tight);

describe('a caller’s error throws and names what was received and what is allowed', () => {
  const problems: [string, Partial<NlpProblem>, RegExp][] = [
    ['no variables', { variableCount: 0 }, /problem\.variableCount: received 0, allowed an integer ≥ 1/],
    ['half a constraint', { inequalityCount: 1.5 }, /problem\.inequalityCount: received 1\.5/],
    ['short bounds', { lower: new Float64Array(4) }, /problem\.lower\.length: received 4, allowed 5/],
    [
      'bounds the wrong way round',
      { lower: Float64Array.of(0, 0, 0, 0, 0.3) },
      /problem\.upper\[4\]: received 0\.2, allowed at least problem\.lower\[4\] = 0\.3/,
    ],
    [
      'a bound that is no number',
      { lower: Float64Array.of(0, NaN, 0, 0, 0) },
      /problem\.lower\[1\]: received NaN/,
    ],
    [
      'an upper bound of −∞',
      { upper: Float64Array.of(-Infinity, 9, 9, 9, 9) },
      /problem\.upper\[0\]: received -Infinity/,
    ],
  ];
  test.each(problems)('%s', (_name, changes, message) => {
    expect(() => solveNlp({ ...familyMember(0.4), ...changes }, start, tight)).toThrow(message);
  });

  const hessian = good.warm.hessian.slice();
  hessian[1]! += 1;
  const options: [string, Partial<NlpOptions>, RegExp][] = [
    [
      'a tolerance of zero',
      { feasibilityTolerance: 0 },
      /options\.feasibilityTolerance: received 0, allowed a finite number > 0/,
    ],
    ['a negative limit', { maxIterations: -1 }, /options\.maxIterations: received -1/],
    ['a first step of no length', { firstStep: 0 }, /options\.firstStep/],
    ['a precision that is no number', { precision: NaN }, /options\.precision: received NaN/],
    [
      'typical sizes of the wrong length',
      { scaling: { typicalSize: new Float64Array(2) } },
      /typicalSize\.length: received 2, allowed 5/,
    ],
    [
      'a typical size of zero',
      { scaling: { typicalSize: new Float64Array(5) } },
      /typicalSize\[0\]: received 0/,
    ],
    [
      'a warm start of another problem',
      { start: { ...good.warm, multipliers: new Float64Array(2) } },
      /start\.multipliers\.length: received 2, allowed 3/,
    ],
    [
      'a warm start that is not finite',
      { start: { ...good.warm, penalties: Float64Array.of(1, NaN, 1) } },
      /start\.penalties\[1\]: received NaN/,
    ],
    [
      'a Hessian that is not symmetric',
      { start: { ...good.warm, hessian } },
      /start\.hessian\[5\].*symmetric/,
    ],
    [
      'a Hessian that is not positive definite',
      { start: { ...good.warm, hessian: new Float64Array(25) } },
      /start\.hessian: received an indefinite matrix/,
    ],
  ];
  test.each(options)('%s', (_name, changes, message) => {
    expect(() => solveNlp(familyMember(0.4), start, { ...tight, ...changes })).toThrow(message);
  });

  test('a start of the wrong length or not finite', () => {
    expect(() => solveNlp(familyMember(0.4), new Float64Array(4), tight)).toThrow(
      /start\.length: received 4, allowed 5/,
    );
    expect(() => solveNlp(familyMember(0.4), Float64Array.of(0, 0, 0, 0, NaN), tight)).toThrow(
      /start\[4\]: received NaN/,
    );
  });

  test('a problem of other sizes than the solver’s', () => {
    expect(() => new SqpSolver(5, 1, 1).solve(familyMember(0.4), start, tight)).toThrow(
      /received 5 variables, 2 equalities, 1 inequalities, allowed 5, 1, 1/,
    );
  });

  test('what the problem itself throws passes through, and the solver can be used again', () => {
    const solver = new SqpSolver(5, 2, 1);
    const broken = {
      ...familyMember(0.4),
      differentiate: () => {
        throw new Error('the engine fell off');
      },
    };
    expect(() => solver.solve(broken, start, tight)).toThrow('the engine fell off');
    expect(solver.solve(familyMember(0.4), start, tight)).toEqual(good);
  });
});
