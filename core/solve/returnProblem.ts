/** The return that takes least propellant, as a nonlinear programme over the numbers of a flight home. */
import type { NlpProblem } from '../nlp/problem.ts';
import type { CompiledReturn } from '../recovery/compile.ts';
import { readTouchdown, type ReturnEngine, type Touchdown } from '../recovery/engine.ts';
import type { ReturnStart } from '../recovery/start.ts';

/** A residual of 1 is this far or this fast. */
export const MISS_m = 200;
export const SPEED_mps = 10;
/** Step of the differences in units of each number's scale. */
export const DIFFERENCE = 1e-6;

/** Number of conditions at touchdown: height and velocity, and the place where one is asked for. Unitless. */
export function touchdownConditions(compiled: CompiledReturn): number {
  return compiled.place === null ? 4 : 6;
}

const touchdown: Touchdown = { miss_m: new Float64Array(3), velocity_mps: new Float64Array(3) };

/** Writes the dimensionless residuals of the engine's last touchdown at `at`: velocity, height, then place; zero when landed. */
export function writeTouchdown(engine: ReturnEngine, out: Float64Array, at: number): void {
  readTouchdown(engine.compiled, engine.endTime_s, engine.end, touchdown);
  for (let k = 0; k < 3; k++) out[at + k] = touchdown.velocity_mps[k]! / SPEED_mps;
  out[at + 3] = touchdown.miss_m[2]! / MISS_m;
  if (engine.compiled.place === null) return;
  out[at + 4] = touchdown.miss_m[0]! / MISS_m;
  out[at + 5] = touchdown.miss_m[1]! / MISS_m;
}

/** Writes what is left to each limited peak as a share of its limit at `at`, non-negative when kept. Dimensionless. */
export function writeLimits({ peaks }: ReturnEngine, out: Float64Array, at: number): void {
  peaks.peaks.forEach((peak, i) => {
    const limit = peaks.limits[peak.limit]!.value;
    out[at + i] = (limit - peak.value) / limit;
  });
}

/** The largest share by which the engine's last flight exceeds a limit, zero when it exceeds none. Dimensionless. */
export function mostExceeded({ peaks }: ReturnEngine): number {
  return peaks.peaks.reduce(
    (most, { limit, value }) => Math.max(most, value / peaks.limits[limit]!.value - 1),
    0,
  );
}

/** What becomes of a plan's limits: kept; or all eased by one share, which is to be least. */
export type LimitUse = 'kept' | 'eased';

/** What easing all limits by their whole costs, in units of the reserve's scale: far above any price of a limit. */
const EASING = 3e3;

/**
 * Least propellant from a given start. Numbers are scaled by their `scale`; the objective is the propellant in units of the
 * reserve's scale. With the reserve among the free numbers, what is used, with its margin, is to be the
 * reserve. With limits eased the last variable is the share by which they are, dimensionless.
 */
export class ReturnProblem implements NlpProblem {
  readonly variableCount: number;
  readonly equalityCount: number;
  readonly inequalityCount: number;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  readonly values: Float64Array;
  private readonly shifted: Float64Array;
  private readonly base: Float64Array;
  private readonly nearby: Float64Array;
  private readonly closesReserve: boolean;

  /** `free` lists indices of numbers to be solved for; the others stay at `values` (SI, radians). */
  constructor(
    private readonly engine: ReturnEngine,
    private readonly start: ReturnStart,
    readonly free: readonly number[],
    values: Float64Array,
    /** Share of what is used that the reserve is to have beside it. */
    private readonly margin = 0,
    private readonly limits: LimitUse = 'kept',
  ) {
    const { compiled } = engine;
    const { numbers } = compiled;
    const eased = limits === 'eased';
    this.variableCount = free.length + (eased ? 1 : 0);
    this.closesReserve = free.includes(compiled.at.reserve);
    this.equalityCount = touchdownConditions(compiled) + (this.closesReserve ? 1 : 0);
    this.inequalityCount = engine.peaks.peaks.length;
    this.values = Float64Array.from(values);
    this.shifted = Float64Array.from(values);
    this.base = new Float64Array(1 + this.equalityCount + this.inequalityCount);
    this.nearby = new Float64Array(this.base.length);
    const bounds = (key: 'lower' | 'upper', easing: number): Float64Array =>
      Float64Array.from([
        ...free.map((p) => numbers[p]![key] / numbers[p]!.scale),
        ...(eased ? [easing] : []),
      ]);
    this.lower = bounds('lower', 0);
    this.upper = bounds('upper', Number.POSITIVE_INFINITY);
  }

  /** The scaled variables of the current values, dimensionless, moved into their bounds; limits eased as the last flight needs. */
  variables(): Float64Array {
    const { engine, lower, upper } = this;
    const own = this.free.map((p, i) =>
      Math.min(Math.max(this.values[p]! / engine.compiled.numbers[p]!.scale, lower[i]!), upper[i]!),
    );
    return Float64Array.from(this.limits === 'eased' ? [...own, mostExceeded(engine)] : own);
  }

  /** Takes scaled variables over into `values` (SI, radians). */
  adopt(x: Float64Array): void {
    this.free.forEach((p, i) => {
      this.values[p] = x[i]! * this.engine.compiled.numbers[p]!.scale;
    });
  }

  /** Flies x; writes touchdown and limits; returns the scaled propellant, NaN when the flight fails. Dimensionless. */
  evaluate(x: Float64Array, constraints: Float64Array): number {
    this.adopt(x);
    if (this.engine.fly(this.values, this.start) !== 'flown') return Number.NaN;
    this.write(this.base);
    constraints.set(this.base.subarray(1));
    if (this.limits !== 'eased') return this.base[0]!;
    const share = x[this.free.length]!;
    for (let k = this.equalityCount; k < constraints.length; k++) constraints[k]! += share;
    return this.base[0]! + EASING * share;
  }

  /** Gradient and Jacobian by forward differences over the held steps. Dimensionless. False when one is not finite. */
  differentiate(_x: Float64Array, gradient: Float64Array, jacobian: Float64Array): boolean {
    const { engine, free, base, nearby, shifted, start } = this;
    const n = this.variableCount;
    const { reserve } = engine.compiled.at;
    shifted.set(this.values);
    // Passages are solved for more closely over held steps than in flight: compare like with like.
    if (!engine.refly(shifted, start, 0, true)) return false;
    this.write(base);
    for (let i = 0; i < free.length; i++) {
      const p = free[i]!;
      const { scale } = engine.compiled.numbers[p]!;
      const before = shifted[p]!;
      shifted[p] = before + DIFFERENCE * scale;
      const step = (shifted[p] - before) / scale;
      const finite = engine.refly(shifted, start, engine.firstLegOf(p));
      shifted[p] = before;
      if (!finite) return false;
      this.write(nearby, p === reserve ? before + step * scale : this.values[reserve]!);
      gradient[i] = (nearby[0]! - base[0]!) / step;
      for (let k = 1; k < base.length; k++) jacobian[(k - 1) * n + i] = (nearby[k]! - base[k]!) / step;
    }
    if (this.limits === 'eased') {
      gradient[n - 1] = EASING;
      for (let k = 1; k < base.length; k++) jacobian[k * n - 1] = k > this.equalityCount ? 1 : 0;
    }
    return true;
  }

  private write(out: Float64Array, reserve_kg = this.values[this.engine.compiled.at.reserve]!): void {
    const { engine } = this;
    const { numbers, at } = engine.compiled;
    const { scale } = numbers[at.reserve]!;
    out[0] = engine.used_kg / scale;
    const touch = touchdownConditions(engine.compiled);
    writeTouchdown(engine, out, 1);
    if (this.closesReserve) out[1 + touch] = ((1 + this.margin) * engine.used_kg - reserve_kg) / scale;
    writeLimits(engine, out, 1 + this.equalityCount);
  }
}
