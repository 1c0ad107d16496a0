import { describe, expect, it } from 'vitest';
import { LinearTable, MonotoneCubicTable } from '../../../core/math/interpolation.ts';
import { StepStore } from '../../../core/ode/dense.ts';
import type { OdeSystem } from '../../../core/ode/system.ts';
import {
  bilinearSpring,
  bilinearState,
  distance,
  FunctionSystem,
  LayeredSystem,
  makeDriver,
  monitor,
  numbers,
  observedOrders,
} from './problems.ts';

const START = Float64Array.of(1, 0);

/** The same spring, but left to step across its kink. */
const blindSpring = new FunctionSystem(2, (_t, y, d) => {
  d[0] = y[1]!;
  d[1] = y[0]! < 0 ? -4 * y[0]! : -y[0]!;
});

/** Flies with steps of one length only: the tolerance asks nothing and the longest step rules. */
function evenSteps(system: OdeSystem, end: number, h: number): Float64Array {
  const driver = makeDriver(2, 1e6, 1e6, h);
  driver.start(system, 0, START, h);
  expect(driver.advanceTo(system, end, [], null)).toBe('reached');
  return driver.y;
}

describe('a right-hand side with a kink', () => {
  it('is followed across its edge both ways to the tolerance', () => {
    const system = bilinearSpring();
    const driver = makeDriver(2, 1e-11, 1e-11);
    const store = new StepStore(2);
    driver.start(system, 0, START);
    const end = 30;
    expect(driver.advanceTo(system, end, [], store)).toBe('reached');
    // 30 / (3π/2) = 6.4 turns with two crossings each.
    expect(system.crossings).toBe(13);
    const out = new Float64Array(2);
    for (let t = 0; t <= end; t += 0.05) {
      store.sample(t, out);
      // Some 400 steps of 1e-11 each that mostly err alike.
      expect(distance(out, bilinearState(t))).toBeLessThan(2e-9);
    }
  });

  it('is stored so that every step lies in the one piece that was frozen', () => {
    const system = bilinearSpring();
    const driver = makeDriver(2, 1e-9, 1e-9);
    const store = new StepStore(2);
    driver.start(system, 0, START);
    driver.advanceTo(system, 20, [], store);
    const out = new Float64Array(2);
    for (let i = 0; i < store.count; i++) {
      for (const part of [0.1, 0.5, 0.9]) {
        store.sampleStep(i, store.timeOf(i) + part * store.lengthOf(i), out);
        expect(out[0]! > 0 ? 1 : 0).toBe(store.pieceOf(i));
      }
      if (i > 0) expect(store.timeOf(i)).toBe(store.timeOf(i - 1) + store.lengthOf(i - 1));
    }
  });

  it('keeps the order 5 of the method, which it loses when it steps across', () => {
    const end = 7;
    const lengths = [0.2, 0.1, 0.05, 0.025];
    const exact = bilinearState(end);
    const kept = observedOrders(lengths.map((h) => distance(evenSteps(bilinearSpring(), end, h), exact)));
    const errors = lengths.map((h) => distance(evenSteps(blindSpring, end, h), exact));
    // Where steps end on edges their lengths do not quite halve: half an order of scatter.
    for (const order of kept) expect(order).toBeGreaterThan(4.5);
    // A kink costs h² in one step however fine the rest is; from first to last entry, to even out the scatter.
    const lost = Math.log2(errors[0]! / errors[errors.length - 1]!) / (lengths.length - 1);
    expect(lost).toBeLessThan(3);
    expect(lost).toBeGreaterThan(1);
  });

  it('is taken over at once when the start lies on the edge, whichever way it goes', () => {
    for (const v of [1, -1]) {
      const system = bilinearSpring();
      const driver = makeDriver(2, 1e-11, 1e-11);
      driver.start(system, 0, Float64Array.of(0, v));
      expect(driver.advanceTo(system, 1, [], null)).toBe('reached');
      const exact = v > 0 ? [Math.sin(1), Math.cos(1)] : [-0.5 * Math.sin(2), -Math.cos(2)];
      expect(distance(driver.y, exact)).toBeLessThan(1e-10);
    }
  });
});

/** A stone under gravity 1 with a spring of this stiffness in the layer above height 1. y = (height, speed). */
function stoneUnderSpring(stiffness: number): LayeredSystem {
  return new LayeredSystem(2, [1], (piece, _t, y, d) => {
    d[0] = y[1]!;
    d[1] = piece === 0 ? -1 : -1 - stiffness * (y[0]! - 1);
  });
}

/** Where a stone from the ground with the given energy surplus over height 1 is at time t, on its way down. */
function stoneComingDown(surplus: number, stiffness: number, t: number): Float64Array {
  const start = Math.sqrt(2 * (1 + surplus));
  const atEdge = Math.sqrt(2 * surplus);
  const omega = Math.sqrt(stiffness);
  // Above: u'' = −1 − k u from u = 0 with speed w comes back after (2/ω) arctan(k w / ω) with speed −w.
  const above = (2 / omega) * Math.atan((stiffness * atEdge) / omega);
  const back = start - atEdge + above;
  const since = t - back;
  return Float64Array.of(1 - atEdge * since - 0.5 * since * since, -atEdge - since);
}

describe('an edge that is only just reached', () => {
  for (const surplus of [0, 1e-15, 1e-13, 1e-11, 1e-8, 1e-5, 1e-3, 0.05, 1, -1e-15, -1e-11, -1e-6]) {
    it(`is not stepped across when the path turns round ${surplus} of energy above it`, () => {
      const stiffness = 400;
      const system = stoneUnderSpring(stiffness);
      const driver = makeDriver(2, 1e-10, 1e-10);
      driver.start(system, 0, Float64Array.of(0, Math.sqrt(2 * (1 + surplus))));
      const end = 2.6;
      expect(driver.advanceTo(system, end, [], null)).toBe('reached');
      const exact =
        surplus > 0
          ? stoneComingDown(surplus, stiffness, end)
          : [Math.sqrt(2 * (1 + surplus)) * end - 0.5 * end * end, Math.sqrt(2 * (1 + surplus)) - end];
      // The tolerance, a few steps, and the square root by which a grazing path answers to its height.
      expect(distance(driver.y, exact)).toBeLessThan(3e-8);
    });
  }

  it('is seen when out and back fall within the one step that the smooth part would allow', () => {
    const stiffness = 50;
    const system = stoneUnderSpring(stiffness);
    // A parabola is no effort: but for the edge one step would do.
    const driver = makeDriver(2, 1e-6, 1e-6);
    driver.start(system, 0, Float64Array.of(0, Math.sqrt(2.1)), 2.5);
    expect(driver.advanceTo(system, 2.5, [], null)).toBe('reached');
    expect(system.crossings).toBe(2);
    expect(distance(driver.y, stoneComingDown(0.05, stiffness, 2.5))).toBeLessThan(1e-5);
  });
});

describe('a narrow way out of a piece', () => {
  for (const [name, half, expected] of [
    ['its middle', 0.025, 0.475],
    ['the nearest point of a parabola', 0.2, 0.3],
  ] as const) {
    it(`is seen in a step when it lies at ${name}`, () => {
      // The distance to the edge follows the time alone here: a notch at 1/2, lopsided outside.
      const system = new LayeredSystem(1, [0], (_piece, _t, _y, d) => {
        d[0] = 1;
      });
      const exits: number[] = [];
      system.pieceMargin = (t) =>
        exits.length === 0 ? Math.min(1 + 0.5 * t, Math.abs(t - 0.5) / half - 1) : 1;
      system.crossEdge = (t) => exits.push(t);
      const driver = makeDriver(1, 1e-6);
      driver.start(system, 0, Float64Array.of(1), 2);
      expect(driver.advanceTo(system, 1, [], null)).toBe('reached');
      // Found to 1e-13 of a step of 1.
      expect(exits).toHaveLength(1);
      expect(Math.abs(exits[0]! - expected)).toBeLessThan(1e-12);
    });
  }
});

describe('layers far thinner than a step', () => {
  /** Integral of a table from its first node to `x`, exactly for straight lines. */
  function integral(xs: readonly number[], ys: readonly number[], x: number): number {
    let sum = 0;
    for (let i = 1; i < xs.length; i++) {
      const width = Math.min(x, xs[i]!) - xs[i - 1]!;
      if (width <= 0) break;
      const slope = (ys[i]! - ys[i - 1]!) / (xs[i]! - xs[i - 1]!);
      sum += width * (ys[i - 1]! + 0.5 * slope * width);
    }
    return sum;
  }

  it('are each taken in turn, so that a sum over a linear table is exact', () => {
    const next = numbers(3);
    let x = 0;
    const xs = Array.from({ length: 40 }, () => (x += 1e-4 + 0.2 * next() ** 4));
    const ys = xs.map(() => next());
    const table = new LinearTable(xs, ys);
    const system = new LayeredSystem(2, [...table.edges], (piece, _t, y, d) => {
      d[0] = 1;
      d[1] = table.evaluate(y[0]!, piece);
    });
    const driver = makeDriver(2, 1e-6, 1e-6);
    driver.start(system, 0, Float64Array.of(xs[0]! + 1e-5, 0), 5);
    const travel = xs[39]! - xs[0]! - 2e-5;
    expect(driver.advanceTo(system, travel, [], null)).toBe('reached');
    expect(system.crossings).toBe(38);
    // The method sums a straight line without error: what is left is rounding, and at each of 39 edges a place that is
    // good to 1e-12 of a step.
    const exact = integral(xs, ys, xs[39]! - 1e-5) - integral(xs, ys, xs[0]! + 1e-5);
    expect(Math.abs(driver.y[1]! - exact)).toBeLessThan(1e-12);
  });

  it('are each taken in turn with a field that jumps at them', () => {
    // x' = 1, 2, 1, 2, ... in layers of 1e-3: two layers take 1.5e-3.
    const edges = Array.from({ length: 100 }, (_, i) => 1e-3 * (i + 1));
    const system = new LayeredSystem(1, edges, (piece, _t, _y, d) => {
      d[0] = 1 + (piece % 2);
    });
    const driver = makeDriver(1, 1e-6, 1e-6);
    driver.start(system, 0, Float64Array.of(0), 1);
    expect(driver.advanceTo(system, 0.075, [], null)).toBe('reached');
    // A hundred edges, each found to 1e-12 of a step of at most 0.075.
    expect(Math.abs(driver.y[0]! - 0.1)).toBeLessThan(1e-11);
  });

  it('let a monotone cubic table be summed to rounding as well', () => {
    const xs = [0, 0.01, 0.5, 0.502, 0.503, 2];
    const ys = [1, 3, 2.5, 2, 0.5, 0.4];
    const table = new MonotoneCubicTable(xs, ys);
    const system = new LayeredSystem(2, [...table.edges], (piece, _t, y, d) => {
      d[0] = 1;
      d[1] = table.evaluate(y[0]!, piece);
    });
    const driver = makeDriver(2, 1e-6, 1e-6);
    driver.start(system, 0, Float64Array.of(-0.3, 0), 5);
    expect(driver.advanceTo(system, 3, [], null)).toBe('reached');
    // Simpson's rule is exact for cubics; constants 1 before and 0.4 after.
    let exact = 0.3 + 0.7 * 0.4;
    for (let i = 1; i < xs.length; i++) {
      const middle = table.evaluate(0.5 * (xs[i - 1]! + xs[i]!), i);
      exact += ((xs[i]! - xs[i - 1]!) / 6) * (ys[i - 1]! + 4 * middle + ys[i]!);
    }
    expect(Math.abs(driver.y[1]! - exact)).toBeLessThan(1e-11);
  });
});

describe('an edge that the field pushes against from both sides', () => {
  it('ends the integration with a code and the last good state, not in an endless loop', () => {
    const system = new LayeredSystem(1, [0], (piece, _t, _y, d) => {
      d[0] = piece === 0 ? 1 : -2;
    });
    const driver = makeDriver(1, 1e-8, 1e-8, Number.POSITIVE_INFINITY, 500);
    driver.start(system, 0, Float64Array.of(1));
    expect(driver.advanceTo(system, 3, [], null)).toBe('stepVanished');
    // It reaches the edge at t = 1/2 and can go no further.
    expect(Math.abs(driver.t - 0.5)).toBeLessThan(1e-9);
    expect(Math.abs(driver.y[0]!)).toBeLessThan(1e-9);
    expect(system.crossings).toBeLessThan(100);
  });
});

describe('an event on an edge', () => {
  for (const offset of [0, 1e-15, -1e-15, 1e-12, -1e-12, 1e-9, -1e-9]) {
    it(`fires once on each passage when it lies ${offset} beside the edge`, () => {
      const system = bilinearSpring();
      const driver = makeDriver(2, 1e-9, 1e-9);
      const monitors = [monitor(0, (_t, y) => y[0]! - offset)];
      driver.start(system, 0, START);
      const times: number[] = [];
      while (driver.advanceTo(system, 20, monitors, null) === 'event') times.push(driver.t);
      // Down at π/2, up at π, down at 2π, up at 5π/2, ... in turns of 3π/2.
      const exact = Array.from(
        { length: 9 },
        (_, i) => Math.PI * (i % 2 === 0 ? 0.5 + 0.75 * i : 1 + 0.75 * (i - 1)),
      ).filter((t) => t < 20);
      expect(times).toHaveLength(exact.length);
      // The tolerance of 1e-9 a step over some 200 steps, at speeds of 1.
      expect(distance(times, exact)).toBeLessThan(1e-7);
    });
  }
});
