/** The most payload (or another goal) that reaches the target orbit, as a nonlinear programme over the free numbers of a study. */
import { PAYLOAD, type CompiledStudy } from '../flight/compile.ts';
import type { FlightEngine } from '../flight/engine.ts';
import type { NlpProblem } from '../nlp/problem.ts';
import type { Goal } from '../contract/study.ts';
import { findCoast } from './coast.ts';
import { cost_kg, goalOf, orderedTimes, spare_kg, watchedTanks } from './goal.ts';
import { FlightLimits, type Limit } from './limits.ts';
import { OrbitTarget } from './target.ts';

/** Step of the differences in units of each number's scale: large against rounding, small against curvature. */
const DIFFERENCE = 1e-6;
/**
 * The same to either side, where a coast makes what rounding does to the burn before it grow a hundredfold: wider, and
 * curvature falls out.
 */
const WIDE_DIFFERENCE = 1e-5;

/** Share of what the empty vehicle weighs at insertion that a negative payload may take away. */
const MOST_TAKEN = 0.95;

/**
 * The least payload that a solve looks at, kg: negative, so that a vehicle that falls short has an optimum too, which tells
 * by how much. Its mass stays positive throughout.
 */
export function leastPayload_kg({ plan }: CompiledStudy): number {
  const last = plan.segments[plan.segments.length - 1]!;
  const tau = last.end_s - last.start_s;
  return -MOST_TAKEN * (last.mass_kg - tau * (last.flow_kgps + 0.5 * tau * last.flowRate_kgps2));
}

/** Who reads something else off the flights over held steps by which the programme is differentiated. */
export interface Beside {
  /** Before a flight. */
  begin(): void;
  /** After it, under these values (SI, radians), a variable moved by a step (scaled) or none (−1); false when it cannot be read. */
  ended(values: Float64Array, variable: number, step: number): boolean;
}

/**
 * Numbers are scaled by their `scale`; the objective is what the goal makes least, in units of the payload's scale.
 * Inequalities: reserves of tanks whose cuts the solve moves, in that unit too; the order of free times, in seconds; then
 * the limits, if they are to be kept.
 */
export class PayloadProblem implements NlpProblem {
  readonly variableCount: number;
  readonly equalityCount: number;
  readonly inequalityCount: number;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  readonly target: OrbitTarget;
  readonly values: Float64Array;
  /** Null when the study has none, or they are left out of account. */
  readonly limits: FlightLimits | null;
  private readonly compiled: CompiledStudy;
  private readonly goal: Goal;
  private readonly mass_kg: number;
  private readonly tanks: readonly number[];
  private readonly orders: readonly (readonly [number, number])[];
  private readonly shifted: Float64Array;
  private readonly nearby: Float64Array;
  private readonly opposite: Float64Array;
  private readonly bothSides: boolean;
  private readonly residuals: Float64Array;
  /** First row of the limits. */
  private readonly marks: number;
  private cost = Number.NaN;
  beside: Beside | null = null;

  /**
   * `free` lists parameter indices to be solved for; the others stay at `values` (SI, radians). The engine must belong
   * to the same compiled study. `bounds` replaces the study's limits; null leaves them out of account.
   */
  constructor(
    private readonly engine: FlightEngine,
    readonly free: readonly number[],
    values: Float64Array,
    bounds: readonly Limit[] | null = null,
  ) {
    this.compiled = engine.compiled;
    const { parameters } = this.compiled;
    this.target = new OrbitTarget(this.compiled.study.target, this.compiled.earth);
    this.goal = goalOf(this.compiled);
    this.mass_kg = parameters[PAYLOAD]!.scale;
    this.tanks = watchedTanks(this.compiled);
    this.orders = orderedTimes(this.compiled);
    this.limits = bounds === null || bounds.length === 0 ? null : new FlightLimits(engine, bounds);
    this.variableCount = free.length;
    this.equalityCount = this.target.count;
    this.inequalityCount = this.tanks.length + this.orders.length + (this.limits?.count ?? 0);
    const rows = this.equalityCount + this.inequalityCount;
    this.marks = rows - (this.limits?.count ?? 0);
    this.values = Float64Array.from(values);
    this.shifted = Float64Array.from(values);
    this.nearby = new Float64Array(rows);
    this.opposite = new Float64Array(rows);
    this.bothSides = findCoast(this.compiled) !== null;
    this.residuals = new Float64Array(rows);
    this.lower = Float64Array.from(free, (p) => parameters[p]!.lower / parameters[p]!.scale);
    this.upper = Float64Array.from(free, (p) => parameters[p]!.upper / parameters[p]!.scale);
    const payload = free.indexOf(PAYLOAD);
    if (payload >= 0) this.lower[payload] = leastPayload_kg(this.compiled) / parameters[PAYLOAD]!.scale;
  }

  /** The scaled variables of the current values, dimensionless. */
  variables(): Float64Array {
    return Float64Array.from(this.free, (p) => this.values[p]! / this.compiled.parameters[p]!.scale);
  }

  /** Takes scaled variables over into `values` (SI, radians). */
  adopt(x: Float64Array): void {
    this.free.forEach((p, i) => {
      this.values[p] = x[i]! * this.compiled.parameters[p]!.scale;
    });
  }

  /** Flies x; writes residuals and margins; returns the scaled objective, NaN when the flight fails. Dimensionless. */
  evaluate(x: Float64Array, constraints: Float64Array): number {
    this.adopt(x);
    if (this.engine.fly(this.values) !== 'flown') return Number.NaN;
    this.cost = this.read(this.values, this.residuals);
    if (this.limits?.locate(this.values) === false) return Number.NaN;
    this.limits?.write(this.residuals, this.marks);
    constraints.set(this.residuals);
    return this.cost;
  }

  /**
   * Gradient and Jacobian (row by row) at the x flown last, by differences over its held steps. Dimensionless.
   * False when a neighbouring flight is not finite.
   */
  differentiate(_x: Float64Array, gradient: Float64Array, jacobian: Float64Array): boolean {
    const { engine, free, residuals, nearby, opposite, shifted, limits } = this;
    const n = free.length;
    const m = residuals.length;
    const { marks } = this;
    shifted.set(this.values);
    // Times of state triggers are solved for more closely over held steps than in flight: compare like with like.
    if (this.compiled.waits) {
      this.beside?.begin();
      if (!engine.refly(shifted, engine.firstSegmentOf(this.compiled.parameters[PAYLOAD]!))) return false;
      if (this.beside?.ended(shifted, -1, 0) === false) return false;
      this.cost = this.read(shifted, residuals);
    }
    limits?.write(residuals, marks);
    for (let i = 0; i < n; i++) {
      const p = free[i]!;
      const { scale } = this.compiled.parameters[p]!;
      const before = shifted[p]!;
      const change = (this.bothSides ? WIDE_DIFFERENCE : DIFFERENCE) * scale;
      shifted[p] = before + change;
      let step = (shifted[p] - before) / scale;
      const cost = this.flyNear(p, nearby, this.beside);
      if (Number.isNaN(cost) || this.beside?.ended(shifted, i, step) === false) return false;
      let from = this.cost;
      let base = residuals;
      if (this.bothSides) {
        shifted[p] = before - change;
        step += (before - shifted[p]) / scale;
        from = this.flyNear(p, opposite);
        base = opposite;
      }
      shifted[p] = before;
      if (Number.isNaN(from)) return false;
      for (let k = 0; k < m; k++) jacobian[k * n + i] = (nearby[k]! - base[k]!) / step;
      if (this.goal === 'mostPayload') gradient[i] = p === PAYLOAD ? -1 : 0;
      else gradient[i] = (cost - from) / step;
    }
    return true;
  }

  /** Flies the held steps under the shifted values, of which one parameter (index) differs; NaN when that fails. */
  private flyNear(parameter: number, out: Float64Array, beside: Beside | null = null): number {
    const { engine, limits, shifted } = this;
    limits?.begin();
    // Who reads along passes on to the limits what they look at.
    beside?.begin();
    const from = engine.firstSegmentOf(this.compiled.parameters[parameter]!);
    if (!engine.refly(shifted, from)) return Number.NaN;
    const cost = this.read(shifted, out);
    limits?.write(out, this.marks);
    return cost;
  }

  /** Residuals of the target and margins of the tanks after a flight; returns the scaled objective. */
  private read(values: Float64Array, out: Float64Array): number {
    const { engine, tanks, mass_kg, equalityCount } = this;
    this.target.residuals(engine.end, out);
    for (let k = 0; k < tanks.length; k++) {
      out[equalityCount + k] = spare_kg(this.compiled, engine.endPlan, tanks[k]!) / mass_kg;
    }
    this.orders.forEach(([earlier, later], k) => {
      out[equalityCount + tanks.length + k] = values[later]! - values[earlier]!;
    });
    return cost_kg(this.goal, engine.endPlan, values) / mass_kg;
  }
}
