import { Matrix, SVD } from 'ml-matrix';
import type { NlpProblem } from '../../../core/nlp/problem.ts';

/** What {@link firstOrderConditions} finds at a point. */
export interface FirstOrderConditions {
  objective: number;
  /** Largest violation of constraints and bounds. */
  violation: number;
  /** Least ‖∇f − Σ multiplier·normal‖∞ over multipliers of the right sign, relative to max(1, ‖∇f‖∞). */
  residual: number;
}

/** Lawson and Hanson's non-negative least squares, min ‖A u − b‖, u ≥ 0 (Solving Least Squares Problems, 1974, chapter 23). */
function nonNegativeLeastSquares(columns: number[][], b: number[]): number[] {
  const u = columns.map(() => 0);
  const positive = new Set<number>();
  const residual = (): number[] =>
    b.map((value, row) => value - columns.reduce((sum, column, k) => sum + column[row]! * u[k]!, 0));
  const solveOn = (members: number[]): number[] => {
    const a = new Matrix(members.map((k) => columns[k]!)).transpose();
    return new SVD(a, { autoTranspose: true }).solve(Matrix.columnVector(b)).to1DArray();
  };
  for (let round = 0; round < 10 * columns.length; round++) {
    const r = residual();
    let entering = -1;
    let steepest = 1e-12;
    columns.forEach((column, k) => {
      const slope = column.reduce((sum, value, row) => sum + value * r[row]!, 0);
      if (!positive.has(k) && slope > steepest) {
        steepest = slope;
        entering = k;
      }
    });
    if (entering < 0) break;
    positive.add(entering);
    for (;;) {
      const members = [...positive];
      const target = solveOn(members);
      if (target.every((value) => value > 0)) {
        members.forEach((k, at) => (u[k] = target[at]!));
        break;
      }
      const share = Math.min(
        ...members.map((k, at) => (target[at]! <= 0 ? u[k]! / (u[k]! - target[at]!) : Infinity)),
      );
      members.forEach((k, at) => {
        u[k]! += share * (target[at]! - u[k]!);
        if (u[k]! <= 1e-14) {
          u[k] = 0;
          positive.delete(k);
        }
      });
      if (positive.size === 0) break;
    }
  }
  return u;
}

/**
 * How well a point meets the first-order conditions of a problem, found without the solver under test: multipliers come
 * from a non-negative least-squares fit (equalities as pairs of opposite normals) to the normals of the constraints that
 * hold within `activeWithin`.
 */
export function firstOrderConditions(
  problem: NlpProblem,
  x: Float64Array,
  activeWithin: number,
): FirstOrderConditions {
  const n = problem.variableCount;
  const m = problem.equalityCount + problem.inequalityCount;
  const constraints = new Float64Array(m);
  const gradient = new Float64Array(n);
  const jacobian = new Float64Array(m * n);
  const objective = problem.evaluate(x, constraints);
  problem.differentiate(x, gradient, jacobian);
  const columns: number[][] = [];
  let violation = 0;
  for (let i = 0; i < m; i++) {
    const normal = [...jacobian.subarray(i * n, (i + 1) * n)];
    const value = constraints[i]!;
    if (i < problem.equalityCount) {
      violation = Math.max(violation, Math.abs(value));
      columns.push(
        normal,
        normal.map((entry) => -entry),
      );
    } else {
      violation = Math.max(violation, -value);
      if (value <= activeWithin * Math.max(1, Math.hypot(...normal))) columns.push(normal);
    }
  }
  for (let j = 0; j < n; j++) {
    const unit = Array.from({ length: n }, (_, k) => (k === j ? 1 : 0));
    violation = Math.max(violation, problem.lower[j]! - x[j]!, x[j]! - problem.upper[j]!);
    if (x[j]! - problem.lower[j]! <= activeWithin) columns.push(unit);
    if (problem.upper[j]! - x[j]! <= activeWithin) columns.push(unit.map((entry) => -entry));
  }
  const size = Math.max(1, ...gradient.map(Math.abs));
  const u = columns.length > 0 ? nonNegativeLeastSquares(columns, [...gradient]) : [];
  let residual = 0;
  for (let j = 0; j < n; j++) {
    const fitted = columns.reduce((sum, column, k) => sum + column[j]! * u[k]!, 0);
    residual = Math.max(residual, Math.abs(gradient[j]! - fitted));
  }
  return { objective, violation, residual: residual / size };
}
