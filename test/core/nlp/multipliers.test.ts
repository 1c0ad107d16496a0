import { describe, expect, test } from 'vitest';
import type { NlpProblem } from '../../../core/nlp/problem.ts';
import { solveNlp } from '../../../core/nlp/sqp.ts';
import { expressionProblem } from '../../published/nlp/expressionProblem.ts';
import data from '../../published/nlp/hock-schittkowski.json' with { type: 'json' };
import { tight } from './problems.ts';

function published(number: number): { problem: NlpProblem; start: Float64Array } {
  const recorded = data.problems.find((entry) => entry.number === number)!;
  return { problem: expressionProblem(recorded), start: Float64Array.from(recorded.start) };
}

/** The same problem with the right-hand side of one constraint, or one bound, moved by `shift`. */
function moved(
  problem: NlpProblem,
  what: 'row' | 'lower' | 'upper',
  index: number,
  shift: number,
): NlpProblem {
  if (what !== 'row') {
    const bound = problem[what].slice();
    bound[index]! += shift;
    return { ...problem, [what]: bound };
  }
  return {
    ...problem,
    evaluate(x, constraints) {
      const value = problem.evaluate(x, constraints);
      constraints[index]! -= shift;
      return value;
    },
  };
}

describe('multipliers are the rates at which the optimum pays for its constraints', () => {
  // Problems with strictly active, independent constraints at the optimum: elsewhere there are two one-sided rates.
  test.each([14, 40, 43, 63, 65, 71, 76, 77, 79, 100, 104])(
    'problem %i: moving each right-hand side and bound changes the least objective at the rate of its multiplier',
    (number) => {
      const { problem, start } = published(number);
      const base = solveNlp(problem, start, tight);
      expect(base.stop).toBe('converged');
      const h = 1e-4;
      const rate = (what: 'row' | 'lower' | 'upper', index: number): number => {
        const at = (shift: number): number => {
          const result = solveNlp(moved(problem, what, index, shift), base.x, { ...tight, start: base.warm });
          expect(result.stop).toBe('converged');
          return result.objective;
        };
        return (at(h) - at(-h)) / (2 * h);
      };
      const multipliers = [...base.equalityMultipliers, ...base.inequalityMultipliers];
      const size = Math.max(1, ...multipliers.map(Math.abs));
      // Central differences of the least objective: h² times its third derivative, and 1e-9·|multipliers|/h of solve error.
      const within = 2e-4 * size;
      multipliers.forEach((value, index) =>
        expect(Math.abs(value - rate('row', index))).toBeLessThan(within),
      );
      base.inequalityMultipliers.forEach((value) => expect(value).toBeGreaterThanOrEqual(0));
      base.boundMultipliers.forEach((value, j) => {
        if (value > 1e-6) expect(Math.abs(value - rate('lower', j))).toBeLessThan(within);
        if (value < -1e-6) expect(Math.abs(value - rate('upper', j))).toBeLessThan(within);
      });
    },
  );

  test('problem 71 has the multipliers that the literature gives for it', () => {
    // λ = 0.1615 (equality), μ = 0.5523 (inequality), ν₁ = 1.0879 (lower bound of x₁): widely printed for this problem as the
    // example of interior-point codes, with signs after the convention of each; from memory, four digits.
    const { problem, start } = published(71);
    const result = solveNlp(problem, start, tight);
    expect(Math.abs(result.equalityMultipliers[0]!)).toBeCloseTo(0.1615, 4);
    expect(result.inequalityMultipliers[0]).toBeCloseTo(0.5523, 4);
    expect(result.boundMultipliers[0]).toBeCloseTo(1.0879, 4);
  });
});
