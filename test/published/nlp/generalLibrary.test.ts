/**
 * The same problems solved by a general-purpose library: NLopt (S. G. Johnson; its SLSQP is D. Kraft, ACM TOMS 20 (1994) 262),
 * in the build for JavaScript, nlopt-js 0.1.1.
 */
import nlopt, { type Objective } from 'nlopt-js';
import { beforeAll, describe, expect, test } from 'vitest';
import type { NlpProblem } from '../../../core/nlp/problem.ts';
import { solveNlp } from '../../../core/nlp/sqp.ts';
import { expressionProblem } from './expressionProblem.ts';
import data from './hock-schittkowski.json' with { type: 'json' };

/** Larger than any bound that a problem has; the library takes no infinite ones. */
const FAR = 1e8;
/** The library stops there; its constraints are met to this. */
const THEIRS = 1e-9;

function byLibrary(
  problem: NlpProblem,
  start: readonly number[],
): { objective: number; violation: number } | null {
  const { variableCount: n, equalityCount, inequalityCount } = problem;
  const count = equalityCount + inequalityCount;
  const constraints = new Float64Array(count);
  const gradient = new Float64Array(n);
  const jacobian = new Float64Array(count * n);
  const at = (x: ArrayLike<number>): number => problem.evaluate(Float64Array.from(x), constraints);
  const optimizer = new nlopt.Optimize(nlopt.Algorithm.LD_SLSQP, n);
  optimizer.setMinObjective((x, out) => {
    const value = at(x);
    if (out !== null) {
      problem.differentiate(Float64Array.from(x), gradient, jacobian);
      gradient.forEach((each, j) => (out[j] = each));
    }
    return value;
  }, THEIRS);
  for (let i = 0; i < count; i++) {
    // There, an inequality holds where it is at most 0; here, where it is at least 0.
    const sign = i < equalityCount ? 1 : -1;
    const constraint: Objective = (x, out) => {
      at(x);
      if (out !== null) {
        problem.differentiate(Float64Array.from(x), gradient, jacobian);
        for (let j = 0; j < n; j++) out[j] = sign * jacobian[i * n + j]!;
      }
      return sign * constraints[i]!;
    };
    if (i < equalityCount) optimizer.addEqualityConstraint(constraint, THEIRS);
    else optimizer.addInequalityConstraint(constraint, THEIRS);
  }
  optimizer.setLowerBounds(Array.from(problem.lower, (each) => Math.max(each, -FAR)));
  optimizer.setUpperBounds(Array.from(problem.upper, (each) => Math.min(each, FAR)));
  optimizer.setMaxeval(2000);
  const inside = start.map((each, j) => Math.min(Math.max(each, problem.lower[j]!), problem.upper[j]!));
  const result = optimizer.optimize(inside);
  nlopt.GC.flush();
  if (!result.success || !result.x.every(Number.isFinite)) return null;
  const objective = at(result.x);
  const violation = constraints.reduce(
    (most, each, i) => Math.max(most, i < equalityCount ? Math.abs(each) : -each),
    0,
  );
  return { objective, violation };
}

/** The library's build throws within problem 100, which it was compiled not to catch. */
const cases = data.problems.filter(({ number }) => number !== 100);

describe('a general-purpose library, on the problems of Hock and Schittkowski', () => {
  beforeAll(() => nlopt.ready);

  test.each(cases)('problem $number: comes to the same least value', (recorded) => {
    const problem = expressionProblem(recorded);
    const theirs = byLibrary(problem, recorded.start);
    const ours = solveNlp(problem, Float64Array.from(recorded.start), {
      ...{ feasibilityTolerance: 1e-8, optimalityTolerance: 1e-8, maxIterations: 150 },
    });
    expect(ours.stop).toBe('converged');
    // Both meet constraints to some 1e-9, which moves the value by that times multipliers of up to 1e2.
    expect(theirs!.violation).toBeLessThan(1e-7);
    const size = Math.max(1, Math.abs(theirs!.objective));
    expect(Math.abs(ours.objective - theirs!.objective) / size).toBeLessThan(1e-6);
  });
});
