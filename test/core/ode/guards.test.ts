import { describe, expect, it } from 'vitest';
import { Driver, type Tolerances } from '../../../core/ode/driver.ts';
import { FunctionSystem, LayeredSystem, makeDriver, monitor } from './problems.ts';

const still = new FunctionSystem(1, (_t, _y, d) => {
  d[0] = 1;
});

describe('a numerical failure', () => {
  it('is told as notFinite when the right-hand side is no number beyond a time, with the last good state', () => {
    const system = new FunctionSystem(1, (t, _y, d) => {
      d[0] = t > 0.7 ? Number.NaN : 1;
    });
    const driver = makeDriver(1, 1e-8);
    driver.start(system, 0, Float64Array.of(0));
    expect(driver.advanceTo(system, 2, [], null)).toBe('notFinite');
    // It came up to the wall, and y = t there.
    expect(driver.t).toBeGreaterThan(0.699);
    expect(driver.t).toBeLessThanOrEqual(0.7);
    expect(Math.abs(driver.y[0]! - driver.t)).toBeLessThan(1e-12);
  });

  it('is told as notFinite when the right-hand side is no number from the first', () => {
    const system = new FunctionSystem(2, (_t, _y, d) => {
      d[0] = 1;
      d[1] = Number.NaN;
    });
    const driver = makeDriver(2, 1e-8);
    driver.start(system, 1, Float64Array.of(3, 4));
    expect(driver.advanceTo(system, 2, [], null)).toBe('notFinite');
    expect(driver.t).toBe(1);
    expect([...driver.y]).toEqual([3, 4]);
  });

  it('is told as notFinite when the start is no number or infinite', () => {
    for (const bad of [Number.NaN, Number.POSITIVE_INFINITY]) {
      const driver = makeDriver(1, 1e-8);
      driver.start(still, 0, Float64Array.of(bad));
      expect(driver.advanceTo(still, 2, [], null)).toBe('notFinite');
    }
  });

  it('stops a solution that runs away in finite time, with a state that is finite and right', () => {
    const system = new FunctionSystem(1, (_t, y, d) => {
      d[0] = y[0]! * y[0]!;
    });
    const driver = makeDriver(1, 1e-10);
    driver.start(system, 0, Float64Array.of(1));
    expect(['stepVanished', 'notFinite']).toContain(driver.advanceTo(system, 2, [], null));
    // y = 1 / (1 − t) runs away at t = 1.
    expect(driver.t).toBeLessThan(1.0001);
    expect(driver.t).toBeGreaterThan(0.999999);
    expect(Number.isFinite(driver.y[0])).toBe(true);
    expect(driver.y[0]).toBeGreaterThan(1e6);
  });

  it('stops a solution that overflows without its right-hand side doing so', () => {
    const system = new FunctionSystem(1, (_t, _y, d) => {
      d[0] = 1e308;
    });
    const driver = makeDriver(1, 1e-8);
    driver.start(system, 0, Float64Array.of(1));
    expect(driver.advanceTo(system, 100, [], null)).toBe('notFinite');
    expect(Number.isFinite(driver.y[0])).toBe(true);
    // 1e308 times 1.797 is the greatest number.
    expect(driver.t).toBeLessThan(1.798);
  });

  it('is told as stepVanished where a jump in time cannot be met', () => {
    // The slope jumps by 1e20 at a time that no step is told of.
    const system = new FunctionSystem(1, (t, _y, d) => {
      d[0] = t > Math.SQRT1_2 ? 1e20 : 0;
    });
    const driver = makeDriver(1, 1e-10, 1e-10);
    driver.start(system, 0, Float64Array.of(0));
    expect(driver.advanceTo(system, 1, [], null)).toBe('stepVanished');
    expect(Math.abs(driver.t - Math.SQRT1_2)).toBeLessThan(1e-6);
    expect(driver.y[0]).toBe(0);
  });

  it('is told as tooManySteps when the count runs out, and can be taken up again after a new start', () => {
    const system = new FunctionSystem(2, (_t, y, d) => {
      d[0] = y[1]!;
      d[1] = -y[0]!;
    });
    const driver = makeDriver(2, 1e-10, 1e-10, 0.1, 50);
    driver.start(system, 0, Float64Array.of(0, 1));
    expect(driver.advanceTo(system, 100, [], null)).toBe('tooManySteps');
    expect(driver.acceptedSteps + driver.rejectedSteps).toBe(50);
    expect(Math.abs(driver.y[0]! - Math.sin(driver.t))).toBeLessThan(1e-8);
    expect(driver.advanceTo(system, 100, [], null)).toBe('tooManySteps');
    driver.start(system, driver.t, driver.y);
    expect(driver.advanceTo(system, driver.t + 1, [], null)).toBe('reached');
  });

  it('is told as notFinite when a monitor is no number', () => {
    const driver = makeDriver(1, 1e-8);
    driver.start(still, 0, Float64Array.of(0));
    const root = monitor(1, (_t, y) => Math.sqrt(0.5 - y[0]!) - 2);
    expect(driver.advanceTo(still, 2, [root], null)).toBe('notFinite');
    expect(driver.t).toBeLessThanOrEqual(0.5);
    expect(driver.t).toBeGreaterThan(0.499);
    // Also when it is so from the first, whatever it becomes.
    const late = monitor(1, (t) => Math.sqrt(t - 1e-3));
    driver.start(still, 0, Float64Array.of(0), 0.5);
    expect(driver.advanceTo(still, 2, [late], null)).toBe('notFinite');
    driver.start(still, 0.6, Float64Array.of(0.6));
    expect(driver.advanceTo(still, 2, [root], null)).toBe('notFinite');
    expect(driver.t).toBe(0.6);
  });

  it('is told as notFinite when the distance to an edge is no number', () => {
    const system = new LayeredSystem(1, [5], (_piece, _t, _y, d) => {
      d[0] = 1;
    });
    const margin = system.pieceMargin.bind(system);
    system.pieceMargin = (t, y) => (y[0]! > 0.5 ? Number.NaN : margin(t, y));
    const driver = makeDriver(1, 1e-8);
    driver.start(system, 0, Float64Array.of(0));
    expect(driver.advanceTo(system, 2, [], null)).toBe('notFinite');
    expect(driver.t).toBeLessThanOrEqual(0.5);
  });
});

describe("a caller's error", () => {
  const good: Tolerances = {
    relative: 1e-6,
    absolute: Float64Array.of(1e-6, 1e-6),
    longestStep: 10,
    mostSteps: 100,
  };

  it('in the tolerances is refused by name, with what was received', () => {
    expect(() => new Driver(3, good)).toThrow(
      'tolerances.absolute has 2 entries, the system has 3 components',
    );
    const bad: [Partial<Tolerances>, string][] = [
      [{ relative: -1 }, 'tolerances.relative is -1'],
      [{ relative: Number.NaN }, 'tolerances.relative is NaN'],
      [{ absolute: Float64Array.of(1e-6, 0) }, 'tolerances.absolute[1] is 0'],
      [{ absolute: Float64Array.of(Number.NaN, 1) }, 'tolerances.absolute[0] is NaN'],
      [{ longestStep: 0 }, 'tolerances.longestStep is 0'],
      [{ longestStep: Number.NaN }, 'tolerances.longestStep is NaN'],
      [{ mostSteps: 0 }, 'tolerances.mostSteps is 0'],
      [{ mostSteps: Number.NaN }, 'tolerances.mostSteps is NaN'],
    ];
    for (const [part, message] of bad) expect(() => new Driver(2, { ...good, ...part })).toThrow(message);
    expect(() => new Driver(2, { ...good, longestStep: Number.POSITIVE_INFINITY })).not.toThrow();
  });

  it('in the end time is refused: before the present, not a number, infinite', () => {
    const driver = makeDriver(1, 1e-8);
    driver.start(still, 5, Float64Array.of(0));
    for (const end of [4, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(() => driver.advanceTo(still, end, [], null)).toThrow(`Driver.advanceTo: tEnd is ${end}`);
    }
    expect(driver.t).toBe(5);
  });

  it('in the start is refused: a time that is no number, a system of another size', () => {
    const driver = makeDriver(2, 1e-8);
    const two = new FunctionSystem(2, (_t, _y, d) => d.fill(0));
    expect(() => driver.start(still, 0, Float64Array.of(1, 2))).toThrow(
      'the system has 1 components, the driver 2',
    );
    expect(() => driver.start(two, Number.NaN, Float64Array.of(1, 2))).toThrow('Driver.start: t is NaN');
    expect(() => driver.start(two, 0, Float64Array.of(1))).toThrow('y has 1 entries');
  });
});
