import type { NlpProblem } from '../../../core/nlp/problem.ts';

/** Small problems written out by hand, with derivatives; `free` gives n infinite bounds. */
export function makeProblem(
  sizes: { n: number; equalities?: number; inequalities?: number; lower?: number[]; upper?: number[] },
  evaluate: NlpProblem['evaluate'],
  differentiate: (x: Float64Array, gradient: Float64Array, jacobian: Float64Array) => boolean | undefined,
): NlpProblem {
  const { n } = sizes;
  return {
    variableCount: n,
    equalityCount: sizes.equalities ?? 0,
    inequalityCount: sizes.inequalities ?? 0,
    lower: sizes.lower ? Float64Array.from(sizes.lower) : new Float64Array(n).fill(-Infinity),
    upper: sizes.upper ? Float64Array.from(sizes.upper) : new Float64Array(n).fill(Infinity),
    evaluate,
    differentiate: (x, gradient, jacobian) => differentiate(x, gradient, jacobian) !== false,
  };
}

/** Records every x that a problem is evaluated at, and whether `differentiate` only ever follows an evaluation at the same x. */
export function watch(problem: NlpProblem): {
  problem: NlpProblem;
  points: number[][];
  outOfOrder: () => number;
} {
  const points: number[][] = [];
  let wrong = 0;
  return {
    points,
    outOfOrder: () => wrong,
    problem: {
      ...problem,
      evaluate(x, constraints) {
        points.push([...x]);
        return problem.evaluate(x, constraints);
      },
      differentiate(x, gradient, jacobian) {
        const last = points.at(-1);
        if (!last || last.some((value, j) => value !== x[j])) wrong++;
        return problem.differentiate(x, gradient, jacobian);
      },
    },
  };
}

/** Usual tolerances of these tests. */
export const tight = { feasibilityTolerance: 1e-9, optimalityTolerance: 1e-9, maxIterations: 100 };

/**
 * A smooth family with a parameter: reach the point (p, 1 − p²/2) on a curved track at least cost; n = 5, two equalities, one
 * inequality that is active for p below about 0.48 and above about 0.75, bounds on the last variable.
 */
export function familyMember(p: number): NlpProblem {
  return makeProblem(
    {
      n: 5,
      equalities: 2,
      inequalities: 1,
      lower: [-9, -9, -9, -9, -0.2],
      upper: [9, 9, 9, 9, 0.2],
    },
    (x, c) => {
      const [a, b, d, e, h] = x as unknown as [number, number, number, number, number];
      c[0] = Math.sin(a) + b * d - p;
      c[1] = a + b + d * d + 0.5 * e - 1 + 0.5 * p * p;
      c[2] = 0.86 - p - e + 0.3 * h;
      return a * a + 2 * b * b + (d - 1) ** 2 + 0.5 * (e - 1) ** 2 + Math.exp(0.2 * a * e) + h;
    },
    (x, g, j) => {
      const [a, b, d, e] = x as unknown as [number, number, number, number];
      const grown = Math.exp(0.2 * a * e);
      g.set([2 * a + 0.2 * e * grown, 4 * b, 2 * (d - 1), e - 1 + 0.2 * a * grown, 1]);
      j.set([Math.cos(a), d, b, 0, 0, 1, 1, 2 * d, 0.5, 0, 0, 0, 0, -1, 0.3]);
      return true;
    },
  );
}
