import { curveMonotoneX, line } from 'd3';
import { describe, expect, it } from 'vitest';
import { LinearTable, MonotoneCubicTable, type PiecewiseTable } from '../../../core/math/interpolation.ts';
import { numbers, observedOrders } from '../ode/problems.ts';

/** An uneven table with a peak, a flat and a steep part, in the manner of drag against Mach number. */
const xs = [0, 0.6, 0.9, 1.05, 1.1, 1.5, 2, 4, 7];
const ys = [0.3, 0.3, 0.42, 0.55, 0.53, 0.5, 0.35, 0.2, 0.25];
const kinds = [
  ['linear', (x: ArrayLike<number>, y: ArrayLike<number>) => new LinearTable(x, y)],
  ['monotone cubic', (x: ArrayLike<number>, y: ArrayLike<number>) => new MonotoneCubicTable(x, y)],
] as const;

const valueAt = (table: PiecewiseTable, x: number): number => table.evaluate(x, table.pieceAt(x));

for (const [name, make] of kinds) {
  describe(`a ${name} table`, () => {
    it('passes through its nodes exactly from the right and to rounding from the left', () => {
      const table = make(xs, ys);
      xs.forEach((x, i) => {
        expect(table.evaluate(x, i + 1)).toBe(ys[i]);
        // Four products and sums of numbers below 1.
        expect(Math.abs(table.evaluate(x, i) - ys[i]!)).toBeLessThan(1e-15);
      });
    });

    it('is constant beyond its ends', () => {
      const table = make(xs, ys);
      for (const x of [-1e9, -3, -1e-9]) {
        expect(table.pieceAt(x)).toBe(0);
        expect(valueAt(table, x)).toBe(0.3);
      }
      for (const x of [7, 7.1, 1e9]) {
        expect(table.pieceAt(x)).toBe(xs.length);
        expect(valueAt(table, x)).toBe(0.25);
      }
    });

    it('counts its pieces by the nodes at or below x, so that a node belongs to the piece on its right', () => {
      const table = make(xs, ys);
      const next = numbers(5);
      const places = [...xs, ...Array.from({ length: 200 }, () => 10 * next() - 1)];
      for (const x of places) expect(table.pieceAt(x)).toBe(xs.filter((node) => node <= x).length);
      expect([...table.edges]).toEqual(xs);
      expect([...table.xs]).toEqual(xs);
    });

    it("keeps to a frozen piece's formula past its edges", () => {
      const table = make(xs, ys);
      // A polynomial of degree 3 at most: its fourth difference vanishes across the edge, where the table's own does not.
      for (const piece of [2, 4, 6]) {
        const edge = xs[piece - 1]!;
        const h = 0.05;
        const fourth = (f: (x: number) => number): number =>
          f(edge - 2 * h) - 4 * f(edge - h) + 6 * f(edge) - 4 * f(edge + h) + f(edge + 2 * h);
        expect(Math.abs(fourth((x) => table.evaluate(x, piece)))).toBeLessThan(1e-14);
        expect(Math.abs(fourth((x) => valueAt(table, x)))).toBeGreaterThan(1e-4);
      }
    });

    it('gives the slope of its formula', () => {
      const table = make(xs, ys);
      for (const x of [-1, 0.3, 0.8, 1.07, 1.3, 3, 5, 9]) {
        const piece = table.pieceAt(x);
        const h = 1e-5;
        const difference = (table.evaluate(x + h, piece) - table.evaluate(x - h, piece)) / (2 * h);
        // h² / 6 times a third derivative below 1000 (a rise of 0.1 within 0.05, cubed), and rounding of 1e-16 over h.
        expect(Math.abs(table.slope(x, piece) - difference)).toBeLessThan(5e-8);
      }
    });

    it('is not a number where x is not', () => {
      const table = make(xs, ys);
      expect(valueAt(table, Number.NaN)).toBeNaN();
      expect(table.evaluate(Number.NaN, 0)).toBeNaN();
    });

    it('holds one node as a constant', () => {
      const table = make([2], [0.4]);
      for (const x of [-1, 2, 5]) expect(valueAt(table, x)).toBe(0.4);
      expect(table.kinks).toHaveLength(0);
    });

    it('takes typed arrays, and does not see later changes of what it was given', () => {
      const given = Float64Array.from(ys);
      const nodes = Float64Array.from(xs);
      const table = make(nodes, given);
      given.fill(9);
      nodes.fill(9);
      expect(valueAt(table, 1.05)).toBe(0.55);
    });

    it('refuses what is not a table, naming the entry', () => {
      expect(() => make([], [])).toThrow('xs is empty');
      expect(() => make([0, 1], [1])).toThrow('xs has 2 entries and ys 1');
      expect(() => make([0, 1, 1], [1, 2, 3])).toThrow('xs[2] is 1; it must be above xs[1], 1');
      expect(() => make([0, 2, 1], [1, 2, 3])).toThrow('xs[2] is 1');
      expect(() => make([0, Number.NaN], [1, 2])).toThrow('xs[1] is NaN; it must be finite');
      expect(() => make([0, 1], [1, Number.POSITIVE_INFINITY])).toThrow('ys[1] is Infinity');
    });
  });
}

describe('a linear table', () => {
  it('is the straight line between two nodes', () => {
    const table = new LinearTable(xs, ys);
    // Halfway between nodes, by hand.
    expect(valueAt(table, 0.75)).toBeCloseTo(0.36, 15);
    expect(valueAt(table, 3)).toBeCloseTo(0.275, 15);
    expect(valueAt(table, 5.5)).toBeCloseTo(0.225, 15);
  });

  it('has its kinks where the slope changes, the ends among them', () => {
    expect([...new LinearTable([0, 1, 2, 3], [0, 1, 2, 2]).kinks]).toEqual([0, 2]);
    expect([...new LinearTable(xs, ys).kinks]).toEqual(xs.slice(1));
  });

  it('errs with the square of the spacing', () => {
    const errors = [20, 40, 80].map((n) => worstError((x, y) => new LinearTable(x, y), Math.exp, n, 0, 2));
    for (const order of observedOrders(errors)) expect(Math.abs(order - 2)).toBeLessThan(0.1);
  });
});

/** Largest error between n even nodes over [0, 2], looked at within [from, to]. */
function worstError(
  make: (x: number[], y: number[]) => PiecewiseTable,
  f: (x: number) => number,
  n: number,
  from: number,
  to: number,
): number {
  const nodes = Array.from({ length: n + 1 }, (_, i) => (2 * i) / n);
  const table = make(nodes, nodes.map(f));
  let worst = 0;
  for (let x = from; x <= to; x += 0.3 / 331) worst = Math.max(worst, Math.abs(valueAt(table, x) - f(x)));
  return worst;
}

describe('a monotone cubic table', () => {
  it('has a continuous slope at every node, the ends included', () => {
    const table = new MonotoneCubicTable(xs, ys);
    xs.forEach((x, i) => {
      // Terms up to 10 in size (a secant of 0.9 over a width of 0.05 enters with its square): a dozen roundings.
      expect(Math.abs(table.slope(x, i) - table.slope(x, i + 1))).toBeLessThan(1e-14);
    });
    expect(table.kinks).toHaveLength(0);
  });

  it('rises and falls only where its nodes do (random tables)', () => {
    for (let seed = 1; seed <= 200; seed++) {
      const next = numbers(seed);
      const n = 3 + Math.floor(6 * next());
      let x = 0;
      const nodes = Array.from({ length: n }, () => (x += 0.01 + next() ** 3));
      const values = nodes.map(() => (next() < 0.2 ? 0.5 : next()));
      const table = new MonotoneCubicTable(nodes, values);
      for (let i = 1; i < n; i++) {
        const direction = Math.sign(values[i]! - values[i - 1]!);
        let before = values[i - 1]!;
        for (let k = 1; k <= 40; k++) {
          const here = table.evaluate(nodes[i - 1]! + ((nodes[i]! - nodes[i - 1]!) * k) / 40, i);
          // The rounding of a value below 1 with terms up to a few.
          expect((here - before) * (direction === 0 ? 1 : direction)).toBeGreaterThan(-4e-16);
          before = here;
        }
        if (direction === 0) expect(Math.abs(before - values[i]!)).toBeLessThan(4e-16);
      }
    }
  });

  it("is, between inner nodes, the curve that d3's drawing of the same method gives", () => {
    const table = new MonotoneCubicTable(xs, ys);
    const path = line<number>()
      .x((i) => xs[i]!)
      .y((i) => ys[i]!)
      .curve(curveMonotoneX)
      .digits(null)(xs.map((_, i) => i))!;
    const curves = [...path.matchAll(/C([^C]+)/g)].map((match) => match[1]!.split(',').map(Number));
    expect(curves).toHaveLength(xs.length - 1);
    // Not the first and last: there the other takes a one-sided slope, this one zero.
    for (let piece = 2; piece < xs.length - 1; piece++) {
      const [, y1, , y2, , y3] = curves[piece - 1]!;
      for (const u of [0.1, 0.35, 0.5, 0.8]) {
        const v = 1 - u;
        const bezier = v ** 3 * ys[piece - 1]! + 3 * v * v * u * y1! + 3 * v * u * u * y2! + u ** 3 * y3!;
        const x = xs[piece - 1]! + u * (xs[piece]! - xs[piece - 1]!);
        // Two ways to the same cubic, the other's slopes rounded in another order.
        expect(Math.abs(table.evaluate(x, piece) - bezier)).toBeLessThan(1e-15);
      }
    }
  });

  it('gives back a parabola away from its ends and its vertex', () => {
    const nodes = [0, 0.5, 0.7, 1.2, 1.5, 2, 2.6];
    const table = new MonotoneCubicTable(
      nodes,
      nodes.map((x) => x * x),
    );
    // M. Steffen's claim for his slopes; a handful of roundings.
    for (let x = 0.5; x < 2; x += 0.01) expect(Math.abs(valueAt(table, x) - x * x)).toBeLessThan(4e-15);
  });

  it('errs with the third power of the spacing inside and with the spacing itself at its ends', () => {
    const make = (x: number[], y: number[]): PiecewiseTable => new MonotoneCubicTable(x, y);
    const inside = [20, 40, 80].map((n) => worstError(make, Math.exp, n, 0.4, 1.6));
    for (const order of observedOrders(inside)) expect(order).toBeGreaterThan(2.8);
    // The slope at the end is wrong by f' itself and acts over one spacing.
    const ends = [20, 40, 80].map((n) => worstError(make, Math.exp, n, 0, 2));
    for (const order of observedOrders(ends)) expect(Math.abs(order - 1)).toBeLessThan(0.1);
  });
});
