import { describe, expect, test } from 'vitest';
import type { NlpProblem } from '../../../core/nlp/problem.ts';
import { solveNlp } from '../../../core/nlp/sqp.ts';
import { expressionProblem } from '../../published/nlp/expressionProblem.ts';
import data from '../../published/nlp/hock-schittkowski.json' with { type: 'json' };
import { familyMember, tight } from './problems.ts';

/** The problem in other units: x' = x·unit, f' = f·objective, c' = c·row. */
function inUnits(problem: NlpProblem, unit: number[], objective: number, rows: number[]): NlpProblem {
  const n = problem.variableCount;
  const inner = new Float64Array(n);
  const back = (x: Float64Array): Float64Array => {
    for (let j = 0; j < n; j++) inner[j] = x[j]! / unit[j]!;
    return inner;
  };
  return {
    ...problem,
    lower: problem.lower.map((value, j) => value * unit[j]!),
    upper: problem.upper.map((value, j) => value * unit[j]!),
    evaluate(x, constraints) {
      const value = problem.evaluate(back(x), constraints);
      rows.forEach((row, i) => (constraints[i]! *= row));
      return value * objective;
    },
    differentiate(x, gradient, jacobian) {
      const done = problem.differentiate(back(x), gradient, jacobian);
      for (let j = 0; j < n; j++) {
        gradient[j]! *= objective / unit[j]!;
        rows.forEach((row, i) => (jacobian[i * n + j]! *= row / unit[j]!));
      }
      return done;
    },
  };
}

describe('internal scaling', () => {
  const unit = [1e6, 1e-3, 40, 1, 500];
  const rows = [1e5, 1e-4, 1e3];
  const scaling = { typicalSize: Float64Array.from(unit), rows: true };

  test('solves a problem in unkind units like the same problem in kind ones, and answers in the unkind ones', () => {
    const kind = solveNlp(familyMember(0.4), new Float64Array(5), { ...tight, scaling: { rows: true } });
    const unkind = solveNlp(inUnits(familyMember(0.4), unit, 1e4, rows), new Float64Array(5), {
      ...tight,
      scaling,
    });
    expect([kind.stop, unkind.stop]).toEqual(['converged', 'converged']);
    // The scaled problems are the same but for rounding, so are their paths.
    expect(unkind.evaluations).toBe(kind.evaluations);
    kind.x.forEach((value, j) => expect(unkind.x[j]! / unit[j]!).toBeCloseTo(value, 8));
    expect(unkind.objective / 1e4).toBeCloseTo(kind.objective, 8);
    const multipliers = [...kind.equalityMultipliers, ...kind.inequalityMultipliers];
    const back = [...unkind.equalityMultipliers, ...unkind.inequalityMultipliers];
    multipliers.forEach((value, i) => expect((back[i]! * rows[i]!) / 1e4).toBeCloseTo(value, 7));
    kind.boundMultipliers.forEach((value, j) =>
      expect((unkind.boundMultipliers[j]! * unit[j]!) / 1e4).toBeCloseTo(value, 7),
    );
    expect(Math.abs(kind.inequalityMultipliers[0]!)).toBeGreaterThan(1e-3);
  });

  test('hands on a Hessian in the caller’s units', () => {
    const kind = solveNlp(familyMember(0.4), new Float64Array(5), { ...tight, scaling: { rows: true } });
    const unkind = solveNlp(inUnits(familyMember(0.4), unit, 1e4, rows), new Float64Array(5), {
      ...tight,
      scaling,
    });
    kind.warm.hessian.forEach((value, at) => {
      const back = (unkind.warm.hessian[at]! * unit[Math.floor(at / 5)]! * unit[at % 5]!) / 1e4;
      // Entries up to 10; the paths differ by rounding, which the updates' quotients of small steps enlarge.
      expect(back).toBeCloseTo(value, 5);
    });
  });

  test('makes problem 106, badly scaled as published, no dearer', () => {
    const recorded = data.problems.find(({ number }) => number === 106)!;
    const problem = expressionProblem(recorded);
    const start = Float64Array.from(recorded.start);
    const plain = solveNlp(problem, start, { ...tight, feasibilityTolerance: 1e-8 });
    const scaled = solveNlp(problem, start, {
      ...tight,
      scaling: { typicalSize: Float64Array.of(1e3, 1e3, 1e3, 100, 100, 100, 100, 100), rows: true },
    });
    console.log(`problem 106: ${plain.evaluations} evaluations as published, ${scaled.evaluations} scaled`);
    expect(scaled.stop).toBe('converged');
    // Published to ten digits (see the data file).
    expect(Math.abs(scaled.objective - recorded.optimum.objective)).toBeLessThan(1e-4);
    expect(scaled.evaluations).toBeLessThanOrEqual(plain.evaluations);
  });
});
