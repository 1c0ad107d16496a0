import { describe, expect, it } from 'vitest';
import { dormandPrince54 as pair } from '../../../core/ode/tableau.ts';
import published from '../../published/ode/dormand-prince.json' with { type: 'json' };
import { elementaryWeights, rootedTrees } from './trees.ts';

/** Sums of a handful of terms up to 12 in size: a few dozen roundings of 1e-16 times that. */
const ROUNDING = 2e-14;

const fraction = (text: string): number => {
  const [over, under = '1'] = text.split('/');
  return Number(over) / Number(under);
};
const sum = (terms: readonly number[]): number => terms.reduce((total, term) => total + term, 0);
const dot = (a: readonly number[], b: readonly number[]): number => sum(a.map((each, i) => each * b[i]!));
const trees = rootedTrees(6);

/** Largest failure of the order conditions of the trees with this many vertices. */
function defect(weights: readonly number[], vertices: number, theta = 1): number {
  return Math.max(
    ...trees[vertices]!.map((tree) =>
      Math.abs(dot(weights, elementaryWeights(tree, pair.a)) - theta ** vertices / tree.gamma),
    ),
  );
}

/** Weights b_i(θ) of the interpolant: the polynomial of `interpolate` applied to unit slopes one at a time, h = 1. */
function weightsAt(theta: number): number[] {
  const left = 1 - theta;
  return pair.b.map((rise, i) => {
    const first = i === 0 ? 1 : 0;
    const last = i === pair.stages - 1 ? 1 : 0;
    const bend = first - rise;
    return theta * (rise + left * (bend + theta * (rise - last - bend + left * pair.d[i]!)));
  });
}

describe('the pair of Dormand and Prince', () => {
  it('has the published coefficients', () => {
    expect(pair.c).toEqual(published.c.map(fraction));
    expect(pair.a).toEqual(published.a.map((row) => row.map(fraction)));
    expect(pair.b).toEqual(published.fifthOrder.map(fraction));
    const differences = published.fifthOrder.map((b, i) => fraction(b) - fraction(published.fourthOrder[i]!));
    differences.forEach((difference, i) => {
      // The difference of two decimals below 1 against one fraction: one rounding each.
      expect(Math.abs(difference - pair.e[i]!)).toBeLessThan(3e-16);
    });
  });

  it('has a lower triangle, as many rows and weights as stages', () => {
    expect(pair.stages).toBe(7);
    for (const list of [pair.c, pair.a, pair.b, pair.e, pair.d]) expect(list).toHaveLength(pair.stages);
    pair.a.forEach((row, i) => expect(row).toHaveLength(i));
  });

  it('has rows that sum to their nodes', () => {
    pair.a.forEach((row, i) => expect(Math.abs(sum(row) - pair.c[i]!)).toBeLessThan(ROUNDING));
  });

  it('counts 1, 1, 2, 4, 9 and 20 rooted trees', () => {
    // A. Cayley's numbers; Hairer, Nørsett, Wanner I, table 2.1 of chapter II. The checks below stand on these trees.
    expect(trees.slice(1).map((list) => list.length)).toEqual([1, 1, 2, 4, 9, 20]);
  });

  it('meets every order condition up to 5 and not those of 6', () => {
    for (let order = 1; order <= 5; order++) expect(defect(pair.b, order)).toBeLessThan(ROUNDING);
    expect(defect(pair.b, 6)).toBeGreaterThan(1e-4);
  });

  it('has embedded weights that meet every order condition up to 4 and not those of 5', () => {
    const embedded = pair.b.map((b, i) => b - pair.e[i]!);
    for (let order = 1; order <= 4; order++) expect(defect(embedded, order)).toBeLessThan(ROUNDING);
    expect(defect(embedded, 5)).toBeGreaterThan(1e-4);
  });

  it('ends with its own first stage of the next step', () => {
    expect(pair.c[6]).toBe(1);
    expect([...pair.a[6]!, 0]).toEqual(pair.b);
  });

  it('has an interpolant that meets every order condition up to 4 at every θ', () => {
    for (const theta of [0, 0.05, 0.3, 0.5, 0.77, 1]) {
      for (let order = 1; order <= 4; order++) {
        expect(defect(weightsAt(theta), order, theta)).toBeLessThan(ROUNDING);
      }
    }
    expect(defect(weightsAt(0.5), 5, 0.5)).toBeGreaterThan(1e-5);
  });

  it('has interpolation weights that agree with the printed polynomials', () => {
    // From memory: Hairer, Nørsett, Wanner I, 2nd ed., equation (6.12) of chapter II, of fifth degree. The program of
    // the same authors keeps the part of fourth degree by setting θ = 1/2 in the last factor, and so does this.
    const printed = [
      (-5 * (2558722523 - 31403016 / 2)) / 11282082432,
      0,
      (100 * (882725551 - 15701508 / 2)) / 32700410799,
      (-25 * (443332067 - 31403016 / 2)) / 1880347072,
      (32805 * (23143187 - 3489224 / 2)) / 199316789632,
      (-55 * (29972135 - 7076736 / 2)) / 822651844,
      (10 * (7414447 - 829305 / 2)) / 29380423,
    ];
    // One division and two products each.
    printed.forEach((d, i) =>
      expect(Math.abs(d - pair.d[i]!)).toBeLessThan(1e-15 * Math.max(1, Math.abs(d))),
    );
    expect(Math.abs(sum(pair.d))).toBeLessThan(ROUNDING);
  });
});
