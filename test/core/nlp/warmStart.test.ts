import { afterAll, describe, expect, test } from 'vitest';
import { SqpSolver, solveNlp } from '../../../core/nlp/sqp.ts';
import { familyMember, makeProblem, tight } from './problems.ts';

describe('a warm start', () => {
  const report: string[] = [];

  test('at the solution itself needs one evaluation', () => {
    const cold = solveNlp(familyMember(0.6), new Float64Array(5), tight);
    const warm = solveNlp(familyMember(0.6), cold.x, { ...tight, start: cold.warm });
    expect(warm.stop).toBe('converged');
    expect([warm.evaluations, warm.derivativeEvaluations, warm.iterations]).toEqual([1, 1, 0]);
  });

  test('at a solution to within tolerance ends there, however poor the matrix that it brings', () => {
    // f = ½x₁² + ½(x₂ − 1)² on x₁ = x₂/1000: x₂ = 1/(1 + 1e-6). The start is off by 5e-10 along the line, within tolerance. A
    // matrix that is stiff across the line makes the quadratic programme's own multipliers leave a residual a thousand times as large.
    const line = makeProblem(
      { n: 2, equalities: 1 },
      (x, c) => ((c[0] = x[0]! - 1e-3 * x[1]!), 0.5 * x[0]! ** 2 + 0.5 * (x[1]! - 1) ** 2),
      (x, g, j) => (g.set([x[0]!, x[1]! - 1]), j.set([1, -1e-3]), true),
    );
    const x2 = 1 / (1 + 1e-6) + 5e-10;
    const warm = {
      multipliers: new Float64Array(1),
      penalties: new Float64Array(1),
      hessian: Float64Array.of(1e8, 0, 0, 1e-3),
    };
    const result = solveNlp(line, Float64Array.of(1e-3 * x2, x2), { ...tight, start: warm });
    expect([result.stop, result.iterations]).toEqual(['converged', 0]);
    expect(result.kktResidual).toBeLessThan(1e-9);
  });

  test('needs fewer steps and evaluations for a neighbour than a cold start, from the same point', () => {
    const cold = solveNlp(familyMember(0.6), new Float64Array(5), tight);
    const neighbour = familyMember(0.63);
    const withMatrix = solveNlp(neighbour, cold.x, { ...tight, start: cold.warm });
    const withoutMatrix = solveNlp(neighbour, cold.x, tight);
    const fromAfar = solveNlp(neighbour, new Float64Array(5), tight);
    for (const result of [withMatrix, withoutMatrix, fromAfar]) expect(result.stop).toBe('converged');
    expect(withMatrix.evaluations).toBeLessThan(withoutMatrix.evaluations);
    expect(withMatrix.evaluations).toBeLessThan(fromAfar.evaluations);
    report.push(
      `one step of the parameter: ${withMatrix.evaluations} evaluations warm, ${withoutMatrix.evaluations} from the old point ` +
        `without the matrix, ${fromAfar.evaluations} cold`,
    );
  });

  test('follows a parameter through a change of active set, there and back, to the cold answers', () => {
    // The inequality is active at both ends of the range and not between; the bound of the last variable is held throughout.
    const solver = new SqpSolver(5, 2, 1);
    const drag = { feasibilityTolerance: 1e-7, optimalityTolerance: 1e-6, maxIterations: 30 };
    const values = Array.from({ length: 61 }, (_, k) => 0.02 * (k <= 30 ? k : 60 - k) + 0.2);
    let last = solver.solve(familyMember(values[0]!), new Float64Array(5), drag);
    let evaluations = 0;
    let most = 0;
    let active = 0;
    for (const p of values.slice(1)) {
      last = solver.solve(familyMember(p), last.x, { ...drag, start: last.warm });
      expect(last.stop).toBe('converged');
      evaluations += last.evaluations;
      most = Math.max(most, last.evaluations);
      if (last.inequalityMultipliers[0]! > 1e-6) active++;
      const cold = solveNlp(familyMember(p), new Float64Array(5), tight);
      // A KKT residual of 1e-6 with reduced curvature of 0.2 or more.
      cold.x.forEach((value, j) => expect(Math.abs(last.x[j]! - value)).toBeLessThan(1e-5));
    }
    expect(active).toBeGreaterThan(5);
    expect(active).toBeLessThan(55);
    // One to look, then superlinear steps: about four for six digits.
    expect(evaluations / 60).toBeLessThan(5);
    report.push(`drag of 60 steps: ${(evaluations / 60).toFixed(2)} evaluations a step, at most ${most}`);
  });

  test('carries over between scaled and unscaled solves', () => {
    const scaling = { typicalSize: Float64Array.of(2, 0.5, 1, 3, 0.1), rows: true };
    const scaled = solveNlp(familyMember(0.6), new Float64Array(5), { ...tight, scaling });
    expect(scaled.stop).toBe('converged');
    const plain = solveNlp(familyMember(0.62), scaled.x, { ...tight, start: scaled.warm });
    const back = solveNlp(familyMember(0.64), plain.x, { ...tight, start: plain.warm, scaling });
    expect([plain.stop, back.stop]).toEqual(['converged', 'converged']);
    expect(Math.max(plain.evaluations, back.evaluations)).toBeLessThan(scaled.evaluations);
  });

  afterAll(() => console.log(report.join('\n')));
});
