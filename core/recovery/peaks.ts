/**
 * Peaks of dynamic pressure, stagnation heating and load, phase by phase: found on a flight by its interpolant, and looked at
 * again at the same share of the same step when its steps are flown again. A peak's value depends on its place only in second
 * order, so that this gives the derivative; at the end of a leg the place moves with the leg.
 */
import { findMaximum } from '../math/extrema.ts';
import type { ReturnPlan } from '../contract/returns.ts';
import { STATE_SIZE } from '../flight/motion.ts';
import type { Motion } from '../flight/motion.ts';
import type { StepStore } from '../ode/dense.ts';
import type { Driver } from '../ode/driver.ts';
import type { DormandPrinceStepper } from '../ode/stepper.ts';
import { stagnationHeating_Wpm2 } from './heating.ts';
import type { Leg, ReturnPhase } from './legs.ts';

export type LimitKind = 'dynamicPressure' | 'heating' | 'load';

/** The phases whose peaks are limited each by itself; between two burns there is one peak at most. */
const LIMITED_PHASES = [
  'boostback',
  'coast',
  'entry',
  'descent',
  'landing',
] as const satisfies readonly ReturnPhase[];

export interface Limit {
  readonly kind: LimitKind;
  /** Pa, W/m² or m/s². */
  readonly value: number;
}

/** Where a peak lies; SI. */
export interface Peak {
  readonly limit: number;
  readonly phase: ReturnPhase;
  leg: number;
  step: number;
  /** Share of the step. */
  share: number;
  /** The step ends on the edge of a smooth piece, and the peak is there. */
  onEdge: boolean;
  /** On the last controlled flight, and as looked at last. */
  found: number;
  value: number;
}

/** What peaks are looked for in: an engine after a flight. */
export interface PeakSource {
  readonly motion: Motion;
  readonly driver: Driver;
  readonly steps: StepStore;
  readonly legs: readonly Leg[];
  readonly firstSteps: readonly number[];
  reenter(leg: number): void;
}

/** Looks into each step this many times. */
const LOOKS = 3;
/** Places by the interpolant and on the step itself, how far around the former the latter is looked for, shares of a step. */
const PLACE = 1e-5;
const ON_STEP = 1e-7;
const AROUND = 0.02;
/** A margin below this counts as near the limit. */
const NEAR = 0.1;

/** The limits of a plan in one order; values in SI. */
function limitsOf({ limits }: ReturnPlan): Limit[] {
  const found: Limit[] = [];
  if (limits.dynamicPressure_Pa !== undefined)
    found.push({ kind: 'dynamicPressure', value: limits.dynamicPressure_Pa });
  if (limits.heatFlux_Wpm2 !== undefined) found.push({ kind: 'heating', value: limits.heatFlux_Wpm2 });
  if (limits.load_mps2 !== undefined) found.push({ kind: 'load', value: limits.load_mps2 });
  return found;
}

/** Keeps the peaks of one engine's flights that a plan limits. SI. */
export class PeakWatch {
  readonly limits: readonly Limit[];
  readonly peaks: Peak[] = [];
  private readonly noseRadius_m: number;
  private entered = -1;
  private readonly slope = new Float64Array(STATE_SIZE);
  private readonly state = new Float64Array(STATE_SIZE);

  constructor(plan: ReturnPlan) {
    this.limits = limitsOf(plan);
    this.noseRadius_m = plan.noseRadius_m;
    const phases = LIMITED_PHASES.filter((phase) => {
      if (phase === 'boostback') return plan.boostback !== undefined;
      return phase === 'entry' || phase === 'descent' ? plan.entry !== undefined : true;
    });
    this.limits.forEach((_limit, limit) => {
      for (const phase of phases) {
        this.peaks.push({ limit, phase, leg: -1, step: -1, share: 0, onEdge: false, found: 0, value: 0 });
      }
    });
  }

  /** Whether the plan limits anything: what does not costs nothing. Unitless. */
  get watches(): boolean {
    return this.peaks.length > 0;
  }

  /** Finds all peaks of the engine's last controlled flight. */
  find(engine: PeakSource): void {
    const { legs, firstSteps, steps } = engine;
    this.entered = -1;
    for (const peak of this.peaks) {
      const { kind } = this.limits[peak.limit]!;
      Object.assign(peak, { leg: -1, step: -1, onEdge: false, found: 0, value: 0 });
      legs.forEach((leg, index) => {
        if (leg.phase !== peak.phase) return;
        for (let step = firstSteps[index]!; step < firstSteps[index + 1]!; step++) {
          for (let k = step === firstSteps[index]! ? 0 : 1; k <= LOOKS; k++) {
            const value = this.dense(engine, kind, index, step, k / LOOKS);
            if (value > peak.found) Object.assign(peak, { leg: index, step, share: k / LOOKS, found: value });
          }
        }
      });
      if (peak.leg < 0) continue;
      this.refine(engine, peak);
      // As it is looked at over held steps: the step itself to the place, not its interpolant.
      const { leg, step } = peak;
      steps.sampleStep(step, steps.timeOf(step), this.state);
      engine.reenter(leg);
      this.entered = leg;
      this.look(engine, leg, step, steps.timeOf(step), this.state, steps.lengthOf(step));
      peak.found = peak.value;
      peak.onEdge =
        peak.share === 1 &&
        step + 1 < firstSteps[leg + 1]! &&
        steps.pieceOf(step) !== steps.pieceOf(step + 1);
    }
  }

  /**
   * Refines a peak between the looks on either side, in the next step too where it is at the end of one: by the interpolant,
   * and near the limit on the step itself, since the derivative errs with the place.
   */
  private refine(engine: PeakSource, peak: Peak): void {
    const { leg } = peak;
    const { kind, value: limit } = this.limits[peak.limit]!;
    const { step, share } = peak;
    const last = engine.firstSteps[leg + 1]! - 1;
    const places = [{ step, low: Math.max(0, share - 1 / LOOKS), high: Math.min(1, share + 1 / LOOKS) }];
    if (share === 1 && step < last) places.push({ step: step + 1, low: 0, high: 1 / LOOKS });
    for (const { step: at, low, high } of places) {
      const best = findMaximum((x) => this.dense(engine, kind, leg, at, x), low, high, PLACE);
      const value = this.dense(engine, kind, leg, at, best);
      if (value > peak.found) Object.assign(peak, { step: at, share: best, found: value });
    }
    if (peak.found < (1 - NEAR) * limit || peak.share <= 0 || peak.share >= 1) return;
    const from = Math.max(0, peak.share - AROUND);
    const to = Math.min(1, peak.share + AROUND);
    this.dense(engine, kind, leg, peak.step, 0);
    const start = this.state.slice();
    const taken = (x: number): number => this.takenTo(engine, kind, peak.step, start, x);
    peak.share = findMaximum(taken, from, to, ON_STEP);
  }

  /** The value at a share of a step taken itself so far from its start y. */
  private takenTo(engine: PeakSource, kind: LimitKind, step: number, y: Float64Array, share: number): number {
    const { motion, driver, steps } = engine;
    const { stepper } = driver;
    const t_s = steps.timeOf(step);
    const h_s = share * steps.lengthOf(step);
    stepper.begin(motion, t_s, y);
    stepper.step(motion, t_s, y, h_s);
    return this.read(engine, kind, t_s + h_s, stepper.yEnd);
  }

  /** Steps of a leg in which a peak lies. Unitless. */
  stepsOf(leg: number): number[] {
    return this.peaks.filter((peak) => peak.leg === leg).map((peak) => peak.step);
  }

  /** Peaks on legs before `leg` stay as they were found. Unitless. */
  keepBefore(leg: number): void {
    for (const peak of this.peaks) if (peak.leg < leg) peak.value = peak.found;
  }

  /** What has been looked at stands for what was found. Unitless. */
  keep(): void {
    for (const peak of this.peaks) peak.found = peak.value;
  }

  /** Looks at the peaks in a step that is flown again from (t_s, y) with length h_s (s), the leg entered already. */
  look(engine: PeakSource, leg: number, step: number, t_s: number, y: Float64Array, h_s: number): void {
    const { motion, driver, steps } = engine;
    const { stepper } = driver;
    for (const peak of this.peaks) {
      if (peak.leg !== leg || peak.step !== step) continue;
      motion.setPiece(steps.pieceOf(step));
      stepper.begin(motion, t_s, y);
      const share = peak.onEdge ? edgeShare(motion, stepper, t_s, h_s, y) : peak.share;
      stepper.step(motion, t_s, y, share * h_s);
      peak.value = this.read(engine, this.limits[peak.limit]!.kind, t_s + share * h_s, stepper.yEnd);
    }
  }

  private dense(engine: PeakSource, kind: LimitKind, leg: number, step: number, share: number): number {
    const { steps, motion } = engine;
    if (leg !== this.entered) engine.reenter(leg);
    this.entered = leg;
    const t_s = steps.timeOf(step) + share * steps.lengthOf(step);
    steps.sampleStep(step, t_s, this.state);
    motion.setPiece(steps.pieceOf(step));
    return this.read(engine, kind, t_s, this.state);
  }

  private read(engine: PeakSource, kind: LimitKind, t_s: number, y: Float64Array): number {
    const { motion } = engine;
    const { slope } = this;
    motion.derivative(t_s, y, slope);
    switch (kind) {
      case 'dynamicPressure':
        return 0.5 * motion.density_kgpm3 * motion.speedAir_mps * motion.speedAir_mps;
      case 'heating':
        return stagnationHeating_Wpm2(motion.density_kgpm3, motion.speedAir_mps, this.noseRadius_m);
      case 'load':
        return Math.hypot(
          slope[3]! - motion.gravity[0]!,
          slope[4]! - motion.gravity[1]!,
          slope[5]! - motion.gravity[2]!,
        );
    }
  }
}

/** First secant towards an edge, as a share of the step; how near it is wanted, in the margin's unit, and in how many tries. */
const EDGE_TRY = 1e-3;
const ON_EDGE = 1e-13;
const MOST_TRIES = 8;

/** Share of a step begun from (t, y), near its end, at which the edge of its smooth piece is reached; by secants. s, SI */
function edgeShare(
  motion: Motion,
  stepper: DormandPrinceStepper,
  t_s: number,
  h_s: number,
  y: Float64Array,
): number {
  const margin = (share: number): number => {
    stepper.step(motion, t_s, y, share * h_s);
    return motion.pieceMargin(t_s + share * h_s, stepper.yEnd);
  };
  let before = 1 - EDGE_TRY;
  let missBefore = margin(before);
  let share = 1;
  let here = margin(share);
  for (let i = 0; i < MOST_TRIES && Math.abs(here) > ON_EDGE && here !== missBefore; i++) {
    const next = share - (here * (share - before)) / (here - missBefore);
    before = share;
    missBefore = here;
    share = next;
    here = margin(share);
  }
  return share;
}
