import { describe, expect, test } from 'vitest';
import { checkDerivatives } from '../../../core/nlp/differences.ts';
import type { NlpIteration } from '../../../core/nlp/problem.ts';
import { SqpSolver, solveNlp } from '../../../core/nlp/sqp.ts';
import { firstOrderConditions } from '../../published/nlp/firstOrderConditions.ts';
import { familyMember, makeProblem, tight, watch } from './problems.ts';

/** min x₁² + x₂² on the circle x₁² + x₂² = 1 less 2x: the classical example on which the ℓ1 merit refuses good steps. */
const maratos = makeProblem(
  { n: 2, equalities: 1 },
  (x, c) => {
    const circle = x[0]! ** 2 + x[1]! ** 2 - 1;
    c[0] = circle;
    return 2 * circle - x[0]!;
  },
  (x, g, j) => {
    g.set([4 * x[0]! - 1, 4 * x[1]!]);
    j.set([2 * x[0]!, 2 * x[1]!]);
    return true;
  },
);

describe('evaluations that fail', () => {
  /** ln needs x > 0; the first steps overshoot into the failing half-plane. */
  const logarithmic = makeProblem(
    { n: 2, inequalities: 1 },
    (x, c) => {
      c[0] = x[0]! + x[1]! - 1;
      if (x[0]! <= 0 || x[1]! <= 0) return NaN;
      return x[0]! ** 2 - Math.log(x[0]!) - 0.1 * Math.log(x[1]!) + x[1]!;
    },
    (x, g, j) => {
      g.set([2 * x[0]! - 1 / x[0]!, 1 - 0.1 / x[1]!]);
      j.set([1, 1]);
      return true;
    },
  );

  test('a region that cannot be evaluated is backed out of on the way to the optimum', () => {
    const result = solveNlp(logarithmic, Float64Array.of(5, 5), { ...tight, firstStep: 100 });
    expect(result.failedEvaluations).toBeGreaterThan(0);
    expect(result.stop).toBe('converged');
    expect(firstOrderConditions(logarithmic, result.x, 1e-7).residual).toBeLessThan(1e-8);
  });

  test('derivatives that fail shorten the step like evaluations that fail', () => {
    // Evaluates everywhere, but differentiates only near the start and near the optimum (0, 0).
    let refused = 0;
    const problem = makeProblem(
      { n: 2 },
      (x) => x[0]! ** 2 + 10 * x[1]! ** 2 + x[0]! ** 4,
      (x, g) => {
        if (x[1]! < -0.05) {
          refused++;
          return false;
        }
        g.set([2 * x[0]! + 4 * x[0]! ** 3, 20 * x[1]!]);
        return true;
      },
    );
    const result = solveNlp(problem, Float64Array.of(1, 0.1), { ...tight, firstStep: 5 });
    expect(refused).toBeGreaterThan(0);
    expect(result.stop).toBe('converged');
    expect(Math.hypot(...result.x)).toBeLessThan(1e-8);
  });

  test('an optimum beyond the edge of what can be evaluated is reported as such, within few evaluations', () => {
    const walled = makeProblem(
      { n: 2, equalities: 1 },
      (x, c) => {
        c[0] = x[0]! * x[1]! - 1;
        return x[0]! > 2 ? NaN : 0.3 * x[1]! - x[0]!;
      },
      (x, g, j) => {
        g.set([-1, 0.3]);
        j.set([x[1]!, x[0]!]);
        return true;
      },
    );
    const result = solveNlp(walled, Float64Array.of(1, 1), tight);
    expect(result.stop).toBe('evaluationFailed');
    expect(result.x[0]).toBeLessThanOrEqual(2);
    expect(result.evaluations).toBeLessThan(60);
  });

  test('a start that cannot be evaluated is refused at once', () => {
    const result = solveNlp(logarithmic, Float64Array.of(-1, 1), tight);
    expect(result.stop).toBe('startInvalid');
    expect(result.evaluations).toBe(1);
    expect(result.objective).toBeNaN();
    const blind = solveNlp({ ...logarithmic, differentiate: () => false }, Float64Array.of(1, 1), tight);
    expect(blind.stop).toBe('startInvalid');
  });

  test('a constraint that is not finite counts as a failure too', () => {
    const problem = {
      ...logarithmic,
      evaluate: (_x: Float64Array, c: Float64Array) => ((c[0] = Infinity), 1),
    };
    expect(solveNlp(problem, Float64Array.of(1, 1), tight).stop).toBe('startInvalid');
  });
});

describe('problems without a feasible point', () => {
  const cases = [
    {
      name: 'a curve that never reaches zero: x² + 1 = 0',
      start: [3],
      // The least violation is at 0, where |x² + 1| = 1.
      violation: 1,
      x: [0],
      problem: makeProblem(
        { n: 1, equalities: 1 },
        (x, c) => ((c[0] = x[0]! ** 2 + 1), x[0]!),
        (x, g, j) => (g.set([1]), j.set([2 * x[0]!]), true),
      ),
    },
    {
      name: 'a circle and a half-plane that do not meet',
      start: [3, -1],
      // On the circle nearest the line, (1, 1)/√2: there the line is short by 3 − √2.
      violation: 3 - Math.SQRT2,
      x: [Math.SQRT1_2, Math.SQRT1_2],
      problem: makeProblem(
        { n: 2, equalities: 1, inequalities: 1 },
        (x, c) => {
          c[0] = x[0]! ** 2 + x[1]! ** 2 - 1;
          c[1] = x[0]! + x[1]! - 3;
          return x[0]! ** 2 + 3 * x[1]!;
        },
        (x, g, j) => (g.set([2 * x[0]!, 3]), j.set([2 * x[0]!, 2 * x[1]!, 1, 1]), true),
      ),
    },
    {
      name: 'an equality out of reach of the bounds',
      start: [0.5, 0.5],
      violation: 8,
      x: [1, 1],
      problem: makeProblem(
        { n: 2, equalities: 1, lower: [0, 0], upper: [1, 1] },
        (x, c) => ((c[0] = x[0]! + x[1]! - 10), x[0]!),
        (_x, g, j) => (g.set([1, 0]), j.set([1, 1]), true),
      ),
    },
  ];

  test.each(cases)(
    '$name is called infeasible at the point of least violation',
    ({ problem, start, violation, x }) => {
      const result = solveNlp(problem, Float64Array.from(start), tight);
      expect(result.stop).toBe('infeasible');
      expect(result.message).toContain('cannot all be met');
      expect(result.feasibility).toBeCloseTo(violation, 6);
      x.forEach((value, j) => expect(result.x[j]).toBeCloseTo(value, 6));
    },
  );

  test('the second of them needs the phase that looks at feasibility alone', () => {
    const phases = new Set<string>();
    solveNlp(cases[1]!.problem, Float64Array.of(3, -1), {
      ...tight,
      onIteration: ({ phase }) => phases.add(phase),
    });
    expect([...phases]).toEqual(['optimise', 'restore']);
  });

  test('inconsistent linearisations on the way do not stop a feasible problem', () => {
    // Wächter and Biegler's example, on which methods that keep to the linearisation get stuck (Mathematical Programming 88
    // (2000) 565–574), in the variant with a feasible point, from a start whose linearisation is inconsistent.
    const problem = makeProblem(
      { n: 3, equalities: 2, lower: [-Infinity, 0, 0], upper: [Infinity, Infinity, Infinity] },
      (x, c) => {
        c[0] = x[0]! ** 2 - x[1]! - 1;
        c[1] = x[0]! - x[2]! - 0.5;
        return x[0]!;
      },
      (x, g, j) => (g.set([1, 0, 0]), j.set([2 * x[0]!, -1, 0, 1, 0, -1]), true),
    );
    const seen: NlpIteration[] = [];
    const result = solveNlp(problem, Float64Array.of(-0.1, 3, 1), {
      ...tight,
      onIteration: (iteration) => seen.push({ ...iteration }),
    });
    expect(seen.some(({ relaxed }) => relaxed > 0)).toBe(true);
    expect(['converged', 'infeasible']).toContain(result.stop);
    // From the left the violation has a local minimum at x₁ = −1; what is called converged must be the feasible optimum.
    expect(result.stop === 'converged' ? result.x[0] : -result.x[0]!).toBeCloseTo(1, 6);
    const right = solveNlp(problem, Float64Array.of(0.2, 3, 1), tight);
    expect(right.stop).toBe('converged');
    expect(right.x[0]).toBeCloseTo(1, 8);
  });
});

describe('how a solve ends', () => {
  test('a cancelled solve stops before the next evaluation and keeps its last point', () => {
    const { problem, points } = watch(familyMember(0.8));
    let asked = 0;
    const result = solveNlp(problem, new Float64Array(5), { ...tight, stop: () => ++asked > 6 });
    expect(result.stop).toBe('cancelled');
    expect(points.length).toBe(result.evaluations);
    expect(result.evaluations + result.derivativeEvaluations).toBe(6);
    expect(Number.isFinite(result.objective)).toBe(true);
    expect(solveNlp(problem, new Float64Array(5), { ...tight, stop: () => true }).evaluations).toBe(0);
  });

  test('a limit of steps is kept, and a limit of none only looks at the start', () => {
    const limited = solveNlp(familyMember(0.8), new Float64Array(5), { ...tight, maxIterations: 2 });
    expect([limited.stop, limited.iterations]).toEqual(['iterationLimit', 2]);
    const none = solveNlp(familyMember(0.8), new Float64Array(5), { ...tight, maxIterations: 0 });
    expect([none.stop, none.evaluations]).toEqual(['iterationLimit', 1]);
  });

  test('a gradient that does not belong to the objective ends in noProgress, not in a claim of convergence', () => {
    const wrong = makeProblem(
      { n: 2 },
      (x) => (x[0]! - 1) ** 2 + x[1]! ** 2,
      (x, g) => (g.set([-2 * (x[0]! - 1) - 0.3, -2 * x[1]!]), true),
    );
    const result = solveNlp(wrong, Float64Array.of(3, 2), tight);
    expect(result.stop).toBe('noProgress');
    expect(result.kktResidual).toBeGreaterThan(1e-3);
  });

  test('noise in the functions ends in a point as good as the noise allows, after few idle steps', () => {
    // A fixed pattern of noise of relative size 1e-8: sin of a large multiple, different at every x.
    const exact = familyMember(0.8);
    const noisy = {
      ...exact,
      evaluate(x: Float64Array, c: Float64Array) {
        const jitter = 1e-8 * Math.sin(1e9 * (x[0]! + 0.7 * x[1]! + 0.3 * x[2]!));
        const value = exact.evaluate(x, c);
        c[0]! += jitter;
        return value * (1 + jitter);
      },
      differentiate(x: Float64Array, g: Float64Array, j: Float64Array) {
        const done = exact.differentiate(x, g, j);
        for (let k = 0; k < g.length; k++) g[k]! *= 1 + 1e-4 * Math.sin(1e9 * x[k]! + k);
        return done;
      },
    };
    const best = solveNlp(exact, new Float64Array(5), tight);
    const result = solveNlp(noisy, new Float64Array(5), { ...tight, precision: 1e-8 });
    expect(result.stop).toBe('noProgress');
    expect(result.evaluations).toBeLessThan(60);
    // Derivatives wrong by 1e-4 misplace x by about as much, and the objective by its square and the functions' noise.
    expect(Math.abs(result.objective - best.objective)).toBeLessThan(1e-6);
  });

  test('reports each iteration, the last of them at the result', () => {
    const seen: number[] = [];
    const result = solveNlp(familyMember(0.8), new Float64Array(5), {
      ...tight,
      maxIterations: 3,
      onIteration: ({ iteration, evaluations, objective }) => {
        seen.push(iteration);
        expect(evaluations).toBeGreaterThan(iteration);
        expect(Number.isFinite(objective)).toBe(true);
      },
    });
    expect(seen).toEqual([0, 1, 2, 3]);
    expect(result.iterations).toBe(3);
  });
});

describe('the solver as a part', () => {
  test('never evaluates outside the bounds, and differentiates only where it has just evaluated', () => {
    const { problem, points, outOfOrder } = watch(familyMember(1.1));
    const result = solveNlp(problem, Float64Array.of(40, -40, 3, 0, 5), tight);
    expect(result.stop).toBe('converged');
    for (const point of points) {
      point.forEach((value, j) => {
        expect(value).toBeGreaterThanOrEqual(problem.lower[j]!);
        expect(value).toBeLessThanOrEqual(problem.upper[j]!);
      });
    }
    expect(outOfOrder()).toBe(0);
    expect(points.length).toBe(result.evaluations);
  });

  test('gives the same bytes with used storage as with new, and does not touch what it was given', () => {
    const solver = new SqpSolver(5, 2, 1);
    const start = Float64Array.of(0.1, 0.2, 0.3, 0.4, 0.1);
    const fresh = new SqpSolver(5, 2, 1).solve(familyMember(0.7), start, tight);
    solver.solve(familyMember(-0.4), new Float64Array(5), { ...tight, scaling: { rows: true } });
    const again = solver.solve(familyMember(0.7), start, tight);
    expect(again).toEqual(fresh);
    expect([...start]).toEqual([0.1, 0.2, 0.3, 0.4, 0.1]);
    const kept = again.x.slice();
    solver.solve(familyMember(0.2), start, tight);
    expect(again.x).toEqual(kept);
  });

  test('a second-order correction carries full steps through where the merit alone would halve them', () => {
    // J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed., example 15.4: at every point of the circle the exact step
    // (Hessian of the Lagrangian: the identity) raises objective and violation, though it squares the error.
    const theta = 0.4;
    const start = Float64Array.of(Math.cos(theta), Math.sin(theta));
    const warm = {
      multipliers: Float64Array.of(1.5),
      penalties: Float64Array.of(1.5),
      hessian: Float64Array.of(1, 0, 0, 1),
    };
    const shares: number[] = [];
    const result = solveNlp(maratos, start, {
      ...tight,
      start: warm,
      onIteration: ({ iteration, stepShare }) => iteration > 0 && shares.push(stepShare),
    });
    expect(result.stop).toBe('converged');
    expect(shares.every((share) => share === 1)).toBe(true);
    expect(result.iterations).toBeLessThanOrEqual(6);
    expect(result.x[0]).toBeCloseTo(1, 9);
  });

  test('an objective without constraints never rises from step to step, though full steps would raise it', () => {
    // Rosenbrock's valley from its usual start.
    const valley = makeProblem(
      { n: 2 },
      (x) => 100 * (x[1]! - x[0]! ** 2) ** 2 + (1 - x[0]!) ** 2,
      (x, g) => {
        const across = 200 * (x[1]! - x[0]! ** 2);
        g.set([-2 * across * x[0]! - 2 * (1 - x[0]!), across]);
        return true;
      },
    );
    const objectives: number[] = [];
    const result = solveNlp(valley, Float64Array.of(-1.2, 1), {
      ...tight,
      onIteration: ({ objective }) => objectives.push(objective),
    });
    expect(result.stop).toBe('converged');
    // What lies between evaluations and steps are trials that were refused.
    expect(result.evaluations).toBeGreaterThan(result.iterations + 1);
    objectives.slice(1).forEach((value, k) => expect(value).toBeLessThanOrEqual(objectives[k]!));
  });

  test('a constraint in units ten thousand times too large costs steps but not the answer', () => {
    // Multipliers of 3e4, past the first cap, and a start from which the elastic step runs to a saddle. Weights that only match
    // the multipliers would take some 200 evaluations from there.
    const problem = makeProblem(
      { n: 2, equalities: 1 },
      (x, c) => ((c[0] = 1e-4 * (x[0]! + x[1]! ** 2 - 2)), x[0]! ** 2 + 3 * x[1]! ** 2),
      (x, g, j) => (g.set([2 * x[0]!, 6 * x[1]!]), j.set([1e-4, 2e-4 * x[1]!]), true),
    );
    const result = solveNlp(problem, Float64Array.of(3, 1), { ...tight, feasibilityTolerance: 1e-10 });
    expect(result.stop).toBe('converged');
    // On the curve f = x² + 3(2 − x), least at x = 1.5; there 2x = 1e-4 λ.
    expect(result.x[0]).toBeCloseTo(1.5, 6);
    expect(result.equalityMultipliers[0]! / 1e4).toBeCloseTo(3, 6);
    expect(result.evaluations).toBeLessThan(60);
  });

  test('the family used in these tests has right derivatives', () => {
    // Central differences of order-one functions: 1e-10.
    expect(checkDerivatives(familyMember(0.6), Float64Array.of(0.3, -0.2, 0.5, 0.4, 0.1)).worst).toBeLessThan(
      1e-8,
    );
    expect(checkDerivatives(maratos, Float64Array.of(0.3, -0.2)).worst).toBeLessThan(1e-8);
  });
});
