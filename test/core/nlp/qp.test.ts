import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { QpSolver, type QpProblem } from '../../../core/nlp/qp.ts';

interface Case extends QpProblem {
  n: number;
  equalities: number;
  inequalities: number;
}

/** Largest failure of each optimality condition of the (elastic, if capped) programme at the solver's answer. */
function conditions(
  qp: Case,
  solver: QpSolver,
): { stationarity: number; violation: number; slackness: number; signs: number } {
  const { n } = qp;
  let stationarity = 0;
  let violation = 0;
  let slackness = 0;
  let signs = 0;
  let size = 1;
  for (let j = 0; j < n; j++) {
    const terms = [qp.gradient[j]!, -solver.boundMultipliers[j]!];
    for (let k = 0; k < n; k++) terms.push(qp.hessian[j * n + k]! * solver.x[k]!);
    solver.multipliers.forEach((u, i) => terms.push(-u * qp.matrix[i * n + j]!));
    size = Math.max(size, ...terms.map(Math.abs));
    stationarity = Math.max(stationarity, Math.abs(terms.reduce((a, b) => a + b, 0)));
    const nu = solver.boundMultipliers[j]!;
    const low = solver.x[j]! - qp.lower[j]!;
    const high = qp.upper[j]! - solver.x[j]!;
    violation = Math.max(violation, -low, -high);
    if (nu !== 0) slackness = Math.max(slackness, Math.abs(nu) * (nu > 0 ? low : high));
  }
  solver.multipliers.forEach((u, i) => {
    let r = qp.offset[i]!;
    for (let j = 0; j < n; j++) r += qp.matrix[i * n + j]! * solver.x[j]!;
    signs = Math.max(signs, Math.abs(u) - qp.cap);
    if (i < qp.equalities) {
      if (Math.abs(u) < qp.cap) violation = Math.max(violation, Math.abs(r));
      else signs = Math.max(signs, Math.sign(u) * r);
    } else {
      signs = Math.max(signs, -u);
      if (u < qp.cap) {
        violation = Math.max(violation, -r);
        slackness = Math.max(slackness, Math.abs(u * r));
      } else {
        signs = Math.max(signs, r);
      }
    }
  });
  return { stationarity: stationarity / size, violation, slackness: slackness / size, signs };
}

/** Integer data make exact ties, dependent rows and multipliers of zero common; a known feasible point keeps it solvable. */
function feasibleCase(cap: fc.Arbitrary<number>): fc.Arbitrary<Case> {
  return fc
    .record({
      n: fc.integer({ min: 1, max: 10 }),
      wantEqualities: fc.nat(4),
      inequalities: fc.nat(12),
      cap,
      whole: fc.boolean(),
    })
    .chain((shape) => {
      const { n, inequalities } = shape;
      const equalities = Math.min(shape.wantEqualities, n - 1);
      const m = equalities + inequalities;
      const number = shape.whole
        ? fc.integer({ min: -3, max: 3 }).map(Number)
        : fc.integer({ min: -3000, max: 3000 }).map((value) => value / 1000);
      const list = (length: number): fc.Arbitrary<number[]> =>
        fc.array(number, { minLength: length, maxLength: length });
      const slack = (length: number): fc.Arbitrary<number[]> =>
        fc.array(
          fc.oneof(
            fc.constant(0),
            fc.integer({ min: 1, max: 2000 }).map((value) => value / 1000),
            fc.constant(Infinity),
          ),
          {
            minLength: length,
            maxLength: length,
          },
        );
      return fc
        .record({
          root: list(n * n),
          gradient: list(n),
          rows: list(m * n),
          point: list(n),
          room: slack(m),
          below: slack(n),
          above: slack(n),
          repeat: fc.boolean(),
        })
        .map((raw): Case => {
          const hessian = new Float64Array(n * n);
          for (let i = 0; i < n; i++) {
            for (let j = 0; j < n; j++) {
              for (let k = 0; k < n; k++) hessian[i * n + j]! += raw.root[i * n + k]! * raw.root[j * n + k]!;
            }
            hessian[i * n + i]! += 0.1;
          }
          const matrix = Float64Array.from(raw.rows);
          if (raw.repeat && m > 1) matrix.copyWithin((m - 1) * n, 0, n);
          const offset = Float64Array.from({ length: m }, (_, i) => {
            const value = raw.point.reduce((sum, x, j) => sum + matrix[i * n + j]! * x, 0);
            const room = raw.room[i]!;
            return -value + (i < equalities || room === Infinity ? 0 : room);
          });
          const { point } = raw;
          return {
            n,
            equalities,
            inequalities,
            hessian,
            gradient: Float64Array.from(raw.gradient),
            matrix,
            offset,
            lower: Float64Array.from(point, (x, j) => x - raw.below[j]!),
            upper: Float64Array.from(point, (x, j) => x + raw.above[j]!),
            cap: shape.cap,
          };
        });
    });
}

function solve(qp: Case): { solver: QpSolver; status: string } {
  const solver = new QpSolver(qp.n, qp.equalities, qp.inequalities);
  return { solver, status: solver.solve(qp) };
}

function expectOptimal(qp: Case, solver: QpSolver): void {
  const found = conditions(qp, solver);
  // Data are of order ten and H has eigenvalues from 0.1 to about 1e3: 1e-16 times 1e4, times some tens of rank-one updates.
  expect(found.stationarity).toBeLessThan(1e-10);
  expect(found.violation).toBeLessThan(1e-9);
  expect(found.slackness).toBeLessThan(1e-9);
  expect(found.signs).toBeLessThan(1e-9);
}

describe('the dual active-set solver', () => {
  test('solves a textbook programme to the rational numbers that are its solution', () => {
    // min ½‖x‖² − 5 x₂, three inequalities; widely printed with the package of Turlach and Weingessel (from memory). With
    // constraints 1 and 2 of the solution active, x = (10, 22, 44)/21 can be checked by hand.
    const qp: Case = {
      n: 3,
      equalities: 0,
      inequalities: 3,
      hessian: Float64Array.of(1, 0, 0, 0, 1, 0, 0, 0, 1),
      gradient: Float64Array.of(0, -5, 0),
      matrix: Float64Array.of(-4, -3, 0, 2, 1, 0, 0, -2, 1),
      offset: Float64Array.of(8, -2, 0),
      lower: new Float64Array(3).fill(-Infinity),
      upper: new Float64Array(3).fill(Infinity),
      cap: Infinity,
    };
    const { solver, status } = solve(qp);
    expect(status).toBe('solved');
    // Three variables of order one: rounding alone.
    [10 / 21, 22 / 21, 44 / 21].forEach((value, j) => expect(solver.x[j]).toBeCloseTo(value, 14));
    expectOptimal(qp, solver);
  });

  test('meets all optimality conditions on random programmes, degenerate and redundant ones among them', () => {
    fc.assert(
      fc.property(feasibleCase(fc.constant(Infinity)), (qp) => {
        const { solver, status } = solve(qp);
        expect(status).toBe('solved');
        expectOptimal(qp, solver);
      }),
      { seed: 20261, numRuns: 1500 },
    );
  });

  test('meets the conditions of the elastic form for any cap, and never lets a multiplier past it', () => {
    fc.assert(
      fc.property(feasibleCase(fc.double({ min: 0.01, max: 30, noNaN: true })), (qp) => {
        const { solver, status } = solve(qp);
        expect(status).toBe('solved');
        expectOptimal(qp, solver);
      }),
      { seed: 20262, numRuns: 1500 },
    );
  });

  test('a cap above the multipliers changes nothing', () => {
    fc.assert(
      fc.property(feasibleCase(fc.constant(Infinity)), (qp) => {
        const hard = solve(qp).solver;
        const largest = Math.max(1, ...hard.multipliers.map(Math.abs));
        const soft = solve({ ...qp, cap: 10 * largest }).solver;
        // Redundant rows leave multipliers undetermined, but never x.
        for (let j = 0; j < qp.n; j++) expect(Math.abs(soft.x[j]! - hard.x[j]!)).toBeLessThan(1e-8);
        expect(soft.relaxedCount).toBe(0);
      }),
      { seed: 20263, numRuns: 500 },
    );
  });

  test('calls contradictory rows infeasible, and its elastic answer shows that they are', () => {
    fc.assert(
      fc.property(
        feasibleCase(fc.constant(Infinity)),
        fc.double({ min: 0.01, max: 5, noNaN: true }),
        (qp, gap) => {
          // a·x + b ≥ 0 and −a·x − b − gap ≥ 0 cannot both hold.
          const a = Array.from({ length: qp.n }, (_, j) => 1 + (j % 3));
          const contradictory: Case = {
            ...qp,
            inequalities: qp.inequalities + 2,
            matrix: Float64Array.of(...qp.matrix, ...a, ...a.map((value) => -value)),
            offset: Float64Array.of(...qp.offset, 1, -1 - gap),
          };
          expect(solve(contradictory).status).toBe('infeasible');
          const elastic = { ...contradictory, cap: 50 };
          const { solver, status } = solve(elastic);
          expect(status).toBe('solved');
          expectOptimal(elastic, solver);
          expect(solver.relaxedCount).toBeGreaterThan(0);
        },
      ),
      { seed: 20264, numRuns: 500 },
    );
  });

  test('calls rows infeasible that contradict the bounds, whatever the cap of the other rows', () => {
    const qp: Case = {
      n: 2,
      equalities: 1,
      inequalities: 0,
      hessian: Float64Array.of(2, 0, 0, 2),
      gradient: Float64Array.of(1, 1),
      matrix: Float64Array.of(1, 1),
      offset: Float64Array.of(-10),
      lower: Float64Array.of(0, 0),
      upper: Float64Array.of(1, 1),
      cap: Infinity,
    };
    expect(solve(qp).status).toBe('infeasible');
    const { solver } = solve({ ...qp, cap: 100 });
    expect([...solver.x]).toEqual([1, 1]);
    expect(solver.multipliers[0]).toBe(100);
  });

  test('refuses an indefinite matrix', () => {
    const qp: Case = {
      n: 2,
      equalities: 0,
      inequalities: 0,
      hessian: Float64Array.of(1, 2, 2, 1),
      gradient: Float64Array.of(1, 1),
      matrix: new Float64Array(0),
      offset: new Float64Array(0),
      lower: Float64Array.of(-1, -1),
      upper: Float64Array.of(1, 1),
      cap: Infinity,
    };
    expect(solve(qp).status).toBe('notConvex');
  });

  test('gives the same bytes again after solving something else with the same storage', () => {
    const [first] = fc.sample(feasibleCase(fc.constant(Infinity)), { seed: 5, numRuns: 1 }) as [Case];
    const solver = new QpSolver(first.n, first.equalities, first.inequalities);
    solver.solve(first);
    const before = [...solver.x, ...solver.multipliers, ...solver.boundMultipliers];
    solver.solve({ ...first, gradient: first.gradient.map((value) => 3 - value), cap: 0.5 });
    solver.solve(first);
    expect([...solver.x, ...solver.multipliers, ...solver.boundMultipliers]).toEqual(before);
  });
});
