import { describe, expect, it } from 'vitest';
import { interpolate } from '../../../core/ode/dense.ts';
import { SixStepper } from '../../../core/ode/sixStepper.ts';
import { DormandPrinceStepper } from '../../../core/ode/stepper.ts';
import { dormandPrince54 as pair } from '../../../core/ode/tableau.ts';
import {
  closedProblems,
  distance,
  fixedSteps,
  FunctionSystem,
  numbers,
  observedOrders,
  type ClosedProblem,
} from './problems.ts';

/** y' = A y + y∘(B y) + c sin(ω t) with random entries: no symmetry that could hide a wrong coefficient. */
function randomSystem(dimension: number, seed: number): FunctionSystem {
  const next = numbers(seed);
  const draw = (): number => 2 * next() - 1;
  const a = Array.from({ length: dimension * dimension }, draw);
  const b = Array.from({ length: dimension * dimension }, draw);
  const c = Array.from({ length: dimension }, draw);
  return new FunctionSystem(dimension, (t, y, d) => {
    for (let i = 0; i < dimension; i++) {
      let sum = c[i]! * Math.sin(1.7 * t + i);
      for (let j = 0; j < dimension; j++) {
        sum += a[i * dimension + j]! * y[j]! + y[i]! * b[i * dimension + j]! * y[j]!;
      }
      d[i] = sum;
    }
  });
}

/** The slopes of one step, by a loop over the tableau. */
function genericSlopes(system: FunctionSystem, t: number, y: Float64Array, h: number): Float64Array[] {
  const slopes: Float64Array[] = [];
  for (let s = 0; s < pair.stages; s++) {
    const stage = y.map(
      (start, i) => start + h * pair.a[s]!.reduce((sum, a, j) => sum + a * slopes[j]![i]!, 0),
    );
    const slope = new Float64Array(y.length);
    system.derivative(t + pair.c[s]! * h, stage, slope);
    slopes.push(slope);
  }
  return slopes;
}

const weighted = (weights: readonly number[], slopes: readonly Float64Array[], i: number): number =>
  weights.reduce((sum, weight, s) => sum + weight * slopes[s]![i]!, 0);

describe('a step', () => {
  for (const [seed, h] of [
    [11, 0.1],
    [12, -0.2],
    [13, 0.5],
  ] as const) {
    it(`agrees with a loop over the tableau on a random system (seed ${seed}, step ${h})`, () => {
      const n = 7;
      const system = randomSystem(n, seed);
      const next = numbers(seed + 100);
      const y = Float64Array.from({ length: n }, () => 2 * next() - 1);
      const t = 0.3;
      const stepper = new DormandPrinceStepper(n);
      stepper.begin(system, t, y);
      stepper.step(system, t, y, h);
      expect(stepper.evaluations).toBe(7);
      const slopes = genericSlopes(system, t, y, h);
      const dense = new Float64Array(5 * n + 3);
      stepper.writeDense(y, h, dense, 3);
      const absolute = Float64Array.from({ length: n }, (_, i) => 1e-3 * (i + 1));
      let squares = 0;
      for (let i = 0; i < n; i++) {
        // The same operations in another order: the terms (up to 12 |h k|) times a few roundings of 1.1e-16, passed
        // on through seven stages. A coefficient that is wrong in its tenth digit would show as 1e-10.
        const size = Math.abs(y[i]!) + Math.max(...slopes.map((k) => Math.abs(h * k[i]!)));
        const ulps = 64 * Number.EPSILON * size;
        const end = y[i]! + h * weighted(pair.b, slopes, i);
        expect(Math.abs(stepper.yEnd[i]! - end)).toBeLessThan(ulps);
        expect(dense[3 + i]).toBe(y[i]);
        expect(Math.abs(dense[3 + n + i]! - (end - y[i]!))).toBeLessThan(ulps);
        const bend = h * slopes[0]![i]! - (end - y[i]!);
        expect(Math.abs(dense[3 + 2 * n + i]! - bend)).toBeLessThan(ulps);
        expect(Math.abs(dense[3 + 3 * n + i]! - (end - y[i]! - h * slopes[6]![i]! - bend))).toBeLessThan(
          2 * ulps,
        );
        expect(Math.abs(dense[3 + 4 * n + i]! - h * weighted(pair.d, slopes, i))).toBeLessThan(8 * ulps);
        const scale = absolute[i]! + 1e-4 * Math.max(Math.abs(y[i]!), Math.abs(end));
        squares += ((h * weighted(pair.e, slopes, i)) / scale) ** 2;
      }
      const norm = stepper.errorNorm(y, h, 1e-4, absolute);
      const inside = new Float64Array(n);
      interpolate(dense, 3, n, 0.5, inside);
      // Both are sums of terms of the size of the state and of h k.
      expect(distance(stepper.middle, inside)).toBeLessThan(64 * Number.EPSILON * 8);
      // The error is a small difference of large terms: rounding of 1e-16 in the state over its scale of 1e-3.
      expect(Math.abs(norm - Math.sqrt(squares / n))).toBeLessThan(1e-12);
      expect(norm).toBeGreaterThan(1e-6);
    });
  }

  it('leaves in its last slope exactly what a fresh evaluation gives', () => {
    const system = randomSystem(5, 21);
    const y = Float64Array.of(0.1, -0.4, 0.3, 0.9, -0.2);
    const stepper = new DormandPrinceStepper(5);
    stepper.begin(system, 0, y);
    stepper.step(system, 0, y, 0.125);
    stepper.accept(y);
    const fresh = new Float64Array(5);
    system.derivative(0.125, y, fresh);
    expect([...stepper.slope]).toEqual([...fresh]);
  });

  it('gives the same bits when it is written out for six components', () => {
    const system = randomSystem(6, 23);
    const y = Float64Array.of(0.5, -0.4, 0.3, 0.1, -0.7, 0.2);
    const loops = new DormandPrinceStepper(6);
    const writtenOut = new SixStepper();
    const dense = [loops, writtenOut].map((stepper) => {
      stepper.begin(system, 1, y);
      stepper.step(system, 1, y, 0.05);
      const out = new Float64Array(30);
      stepper.writeDense(y, 0.05, out, 0);
      return [...out];
    });
    expect([...writtenOut.yEnd]).toEqual([...loops.yEnd]);
    // Through these also every slope but the second.
    expect(dense[1]).toEqual(dense[0]);
    expect(writtenOut.evaluations).toBe(loops.evaluations);
  });

  it('can be tried again with another length from the same start', () => {
    const system = randomSystem(4, 22);
    const y = Float64Array.of(0.5, -0.4, 0.3, 0.1);
    const once = new DormandPrinceStepper(4);
    once.begin(system, 1, y);
    once.step(system, 1, y, 0.05);
    const twice = new DormandPrinceStepper(4);
    twice.begin(system, 1, y);
    twice.step(system, 1, y, 0.4);
    twice.step(system, 1, y, 0.05);
    expect([...twice.yEnd]).toEqual([...once.yEnd]);
  });

  it('shows a right-hand side that is not a number in its error', () => {
    const system = new FunctionSystem(2, (_t, y, d) => {
      d[0] = y[0]! > 1 ? Number.NaN : 10;
      d[1] = 0;
    });
    const y = Float64Array.of(0.9, 0);
    const stepper = new DormandPrinceStepper(2);
    stepper.begin(system, 0, y);
    stepper.step(system, 0, y, 0.1);
    expect(stepper.errorNorm(y, 0.1, 1e-6, Float64Array.of(1e-6, 1e-6))).toBeNaN();
  });

  it('shows a state that overflows in its error', () => {
    const system = new FunctionSystem(1, (_t, _y, d) => {
      d[0] = 1e308;
    });
    const y = Float64Array.of(1);
    const stepper = new DormandPrinceStepper(1);
    stepper.begin(system, 0, y);
    stepper.step(system, 0, y, 10);
    expect(stepper.errorNorm(y, 10, 1e-6, Float64Array.of(1e-6))).toBeNaN();
  });
});

/** Errors of one step of length h from the middle of a problem: of its end, of the embedded end, inside at θ. */
function localErrors(problem: ClosedProblem, h: number): { end: number; estimate: number; inside: number } {
  const n = problem.system.dimension;
  const t = 0.5 * (problem.start + problem.end);
  const y = problem.solution(t);
  const stepper = new DormandPrinceStepper(n);
  stepper.begin(problem.system, t, y);
  stepper.step(problem.system, t, y, h);
  const dense = new Float64Array(5 * n);
  stepper.writeDense(y, h, dense, 0);
  const out = new Float64Array(n);
  let inside = 0;
  for (let theta = 0.1; theta < 0.95; theta += 0.1) {
    interpolate(dense, 0, n, theta, out);
    inside = Math.max(inside, distance(out, problem.solution(t + theta * h)));
  }
  return {
    end: distance(stepper.yEnd, problem.solution(t + h)),
    // With no relative part and ones as absolute tolerance the norm is the root mean square of the error itself.
    estimate: stepper.errorNorm(y, h, 0, new Float64Array(n).fill(1)),
    inside,
  };
}

describe('the measured order', () => {
  // Successive halvings approach the order; terms of the next power still show, so that the last two are held to 0.25.
  const SLACK = 0.25;

  for (const problem of closedProblems) {
    it(`of the solution is 5 on ${problem.name}`, () => {
      const y = problem.solution(problem.start);
      const exact = problem.solution(problem.end);
      const errors = [32, 64, 128, 256].map((count) =>
        distance(fixedSteps(problem.system, problem.start, problem.end, y, count), exact),
      );
      for (const order of observedOrders(errors).slice(1)) expect(Math.abs(order - 5)).toBeLessThan(SLACK);
    });

    it(`of the error estimate and the dense output is 4, so that both fall as h⁵ in a step, on ${problem.name}`, () => {
      const steps = [0.4, 0.2, 0.1, 0.05, 0.025].map((h) => localErrors(problem, h));
      const estimate = observedOrders(steps.map((step) => step.estimate)).slice(-2);
      const inside = observedOrders(steps.map((step) => step.inside)).slice(-2);
      for (const order of [...estimate, ...inside]) expect(Math.abs(order - 5)).toBeLessThan(SLACK);
      // The end of a step is better by one order than its inside.
      const end = observedOrders(steps.map((step) => step.end)).slice(1, 3);
      for (const order of end) expect(order).toBeGreaterThan(5.5);
    });
  }
});
