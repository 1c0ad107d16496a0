/** The most payload that reaches the target orbit, as a nonlinear programme over the free numbers of a study. */
import { PAYLOAD, type CompiledStudy } from '../flight/compile.ts';
import type { FlightEngine } from '../flight/engine.ts';
import type { NlpProblem } from '../nlp/problem.ts';
import { OrbitTarget } from './target.ts';

/** Step of the differences in units of each number's scale: large against rounding, small against curvature. */
const DIFFERENCE = 1e-6;

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

/** Numbers are scaled by their `scale`; the objective is minus the payload in units of its scale. */
export class PayloadProblem implements NlpProblem {
  readonly variableCount: number;
  readonly equalityCount: number;
  readonly inequalityCount = 0;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  readonly target: OrbitTarget;
  readonly values: Float64Array;
  private readonly compiled: CompiledStudy;
  private readonly shifted: Float64Array;
  private readonly nearby: Float64Array;
  private readonly residuals: Float64Array;

  /**
   * `free` lists parameter indices to be solved for; the others stay at `values` (SI, radians). The engine must belong
   * to the same compiled study.
   */
  constructor(
    private readonly engine: FlightEngine,
    readonly free: readonly number[],
    values: Float64Array,
  ) {
    this.compiled = engine.compiled;
    const { parameters } = this.compiled;
    this.target = new OrbitTarget(this.compiled.study.target, this.compiled.earth);
    this.variableCount = free.length;
    this.equalityCount = this.target.count;
    this.values = Float64Array.from(values);
    this.shifted = Float64Array.from(values);
    this.nearby = new Float64Array(this.target.count);
    this.residuals = new Float64Array(this.target.count);
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

  /** Flies x; writes the target's residuals; returns minus the scaled payload, NaN when the flight fails. Dimensionless. */
  evaluate(x: Float64Array, constraints: Float64Array): number {
    this.adopt(x);
    if (this.engine.fly(this.values) !== 'flown') return Number.NaN;
    this.target.residuals(this.engine.end, this.residuals);
    constraints.set(this.residuals);
    return -this.values[PAYLOAD]! / this.compiled.parameters[PAYLOAD]!.scale;
  }

  /**
   * Gradient and Jacobian (row by row) at the x flown last, by forward differences over its held steps. Dimensionless.
   * False when a neighbouring flight is not finite.
   */
  differentiate(_x: Float64Array, gradient: Float64Array, jacobian: Float64Array): boolean {
    const { engine, free, residuals, nearby, shifted } = this;
    const n = free.length;
    const m = this.equalityCount;
    shifted.set(this.values);
    // Times of state triggers are solved for more closely over held steps than in flight: compare like with like.
    if (this.compiled.waits) {
      if (!engine.refly(shifted, engine.firstSegmentOf(this.compiled.parameters[PAYLOAD]!))) return false;
      this.target.residuals(engine.end, residuals);
    }
    for (let i = 0; i < n; i++) {
      const p = free[i]!;
      const parameter = this.compiled.parameters[p]!;
      const before = shifted[p]!;
      shifted[p] = before + DIFFERENCE * parameter.scale;
      const step = (shifted[p] - before) / parameter.scale;
      const finite = engine.refly(shifted, engine.firstSegmentOf(parameter));
      shifted[p] = before;
      if (!finite) return false;
      this.target.residuals(engine.end, nearby);
      for (let k = 0; k < m; k++) jacobian[k * n + i] = (nearby[k]! - residuals[k]!) / step;
      gradient[i] = p === PAYLOAD ? -1 : 0;
    }
    return true;
  }
}
