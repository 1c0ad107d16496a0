import { describe, expect, it } from 'vitest';
import type { Driver, Monitor } from '../../../core/ode/driver.ts';
import { StepStore } from '../../../core/ode/dense.ts';
import type { OdeSystem } from '../../../core/ode/system.ts';
import { distance, FunctionSystem, keplerState, keplerSystem, makeDriver, monitor } from './problems.ts';

/** A stone under gravity 1: y = (height, speed). */
const stone = new FunctionSystem(2, (_t, y, d) => {
  d[0] = y[1]!;
  d[1] = -1;
});
const circle = new FunctionSystem(2, (_t, y, d) => {
  d[0] = y[1]!;
  d[1] = -y[0]!;
});
const height = (value: number, direction: -1 | 0 | 1 = 0): Monitor =>
  monitor(direction, (_t, y) => y[0]! - value);
const clock = (time: number): Monitor => monitor(1, (t) => t - time);

/** Flies on through every event to the end; the times at which each monitor fired. */
function firings(
  driver: Driver,
  system: OdeSystem,
  end: number,
  monitors: readonly Monitor[],
): [number, number][] {
  const list: [number, number][] = [];
  for (;;) {
    const code = driver.advanceTo(system, end, monitors, null);
    if (code === 'reached') return list;
    expect(code).toBe('event');
    list.push([driver.firedMonitor, driver.t]);
    if (list.length > 1000) throw new Error('events without end');
  }
}

describe('a known time', () => {
  it('is met bit for bit, stop after stop', () => {
    const driver = makeDriver(2, 1e-8);
    driver.start(circle, 0, Float64Array.of(0, 1));
    const store = new StepStore(2);
    let t = 0;
    for (let i = 1; i <= 200; i++) {
      t += 0.1 / (1 + (i % 7));
      expect(driver.advanceTo(circle, t, [], store)).toBe('reached');
      expect(driver.t).toBe(t);
      expect(driver.firedMonitor).toBe(-1);
    }
    expect(distance(driver.y, [Math.sin(t), Math.cos(t)])).toBeLessThan(1e-7);
    // The time is set to the stop; the steps add up to it within a rounding of their sum.
    expect(Math.abs(store.end - t)).toBeLessThan(4 * Number.EPSILON * t);
  });

  it('that is the present one is reached without a step', () => {
    const driver = makeDriver(2, 1e-8);
    driver.start(circle, 3, Float64Array.of(0, 1));
    expect(driver.advanceTo(circle, 3, [height(0)], null)).toBe('reached');
    expect(driver.acceptedSteps).toBe(0);
  });

  it('does not shorten the steps that come after it', () => {
    const alone = makeDriver(2, 1e-8);
    alone.start(circle, 0, Float64Array.of(0, 1));
    alone.advanceTo(circle, 20, [], null);
    const stopping = makeDriver(2, 1e-8);
    stopping.start(circle, 0, Float64Array.of(0, 1));
    for (const stop of [10, 10 + 1e-9, 10 + 2e-9, 10 + 1e-3, 20]) stopping.advanceTo(circle, stop, [], null);
    expect(stopping.acceptedSteps).toBeLessThan(alone.acceptedSteps + 10);
  });
});

describe('an event', () => {
  it('is located at the apex and at the ground of a throw', () => {
    const driver = makeDriver(2, 1e-9);
    const v = 3;
    driver.start(stone, 0, Float64Array.of(2, v));
    const monitors = [height(0, -1), monitor(-1, (_t, y) => y[1]!)];
    const seen = firings(driver, stone, 10, monitors);
    const ground = v + Math.sqrt(v * v + 4);
    expect(seen.map(([index]) => index)).toEqual([1, 0]);
    // The method flies a parabola without error: the root is good to 1e-13 of a step of a few seconds.
    expect(
      distance(
        seen.map(([, t]) => t),
        [v, ground],
      ),
    ).toBeLessThan(2e-12);
  });

  it('leaves the state of a step that ends there', () => {
    const driver = makeDriver(4, 1e-10);
    const e = 0.5;
    driver.start(keplerSystem(1), 0, keplerState(e, 0));
    expect(driver.advanceTo(keplerSystem(1), 10, [monitor(-1, (_t, y) => y[1]!)], null)).toBe('event');
    // The apocentre. 1e-10 a step for some 60 steps; its time answers to errors of the size of the path by 1/speed = √3.
    expect(Math.abs(driver.t - Math.PI)).toBeLessThan(2e-8);
    expect(distance(driver.y, keplerState(e, driver.t))).toBeLessThan(2e-8);
    expect(Math.abs(driver.y[1]!)).toBeLessThan(1e-9);
  });

  it('is located with the accuracy of the steps, better with a finer tolerance', () => {
    const misses = [1e-5, 1e-7, 1e-9, 1e-11].map((tolerance) => {
      const driver = makeDriver(2, tolerance);
      driver.start(circle, 0, Float64Array.of(0, 1));
      driver.advanceTo(circle, 10, [height(0.3, -1)], null);
      return Math.abs(driver.t - (Math.PI - Math.asin(0.3)));
    });
    // Some ten steps, and an interpolation between them that is worse than their ends by an order.
    [1e-4, 1e-6, 1e-8, 1e-10].forEach((allowed, i) => expect(misses[i]).toBeLessThan(allowed));
  });

  it('fires once at every passage, in its direction only', () => {
    for (const direction of [-1, 0, 1] as const) {
      const driver = makeDriver(2, 1e-11);
      driver.start(circle, 0.5, Float64Array.of(Math.sin(0.5), Math.cos(0.5)));
      const seen = firings(driver, circle, 100, [height(0, direction)]);
      const roots = Array.from({ length: 31 }, (_, i) => (i + 1) * Math.PI).filter(
        (_, i) => direction === 0 || (i % 2 === 1) === direction > 0,
      );
      expect(seen).toHaveLength(roots.length);
      // 1e-11 a step, ten steps a turn, 16 turns, errors that add up along the circle.
      expect(
        distance(
          seen.map(([, t]) => t),
          roots,
        ),
      ).toBeLessThan(2e-8);
    }
  });

  it('that comes first wins, whatever the order of the monitors', () => {
    for (const order of [
      [0.5, 0.2, 0.9],
      [0.2, 0.5, 0.9],
      [0.9, 0.5, 0.2],
    ]) {
      const driver = makeDriver(2, 1e-9);
      // A first step that spans all of them.
      driver.start(stone, 0, Float64Array.of(0, 50), 3);
      const seen = firings(
        driver,
        stone,
        3,
        order.map((time) => clock(time)),
      );
      expect(
        distance(
          seen.map(([, t]) => t),
          [0.2, 0.5, 0.9],
        ),
      ).toBeLessThan(1e-12);
      expect(seen.map(([index]) => order[index])).toEqual([0.2, 0.5, 0.9]);
    }
  });

  it('that ties with others fires by order, each once, at one time and state', () => {
    const driver = makeDriver(2, 1e-9);
    driver.start(circle, 0, Float64Array.of(0, 1));
    const monitors = [height(0.5), height(2), monitor(0, (_t, y) => 3 * (y[0]! - 0.5)), height(0.5, 1)];
    const seen = firings(driver, circle, 1, monitors);
    expect(seen.map(([index]) => index)).toEqual([0, 2, 3]);
    for (const [, t] of seen) expect(t).toBe(seen[0]![1]);
    expect(Math.abs(seen[0]![1] - Math.PI / 6)).toBeLessThan(1e-8);
  });

  it('that ties does not fire when the first of them moves the state back before it', () => {
    const driver = makeDriver(2, 1e-9);
    driver.start(stone, 0, Float64Array.of(-1, 10));
    const monitors = [height(0, 1), monitor(1, (_t, y) => 2 * y[0]!)];
    expect(driver.advanceTo(stone, 1, monitors, null)).toBe('event');
    driver.y[0] = -1;
    driver.restart(stone);
    const before = driver.t;
    expect(driver.advanceTo(stone, 5, monitors, null)).toBe('event');
    expect(driver.firedMonitor).toBe(0);
    expect(driver.t).toBeGreaterThan(before + 0.05);
  });

  it('follows another by a nanosecond in its own right', () => {
    for (const gap of [1e-6, 1e-9, 1e-12]) {
      const driver = makeDriver(2, 1e-9);
      driver.start(circle, 0, Float64Array.of(0, 1));
      const seen = firings(driver, circle, 3, [height(Math.sin(0.4 + gap), 1), height(Math.sin(0.4), 1)]);
      expect(seen.map(([index]) => index)).toEqual([1, 0]);
      expect(seen[1]![1]).toBeGreaterThanOrEqual(seen[0]![1]);
    }
  });

  it('fires at the very end of the time asked for, and the end is then reached', () => {
    // Pairs of times whose difference is rounded, so that the start and a step to the end do not add up to the end.
    const pairs = Array.from({ length: 60 }, (_, i) => [0.11 * i - 3, 7 + 1 / (i + 1)] as const);
    const rounded = pairs.filter(([start, end]) => start + (end - start) !== end);
    expect(rounded.length).toBeGreaterThan(3);
    for (const [start, end] of pairs) {
      const driver = makeDriver(2, 1e-9);
      driver.start(stone, start, Float64Array.of(0, 50), 100);
      const monitors = [clock(end)];
      expect(driver.advanceTo(stone, end, monitors, null)).toBe('event');
      expect(driver.t).toBe(end);
      expect(driver.advanceTo(stone, end, monitors, null)).toBe('reached');
      expect(driver.advanceTo(stone, end + 1, monitors, null)).toBe('reached');
    }
  });

  it('does not fire at the start where its value is zero', () => {
    for (const direction of [-1, 0, 1] as const) {
      const driver = makeDriver(2, 1e-9);
      driver.start(circle, 0, Float64Array.of(0, 1));
      expect(driver.advanceTo(circle, 3, [height(0, direction)], null)).toBe('reached');
    }
  });

  it('does not fire again at once, however often it is asked and whatever stops come between', () => {
    const driver = makeDriver(2, 1e-4);
    driver.start(circle, 0, Float64Array.of(0, 1));
    const monitors = [height(0.3, 0)];
    expect(driver.advanceTo(circle, 2, monitors, null)).toBe('event');
    const at = driver.t;
    for (const stop of [0, 1e-13, 1e-12, 1e-9, 1e-6, 1e-3]) {
      driver.restart(circle);
      expect(driver.advanceTo(circle, at + stop, monitors, null)).toBe('reached');
    }
    // On the way down it does.
    expect(driver.advanceTo(circle, 4, monitors, null)).toBe('event');
    expect(Math.abs(driver.t - (Math.PI - Math.asin(0.3)))).toBeLessThan(1e-3);
  });

  it('fires again within the next step when the state has left zero and come back', () => {
    // A ball that keeps 0.8 of its speed at every bounce; steps as long as they like.
    const driver = makeDriver(2, 1e-6);
    driver.start(stone, 0, Float64Array.of(0, 5), 9);
    let bounce = 10;
    let speed = 5;
    for (let i = 0; i < 30; i++) {
      expect(driver.advanceTo(stone, 100, [height(0, -1)], null)).toBe('event');
      // The method flies a parabola without error; each bounce hands on 1e-13 of a step.
      expect(Math.abs(driver.t - bounce)).toBeLessThan(1e-10);
      speed *= 0.8;
      bounce += 2 * speed;
      driver.y[0] = 0;
      driver.y[1] = speed;
      driver.restart(stone);
    }
  });

  it('is not lost when the value passes zero and returns within one step', () => {
    for (const depth of [1, 0.1, 1e-2, 1e-4, 1e-6, 1e-8]) {
      for (const [direction, first] of [
        [1, 0],
        [0, 0],
        [-1, 1],
      ] as const) {
        const driver = makeDriver(2, 1e-6);
        // Apex at height 8 and time 4: one step of 10 spans it all.
        driver.start(stone, 0, Float64Array.of(0, 4), 10);
        expect(driver.advanceTo(stone, 10, [height(8 - depth, direction)], null)).toBe('event');
        const roots = [4 - Math.sqrt(2 * depth), 4 + Math.sqrt(2 * depth)];
        // The height is good to some 1e-15; near the apex time answers by its square root.
        expect(Math.abs(driver.t - roots[first]!)).toBeLessThan(1e-6 * Math.sqrt(depth) + 1e-11);
      }
    }
  });

  it('is not lost when other values of one step hide it', () => {
    // cos crosses 0.9 going down and comes up again while the step of a slow companion could span it.
    const driver = makeDriver(1, 1e-3, 1e-3, 0.8);
    const slow = new FunctionSystem(1, (_t, _y, d) => {
      d[0] = 1e-3;
    });
    driver.start(slow, 0, Float64Array.of(0), 0.8);
    const bump = monitor(0, (t) => Math.exp(-(((t - 5.4) / 0.25) ** 2)) - 0.5);
    const seen = firings(driver, slow, 12, [bump]);
    const half = 0.25 * Math.sqrt(Math.log(2));
    expect(
      distance(
        seen.map(([, t]) => t),
        [5.4 - half, 5.4 + half],
      ),
    ).toBeLessThan(1e-9);
  });

  it('is watched for among more monitors than a handful', () => {
    const driver = makeDriver(2, 1e-9);
    driver.start(stone, 0, Float64Array.of(0, 50));
    const monitors = Array.from({ length: 20 }, (_, i) => clock(1 - i / 40));
    const seen = firings(driver, stone, 2, monitors);
    expect(seen.map(([index]) => index)).toEqual(Array.from({ length: 20 }, (_, i) => 19 - i));
  });

  it('is free to fire after a new start, also from just before the place where it fired', () => {
    const driver = makeDriver(2, 1e-9);
    const monitors = [height(0.5, 1)];
    const fires = Math.PI / 6;
    for (const start of [0, fires - 1e-3, fires - 1e-6, fires - 1e-12]) {
      driver.start(circle, start, Float64Array.of(Math.sin(start), Math.cos(start)));
      expect(driver.advanceTo(circle, 1, monitors, null)).toBe('event');
      expect(Math.abs(driver.t - fires)).toBeLessThan(1e-9);
    }
  });
});
