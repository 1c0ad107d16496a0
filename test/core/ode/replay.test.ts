import { describe, expect, it } from 'vitest';
import { StepStore } from '../../../core/ode/dense.ts';
import { replaySteps } from '../../../core/ode/driver.ts';
import { DormandPrinceStepper } from '../../../core/ode/stepper.ts';
import type { OdeSystem } from '../../../core/ode/system.ts';
import {
  bilinearSpring,
  distance,
  fixedSteps,
  FunctionSystem,
  keplerState,
  keplerSystem,
  makeDriver,
  monitor,
  observedOrders,
} from './problems.ts';

/** Flies over held steps from a copy of the start; the end. */
function replay(system: OdeSystem, steps: StepStore, start: Float64Array): Float64Array {
  const y = start.slice();
  replaySteps(system, new DormandPrinceStepper(system.dimension), steps, 0, steps.count, y);
  return y;
}

describe('a flight over held steps', () => {
  for (const dense of [true, false]) {
    it(`ends bit for bit where the controlled one did, on a smooth system (${dense ? 'dense' : 'bare'} store)`, () => {
      const system = keplerSystem(1);
      const start = keplerState(0.7, 1);
      const driver = makeDriver(4, 1e-8);
      const steps = new StepStore(4, dense);
      driver.start(system, 1, start);
      for (const stop of [2, 2 + 1e-7, 9.5]) driver.advanceTo(system, stop, [], steps);
      expect(driver.rejectedSteps).toBeGreaterThan(0);
      expect([...replay(system, steps, start)]).toEqual([...driver.y]);
    });
  }

  it('ends bit for bit where the controlled one did, across edges and events', () => {
    const system = bilinearSpring();
    const start = Float64Array.of(1, 0);
    const driver = makeDriver(2, 1e-8);
    const steps = new StepStore(2, false);
    driver.start(system, 0, start);
    const monitors = [monitor(0, (_t, y) => y[1]!), monitor(0, (_t, y) => y[0]! - 0.3)];
    let events = 0;
    while (driver.advanceTo(system, 20, monitors, steps) === 'event') events += 1;
    expect(events).toBeGreaterThan(10);
    // π/2, π, 2π, 5π/2, 7π/2, 4π, 5π and 11π/2 lie before 20.
    expect(system.crossings).toBe(8);
    expect([...replay(bilinearSpring(), steps, start)]).toEqual([...driver.y]);
  });

  it('evaluates six times a step, and once more for each piece', () => {
    const system = bilinearSpring();
    const steps = new StepStore(2, false);
    const driver = makeDriver(2, 1e-8);
    driver.start(system, 0, Float64Array.of(1, 0));
    driver.advanceTo(system, 6, [], steps);
    const stepper = new DormandPrinceStepper(2);
    replaySteps(system, stepper, steps, 0, steps.count, Float64Array.of(1, 0));
    expect(stepper.evaluations).toBe(6 * steps.count + 1 + 2);
  });

  it('starts afresh whatever the code of its piece is', () => {
    const system = new FunctionSystem(1, (_t, y, d) => {
      d[0] = -y[0]!;
    });
    for (const code of [-1, 0, 7]) {
      const steps = new StepStore(1, false);
      for (let i = 0; i < 10; i++) steps.append(0.1 * i, 0.1, code);
      // e⁻¹ by ten steps of fifth order: 0.1⁶ / 720 each.
      expect(Math.abs(replay(system, steps, Float64Array.of(1))[0]! - Math.exp(-1))).toBeLessThan(1e-8);
    }
  });

  it('goes over a part of the steps alone', () => {
    const system = keplerSystem(1);
    const start = keplerState(0.2, 0);
    const steps = new StepStore(4, false);
    const driver = makeDriver(4, 1e-7);
    driver.start(system, 0, start);
    driver.advanceTo(system, 3, [], steps);
    const half = steps.count >> 1;
    const y = start.slice();
    const stepper = new DormandPrinceStepper(4);
    replaySteps(system, stepper, steps, 0, half, y);
    replaySteps(system, stepper, steps, half, steps.count, y);
    expect([...y]).toEqual([...driver.y]);
    replaySteps(system, stepper, steps, 3, 3, y);
    expect([...y]).toEqual([...driver.y]);
  });

  it('passes a number that is none on to its end', () => {
    const steps = new StepStore(1, false);
    steps.append(0, 1, 0);
    const system = new FunctionSystem(1, (_t, y, d) => {
      d[0] = Math.sqrt(y[0]!);
    });
    expect(replay(system, steps, Float64Array.of(-1))[0]).toBeNaN();
  });

  it('goes backward over steps of negative length, to where it came from', () => {
    const system = keplerSystem(1);
    const start = keplerState(0.3, 0);
    const misses = [50, 100, 200].map((count) => {
      const h = 5 / count;
      const back = new StepStore(4, false);
      for (let i = 0; i < count; i++) back.append(5 - i * h, -h, 0);
      return distance(replay(system, back, fixedSteps(system, 0, 5, start, count)), start);
    });
    // An error of order h⁵ on the way out that the way back, with errors of its own, does not undo.
    expect(misses[2]).toBeLessThan(1e-7);
    for (const order of observedOrders(misses)) expect(order).toBeGreaterThan(4.5);
  });
});

describe('a derivative by differences over held steps', () => {
  const end = 5;
  const at = 1.1;
  /** y' = p (y cos t − y²/10), and beside it the derivative of y with respect to p by the variational equation. */
  const withDerivative = (p: number): FunctionSystem =>
    new FunctionSystem(2, (t, y, d) => {
      d[0] = p * y[0]! * Math.cos(t) - 0.1 * p * y[0]! * y[0]!;
      d[1] = (p * Math.cos(t) - 0.2 * p * y[0]!) * y[1]! + y[0]! * Math.cos(t) - 0.1 * y[0]! * y[0]!;
    });
  const alone = (p: number): FunctionSystem =>
    new FunctionSystem(1, (t, y, d) => {
      d[0] = p * y[0]! * Math.cos(t) - 0.1 * p * y[0]! * y[0]!;
    });
  const growth = (p: number): FunctionSystem =>
    new FunctionSystem(1, (t, y, d) => {
      d[0] = p * y[0]! * Math.cos(t);
    });

  /** Steps of a controlled flight at `at`. */
  function heldSteps(make: (p: number) => FunctionSystem, tolerance: number): StepStore {
    const driver = makeDriver(1, tolerance);
    const steps = new StepStore(1, false);
    driver.start(make(at), 0, Float64Array.of(1));
    driver.advanceTo(make(at), end, [], steps);
    return steps;
  }

  /** Central differences of the end over the parameter. */
  function differences(make: (p: number) => FunctionSystem, steps: StepStore, width: number): number {
    const start = Float64Array.of(1);
    const above = replay(make(at + width), steps, start)[0]!;
    const below = replay(make(at - width), steps, start)[0]!;
    return (above - below) / (2 * width);
  }

  it('comes to the closed form with the square of the difference', () => {
    // y = exp(p sin t), ∂y/∂p = sin t exp(p sin t).
    const exact = Math.sin(end) * Math.exp(at * Math.sin(end));
    const steps = heldSteps(growth, 1e-13);
    const errors = [0.08, 0.04, 0.02, 0.01].map((width) =>
      Math.abs(differences(growth, steps, width) - exact),
    );
    for (const order of observedOrders(errors)) expect(Math.abs(order - 2)).toBeLessThan(0.02);
    // At its best, rounding of 1e-16 over 1e-5 against a third derivative times 1e-10.
    expect(Math.abs(differences(growth, steps, 1e-5) - exact)).toBeLessThan(5e-11);
  });

  it('comes to the variational equation, integrated beside the solution', () => {
    const steps = heldSteps(alone, 1e-13);
    const driver = makeDriver(2, 1e-13);
    driver.start(withDerivative(at), 0, Float64Array.of(1, 0));
    driver.advanceTo(withDerivative(at), end, [], null);
    const errors = [0.08, 0.04, 0.02, 0.01].map((width) =>
      Math.abs(differences(alone, steps, width) - driver.y[1]!),
    );
    for (const order of observedOrders(errors)) expect(Math.abs(order - 2)).toBeLessThan(0.02);
  });

  it('is smooth at a coarse tolerance too, where that of controlled flights is not', () => {
    const start = keplerState(0.7, 1);
    const steps = new StepStore(4, false);
    /** End of a controlled flight about a centre of this strength. */
    const controlled = (gm: number, store: StepStore | null = null): number => {
      const driver = makeDriver(4, 1e-4);
      driver.start(keplerSystem(gm), 1, start);
      driver.advanceTo(keplerSystem(gm), 9, [], store);
      return driver.y[0]!;
    };
    controlled(1, steps);
    const width = 1e-5;
    const strengths = Array.from({ length: 2001 }, (_, i) => 1 + width * (i - 1000));
    const roughness = (f: (gm: number) => number): number => {
      const ends = strengths.map(f);
      return Math.max(...ends.slice(2).map((end, i) => Math.abs(end - 2 * ends[i + 1]! + ends[i]!)));
    };
    const held = roughness((gm) => replay(keplerSystem(gm), steps, start)[0]!);
    // The second derivative is of the size of the square of the mean anomaly, some hundreds: times width².
    expect(held).toBeLessThan(1e-7);
    // A step that is rejected for one strength and not for the next moves the end by about the tolerance.
    expect(roughness((gm) => controlled(gm))).toBeGreaterThan(100 * held);
  });
});
