/** Problems and small helpers that the tests of the integrator share. */
import { Driver, type Monitor } from '../../../core/ode/driver.ts';
import { DormandPrinceStepper } from '../../../core/ode/stepper.ts';
import { SmoothSystem, type OdeSystem } from '../../../core/ode/system.ts';

export type RightHandSide = (t: number, y: Float64Array, dydt: Float64Array) => void;

/** A system that is smooth everywhere, from a function. */
export class FunctionSystem extends SmoothSystem {
  readonly dimension: number;
  private readonly f: RightHandSide;

  constructor(dimension: number, f: RightHandSide) {
    super();
    this.dimension = dimension;
    this.f = f;
  }

  override derivative(t: number, y: Float64Array, dydt: Float64Array): void {
    this.f(t, y, dydt);
  }
}

export interface ClosedProblem {
  readonly name: string;
  readonly system: FunctionSystem;
  readonly start: number;
  readonly end: number;
  solution(t: number): Float64Array;
}

/** Two problems with a closed form: one linear in y and driven by t, one not linear and coupled. */
export const closedProblems: readonly ClosedProblem[] = [
  {
    name: "y' = y cos t, with y = exp(sin t)",
    system: new FunctionSystem(1, (t, y, d) => {
      d[0] = y[0]! * Math.cos(t);
    }),
    start: 0,
    end: 4,
    solution: (t) => Float64Array.of(Math.exp(Math.sin(t))),
  },
  {
    // A pair that turns on the unit circle toward (1, 0).
    name: "u' = v², v' = -u v, with u = tanh t and v = 1/cosh t",
    system: new FunctionSystem(2, (_t, y, d) => {
      d[0] = y[1]! * y[1]!;
      d[1] = -y[0]! * y[1]!;
    }),
    start: -1,
    end: 2,
    solution: (t) => Float64Array.of(Math.tanh(t), 1 / Math.cosh(t)),
  },
];

/** The driver's tolerances: one absolute number for all components unless given apart. */
export function makeDriver(
  dimension: number,
  relative: number,
  absolute = relative,
  longestStep = Number.POSITIVE_INFINITY,
  mostSteps = 100_000,
): Driver {
  return new Driver(dimension, {
    relative,
    absolute: new Float64Array(dimension).fill(absolute),
    longestStep,
    mostSteps,
  });
}

/** Takes `count` steps of one length from `start` to `end`, without step-size control. */
export function fixedSteps(
  system: OdeSystem,
  start: number,
  end: number,
  y: Float64Array,
  count: number,
): Float64Array {
  const stepper = new DormandPrinceStepper(system.dimension);
  const state = y.slice();
  const h = (end - start) / count;
  stepper.begin(system, start, state);
  for (let i = 0; i < count; i++) {
    stepper.step(system, start + i * h, state, h);
    stepper.accept(state);
  }
  return state;
}

/** Largest difference between two vectors. */
export function distance(a: ArrayLike<number>, b: ArrayLike<number>): number {
  let most = 0;
  for (let i = 0; i < a.length; i++) {
    const difference = Math.abs(a[i]! - b[i]!);
    // Also true when the difference is not a number, so that it cannot pass unseen.
    if (!(difference <= most)) most = difference;
  }
  return most;
}

/** Exponents by which errors fall when the step is halved from entry to entry. */
export function observedOrders(errors: readonly number[]): number[] {
  return errors.slice(1).map((error, i) => Math.log2(errors[i]! / error));
}

/** A monitor from a function. */
export function monitor(direction: -1 | 0 | 1, value: (t: number, y: Float64Array) => number): Monitor {
  return { direction, value };
}

/** A repeatable stream of numbers in [0, 1): multiplier and increment of Numerical Recipes' quick generator. */
export function numbers(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}

/** Two bodies about a centre of strength gm: y = position, velocity in the plane. */
export function keplerSystem(gm: number): FunctionSystem {
  return new FunctionSystem(4, (_t, y, d) => {
    const r2 = y[0]! * y[0]! + y[1]! * y[1]!;
    const pull = -gm / (r2 * Math.sqrt(r2));
    d[0] = y[2]!;
    d[1] = y[3]!;
    d[2] = pull * y[0]!;
    d[3] = pull * y[1]!;
  });
}

/** State on an ellipse with gm = 1, semi-major axis 1 and the pericentre on +x at t = 0, by Kepler's equation. */
export function keplerState(eccentricity: number, t: number): Float64Array {
  const turn = 2 * Math.PI;
  const mean = t - turn * Math.round(t / turn);
  let anomaly = eccentricity < 0.8 ? mean : Math.PI * Math.sign(mean);
  for (let i = 0; i < 50; i++) {
    const step = (anomaly - eccentricity * Math.sin(anomaly) - mean) / (1 - eccentricity * Math.cos(anomaly));
    anomaly -= step;
    if (Math.abs(step) < 1e-15) break;
  }
  const root = Math.sqrt(1 - eccentricity * eccentricity);
  const rate = 1 / (1 - eccentricity * Math.cos(anomaly));
  return Float64Array.of(
    Math.cos(anomaly) - eccentricity,
    root * Math.sin(anomaly),
    -Math.sin(anomaly) * rate,
    root * Math.cos(anomaly) * rate,
  );
}

/**
 * A system in layers of its first component: piece i holds between edges i − 1 and i, and each piece has its own formula,
 * which is good beyond its edges too. Counts how often an edge is crossed.
 */
export class LayeredSystem implements OdeSystem {
  readonly dimension: number;
  crossings = 0;
  private frozen = 0;
  private readonly edges: readonly number[];
  private readonly f: (piece: number, t: number, y: Float64Array, dydt: Float64Array) => void;

  constructor(
    dimension: number,
    edges: readonly number[],
    f: (piece: number, t: number, y: Float64Array, dydt: Float64Array) => void,
  ) {
    this.dimension = dimension;
    this.edges = edges;
    this.f = f;
  }

  derivative(t: number, y: Float64Array, dydt: Float64Array): void {
    this.f(this.frozen, t, y, dydt);
  }

  pieceMargin(_t: number, y: Float64Array): number {
    return Math.min(this.below(y[0]!), this.above(y[0]!));
  }

  crossEdge(_t: number, y: Float64Array): void {
    this.crossings += 1;
    this.frozen += this.below(y[0]!) < this.above(y[0]!) ? -1 : 1;
  }

  choosePiece(_t: number, y: Float64Array): void {
    this.frozen = this.edges.filter((edge) => edge <= y[0]!).length;
  }

  piece(): number {
    return this.frozen;
  }

  setPiece(code: number): void {
    this.frozen = code;
  }

  private below(x: number): number {
    return this.frozen > 0 ? x - this.edges[this.frozen - 1]! : Number.POSITIVE_INFINITY;
  }

  private above(x: number): number {
    return this.frozen < this.edges.length ? this.edges[this.frozen]! - x : Number.POSITIVE_INFINITY;
  }
}

/** A spring of stiffness 1 where x > 0 and 4 where x < 0: y = (x, x'). The force has a kink at 0. */
export function bilinearSpring(): LayeredSystem {
  return new LayeredSystem(2, [0], (piece, _t, y, d) => {
    d[0] = y[1]!;
    d[1] = piece === 0 ? -4 * y[0]! : -y[0]!;
  });
}

/** Its motion from x = 1 at rest: a half turn of cos t, then one of −sin(2t)/2, in turns of 3π/2. */
export function bilinearState(t: number): Float64Array {
  const phase = t - 1.5 * Math.PI * Math.floor((t + 0.5 * Math.PI) / (1.5 * Math.PI));
  if (phase <= 0.5 * Math.PI) return Float64Array.of(Math.cos(phase), -Math.sin(phase));
  const u = 2 * (phase - 0.5 * Math.PI);
  return Float64Array.of(-0.5 * Math.sin(u), -Math.cos(u));
}
