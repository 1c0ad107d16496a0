/**
 * The most payload (or another goal) with a body's flight home, as one nonlinear programme: the ascent's numbers and those of
 * the return are free, target and touchdown are equalities, and what the body parts with is to cover the return and its margin.
 */
import type { FlightEngine } from '../flight/engine.ts';
import type { NlpProblem } from '../nlp/problem.ts';
import type { ReturnEngine } from '../recovery/engine.ts';
import { HeldStart } from '../recovery/heldStart.ts';
import type { ReturnStart } from '../recovery/start.ts';
import type { Beside, PayloadProblem } from './payloadProblem.ts';
import { DIFFERENCE, touchdownConditions, writeLimits, writeTouchdown } from './returnProblem.ts';

/**
 * Variables: the ascent's, then the return's, each by its own scale. Equalities: target, touchdown. Inequalities: the
 * ascent's; the reserve less what the return takes and its margin, in units of the return's scale; the return's limits.
 * The ascent's study must have the return reserve as a parameter. Derivatives: the ascent over held steps, the return over
 * held steps from the parting that each of those flights has.
 */
export class TogetherProblem implements NlpProblem, Beside {
  readonly variableCount: number;
  readonly equalityCount: number;
  readonly inequalityCount: number;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  /** Numbers of the return, SI and radians. */
  readonly homeValues: Float64Array;
  /** Of the last flight. */
  start: ReturnStart | null = null;
  private readonly held: HeldStart;
  private readonly shifted: Float64Array;
  private readonly ascentRows: Float64Array;
  private readonly ascentGradient: Float64Array;
  private readonly ascentJacobian: Float64Array;
  private readonly base: Float64Array;
  private readonly nearby: Float64Array;
  /** Rows of the return by variables of the ascent. */
  private readonly across: Float64Array;
  private readonly touch: number;

  /** `free` lists indices of numbers of the return; `margin` is a share of what it takes. */
  constructor(
    readonly ascent: PayloadProblem,
    private readonly engine: FlightEngine,
    private readonly home: ReturnEngine,
    readonly free: readonly number[],
    homeValues: Float64Array,
    private readonly margin: number,
  ) {
    const { numbers } = home.compiled;
    this.touch = touchdownConditions(home.compiled);
    this.variableCount = ascent.variableCount + free.length;
    this.equalityCount = ascent.equalityCount + this.touch;
    const rows = this.touch + 1 + home.peaks.peaks.length;
    this.inequalityCount = ascent.inequalityCount + rows - this.touch;
    this.homeValues = Float64Array.from(homeValues);
    this.shifted = Float64Array.from(homeValues);
    this.held = new HeldStart(engine, home.compiled.body);
    const ascentRows = ascent.equalityCount + ascent.inequalityCount;
    this.ascentRows = new Float64Array(ascentRows);
    this.ascentGradient = new Float64Array(ascent.variableCount);
    this.ascentJacobian = new Float64Array(ascentRows * ascent.variableCount);
    this.base = new Float64Array(rows);
    this.nearby = new Float64Array(rows);
    this.across = new Float64Array(rows * ascent.variableCount);
    const bound = (key: 'lower' | 'upper'): Float64Array =>
      Float64Array.from([...ascent[key], ...free.map((p) => numbers[p]![key] / numbers[p]!.scale)]);
    this.lower = bound('lower');
    this.upper = bound('upper');
    ascent.beside = this;
  }

  /** The scaled variables of the current values, dimensionless, moved into their bounds. */
  variables(): Float64Array {
    const { numbers } = this.home.compiled;
    const own = this.free.map((p) => this.homeValues[p]! / numbers[p]!.scale);
    return Float64Array.from([...this.ascent.variables(), ...own], (x, i) =>
      Math.min(Math.max(x, this.lower[i]!), this.upper[i]!),
    );
  }

  /** Takes scaled variables over into the values of ascent and return (SI, radians). */
  adopt(x: Float64Array): void {
    const { ascent, free, homeValues } = this;
    const { numbers } = this.home.compiled;
    ascent.adopt(x.subarray(0, ascent.variableCount));
    free.forEach((p, i) => (homeValues[p] = x[ascent.variableCount + i]! * numbers[p]!.scale));
  }

  /** Flies x up and home; writes all conditions; returns the scaled objective, NaN when a flight fails. Dimensionless. */
  evaluate(x: Float64Array, constraints: Float64Array): number {
    const { ascent, ascentRows, base, home, homeValues } = this;
    this.adopt(x);
    const cost = ascent.evaluate(x.subarray(0, ascent.variableCount), ascentRows);
    if (Number.isNaN(cost)) return cost;
    this.start = this.held.flown(this.reserve_kg(ascent.values), ascent.values);
    if (this.start === null) return Number.NaN;
    homeValues[home.compiled.at.reserve] = this.start.reserve_kg;
    if (home.fly(homeValues, this.start) !== 'flown') return Number.NaN;
    this.write(base);
    this.place(constraints, 1, 0, ascentRows, 1, base, 1);
    return cost;
  }

  /** Gradient and Jacobian by forward differences over the held steps of both. Dimensionless. False when one is not finite. */
  differentiate(x: Float64Array, gradient: Float64Array, jacobian: Float64Array): boolean {
    const { ascent, ascentGradient, ascentJacobian, across, base, nearby, free, home, shifted } = this;
    const n = this.variableCount;
    const own = ascent.variableCount;
    if (!this.engine.compiled.waits && !this.begun()) return false;
    if (!ascent.differentiate(x.subarray(0, own), ascentGradient, ascentJacobian)) return false;
    gradient.fill(0);
    gradient.set(ascentGradient);
    jacobian.fill(0);
    for (let i = 0; i < own; i++)
      this.place(jacobian, n, i, ascentJacobian.subarray(i), own, across.subarray(i), own);
    shifted.set(this.homeValues);
    for (let i = 0; i < free.length; i++) {
      const p = free[i]!;
      const { scale } = home.compiled.numbers[p]!;
      const before = shifted[p]!;
      shifted[p] = before + DIFFERENCE * scale;
      const step = (shifted[p] - before) / scale;
      const finite = home.refly(shifted, this.start!, home.firstLegOf(p));
      shifted[p] = before;
      if (!finite) return false;
      this.write(nearby);
      for (let k = 0; k < base.length; k++) nearby[k] = (nearby[k]! - base[k]!) / step;
      this.place(jacobian, n, own + i, null, 1, nearby, 1);
    }
    return true;
  }

  /** See `Beside`: the parting is read along. */
  begin(): void {
    this.held.begin();
  }

  /** See `Beside`: the return from the parting of that flight. SI, radians. */
  ended(values: Float64Array, variable: number, step: number): boolean {
    const { engine, ascent, home, shifted, base, nearby, across } = this;
    const start = this.held.ended(this.reserve_kg(values), values);
    if (variable < 0) {
      this.start = start;
      return this.begun();
    }
    const parameter = engine.compiled.parameters[ascent.free[variable]!]!;
    const n = ascent.variableCount;
    if (engine.firstSegmentOf(parameter) >= this.held.place!.segment) {
      for (let k = 0; k < base.length; k++) across[k * n + variable] = 0;
      return true;
    }
    shifted.set(this.homeValues);
    shifted[home.compiled.at.reserve] = start.reserve_kg;
    if (!home.refly(shifted, start, 0)) return false;
    this.write(nearby);
    for (let k = 0; k < base.length; k++) across[k * n + variable] = (nearby[k]! - base[k]!) / step;
    return true;
  }

  /** The return over held steps with nothing changed: passages are solved for more closely so, and like is compared with like. */
  private begun(): boolean {
    if (this.start === null || !this.home.refly(this.homeValues, this.start, 0, true)) return false;
    this.write(this.base);
    return true;
  }

  /** What is to be kept, where the body is cut on that. */
  private reserve_kg(values: Float64Array): number {
    return values[this.engine.compiled.parameters.length - 1]!;
  }

  /** Touchdown, what is left of the reserve, limits: of the return flown last. */
  private write(out: Float64Array): void {
    const { home, touch } = this;
    const { at, numbers } = home.compiled;
    writeTouchdown(home, out, 0);
    out[touch] = (home.number('reserve') - (1 + this.margin) * home.used_kg) / numbers[at.reserve]!.scale;
    writeLimits(home, out, touch + 1);
  }

  /** Puts rows of ascent and return in their order, into one column of a matrix with `width` columns. */
  private place(
    out: Float64Array,
    width: number,
    column: number,
    ascent: Float64Array | null,
    ascentWidth: number,
    home: Float64Array,
    homeWidth: number,
  ): void {
    const { equalityCount: equal, inequalityCount: unequal } = this.ascent;
    const { touch } = this;
    const rows = this.base.length;
    if (ascent !== null) {
      for (let k = 0; k < equal; k++) out[k * width + column] = ascent[k * ascentWidth]!;
      for (let k = 0; k < unequal; k++)
        out[(this.equalityCount + k) * width + column] = ascent[(equal + k) * ascentWidth]!;
    }
    for (let k = 0; k < touch; k++) out[(equal + k) * width + column] = home[k * homeWidth]!;
    for (let k = touch; k < rows; k++)
      out[(this.equalityCount + unequal + k - touch) * width + column] = home[k * homeWidth]!;
  }
}
