/**
 * Events within a step: where a monitored value passes through zero, where the solution leaves the frozen piece, and which
 * monitors have just fired. The driver's header states the semantics.
 */
import { findRoot } from '../math/roots.ts';
import { interpolate } from './dense.ts';
import type { DormandPrinceStepper } from './stepper.ts';
import type { OdeSystem } from './system.ts';

export interface Monitor {
  /** Continuous along the solution; its zero is the event. */
  value(t: number, y: Float64Array): number;
  /** +1 fires on rising, −1 on falling, 0 on either. */
  readonly direction: -1 | 0 | 1;
}

/** A share of the step that lies beyond it: nothing was found. */
export const NOT_IN_STEP = 2;
/** A distance to an edge that counts as none; see the contract of a system for its scale. */
const ON_EDGE = 1e-12;
const ROOT_TOLERANCE = 1e-13;
const GOLDEN = (3 - Math.sqrt(5)) / 2;
/** Golden sections when a step starts on an edge: down to 1e-12 of the step. */
const MOST_SECTIONS = 58;

/**
 * Whether a value that goes from `before` to `after` passes zero in the direction (+1 rising, −1 falling, 0 either).
 * From zero itself nothing passes. Values in the monitor's own unit.
 */
export function passes(before: number, after: number, direction: -1 | 0 | 1): boolean {
  const rising = before < 0 && after >= 0;
  const falling = before > 0 && after <= 0;
  return (rising && direction >= 0) || (falling && direction <= 0);
}

/**
 * Place of the extremum of the parabola through `before`, `middle` and `after` at θ = 0, 1/2 and 1, if it lies inside and
 * bulges toward zero, so that a crossing and a return may hide there; else NaN. Values in one unit, result dimensionless.
 */
function hiddenExtremum(before: number, middle: number, after: number): number {
  if (before * after < 0) return Number.NaN;
  const curvature = 2 * (before - 2 * middle + after);
  if (!(curvature * (before + after) > 0)) return Number.NaN;
  const theta = (3 * before - 4 * middle + after) / (2 * curvature);
  return theta > 0 && theta < 1 && theta !== 0.5 ? theta : Number.NaN;
}

/** Looks into one step by its interpolant: at its middle, and where a value comes closest to zero in between. */
export class StepSearch {
  private t = 0;
  private h = 0;
  private stepper: DormandPrinceStepper | null = null;
  private start: Float64Array | null = null;
  /** Whether the coefficients are those of this step: most steps need only their middle. */
  private dense = false;
  private readonly coefficients: Float64Array;
  private readonly probe: Float64Array;

  constructor(dimension: number) {
    this.coefficients = new Float64Array(5 * dimension);
    this.probe = new Float64Array(dimension);
  }

  /**
   * Takes over the step of length h from (t, y) that the stepper has just tried and told the error of. Units are the
   * system's own.
   */
  load(stepper: DormandPrinceStepper, t: number, y: Float64Array, h: number): void {
    this.t = t;
    this.h = h;
    this.stepper = stepper;
    this.start = y;
    this.dense = false;
  }

  /**
   * Share of the step (0 to 1, dimensionless) at which the monitor first passes zero in its direction, NOT_IN_STEP if it
   * does not, NaN if a value inside is not a number. `before` and `after` are its values at the step's ends, in its own
   * unit. Two passages are told apart when a look at the middle, or at the nearest point of a parabola through three
   * values, falls between them.
   */
  firstPassage(monitor: Monitor, before: number, after: number): number {
    const middle = monitor.value(this.t + 0.5 * this.h, this.stepper!.middle);
    if (Number.isNaN(middle)) return Number.NaN;
    const extremum = hiddenExtremum(before, middle, after);
    let left = 0;
    let leftValue = before;
    if (extremum < 0.5) {
      const value = this.valueAt(monitor, extremum);
      if (Number.isNaN(value)) return Number.NaN;
      if (passes(before, value, monitor.direction)) return this.rootOf(monitor, 0, extremum, before, value);
      left = extremum;
      leftValue = value;
    }
    if (passes(leftValue, middle, monitor.direction)) {
      return this.rootOf(monitor, left, 0.5, leftValue, middle);
    }
    left = 0.5;
    leftValue = middle;
    if (extremum > 0.5) {
      const value = this.valueAt(monitor, extremum);
      if (Number.isNaN(value)) return Number.NaN;
      if (passes(middle, value, monitor.direction)) return this.rootOf(monitor, 0.5, extremum, middle, value);
      left = extremum;
      leftValue = value;
    }
    if (passes(leftValue, after, monitor.direction)) return this.rootOf(monitor, left, 1, leftValue, after);
    return NOT_IN_STEP;
  }

  /**
   * Share of the step (dimensionless) at which the solution first leaves the frozen piece: NOT_IN_STEP if it stays, 0 if
   * the step starts on an edge and leads straight out of the piece, NaN if a distance inside is not a number. `start` and
   * `end` are the distances to the edge at the step's ends, as of `pieceMargin` and in its unit.
   */
  firstExit(system: OdeSystem, start: number, end: number): number {
    const middle = system.pieceMargin(this.t + 0.5 * this.h, this.stepper!.middle);
    if (Number.isNaN(middle)) return Number.NaN;
    const extremum = hiddenExtremum(start, middle, end);
    const value = Number.isNaN(extremum) ? Number.POSITIVE_INFINITY : this.marginAt(system, extremum);
    if (Number.isNaN(value)) return Number.NaN;
    // The first place known to be outside, and the last one before it known to be inside.
    let inside = 0;
    let insideMargin = start;
    let outside = 1;
    let outsideMargin = end;
    if (extremum < 0.5 && value < -ON_EDGE) {
      outside = extremum;
      outsideMargin = value;
    } else if (middle < -ON_EDGE) {
      outside = 0.5;
      outsideMargin = middle;
      if (extremum < 0.5 && value > ON_EDGE) {
        inside = extremum;
        insideMargin = value;
      }
    } else {
      if (extremum > 0.5 && value < -ON_EDGE) {
        outside = extremum;
        outsideMargin = value;
      } else if (!(end < -ON_EDGE)) {
        return NOT_IN_STEP;
      }
      if (middle > ON_EDGE) {
        inside = 0.5;
        insideMargin = middle;
      }
    }
    // On an edge at the start: one that was just crossed, give or take an error in the state, and perhaps on through the
    // whole of a thin piece. If there is a place inside, golden section on the distance to the edge comes upon it.
    if (!(insideMargin > ON_EDGE)) {
      let left = inside + GOLDEN * (outside - inside);
      let right = outside - GOLDEN * (outside - inside);
      let leftMargin = this.marginAt(system, left);
      let rightMargin = this.marginAt(system, right);
      for (let k = 0; k < MOST_SECTIONS; k++) {
        if (Number.isNaN(leftMargin + rightMargin)) return Number.NaN;
        if (leftMargin > ON_EDGE) {
          if (!(rightMargin > ON_EDGE)) {
            outside = right;
            outsideMargin = rightMargin;
          }
          inside = left;
          insideMargin = leftMargin;
          break;
        }
        if (rightMargin > ON_EDGE) {
          inside = right;
          insideMargin = rightMargin;
          break;
        }
        if (leftMargin > rightMargin) {
          outside = right;
          outsideMargin = rightMargin;
          right = left;
          rightMargin = leftMargin;
          left = inside + GOLDEN * (outside - inside);
          leftMargin = this.marginAt(system, left);
        } else {
          inside = left;
          left = right;
          leftMargin = rightMargin;
          right = outside - GOLDEN * (outside - inside);
          rightMargin = this.marginAt(system, right);
        }
      }
    }
    if (!(insideMargin > ON_EDGE)) return 0;
    if (outsideMargin >= 0) return outside;
    return findRoot(
      (theta) => this.marginAt(system, theta),
      inside,
      outside,
      ROOT_TOLERANCE,
      insideMargin,
      outsideMargin,
    );
  }

  private marginAt(system: OdeSystem, theta: number): number {
    this.lookAt(theta);
    return system.pieceMargin(this.t + theta * this.h, this.probe);
  }

  private valueAt(monitor: Monitor, theta: number): number {
    this.lookAt(theta);
    return monitor.value(this.t + theta * this.h, this.probe);
  }

  private lookAt(theta: number): void {
    if (!this.dense) {
      this.stepper!.writeDense(this.start!, this.h, this.coefficients, 0);
      this.dense = true;
    }
    interpolate(this.coefficients, 0, this.probe.length, theta, this.probe);
  }

  private rootOf(monitor: Monitor, a: number, b: number, fa: number, fb: number): number {
    return findRoot((theta) => this.valueAt(monitor, theta), a, b, ROOT_TOLERANCE, fa, fb);
  }
}

/** A monitor at its zero: it has fired, or waits its turn among others that passed zero at the same place. */
interface Passage {
  readonly monitor: Monitor;
  /** Sign of its value before it passed; 0 when it came from zero itself. */
  readonly side: number;
  /** Values up to this size are what is left of the zero at which it fired. */
  readonly band: number;
  waiting: boolean;
}

/** The monitors that have passed zero and not yet left it. */
export class PassedMonitors {
  private readonly list: Passage[] = [];

  /** Forgets every monitor. Unitless. */
  clear(): void {
    this.list.length = 0;
  }

  /** Forgets those that are no longer watched. Unitless. */
  keepOnly(monitors: readonly Monitor[]): void {
    for (let i = this.list.length - 1; i >= 0; i--) {
      if (!monitors.includes(this.list[i]!.monitor)) this.list.splice(i, 1);
    }
  }

  /**
   * Notes that a monitor passed zero in a step from the value `before` to `after`, which was cut to end where its value
   * is `now`; `waiting` when another fires first. Values in the monitor's own unit.
   */
  add(monitor: Monitor, before: number, after: number, now: number, waiting: boolean): void {
    this.remove(monitor);
    // What a rounding error in the state may make of the value, guessed from how much it changes in a step.
    const rounding = 1e-9 * Math.max(Math.abs(before), Math.abs(after));
    this.list.push({ monitor, side: Math.sign(before), band: 2 * Math.abs(now) + rounding, waiting });
  }

  /** The value from which a step starts: zero until a monitor that has fired has left its zero. Monitor's own unit. */
  startValue(monitor: Monitor, value: number): number {
    if (this.list.length === 0) return value;
    const passage = this.list.find((each) => each.monitor === monitor);
    if (passage === undefined) return value;
    if (Math.abs(value) <= passage.band) return 0;
    // One that waits has passed, unless a jump of the state has put it back before its zero.
    if (passage.waiting && value * passage.side < 0) return 0;
    this.remove(monitor);
    return value;
  }

  /** Index of the first of `monitors` that waits to fire, which then has fired; −1 when none does. Unitless. */
  takeWaiting(monitors: readonly Monitor[]): number {
    for (let m = 0; m < monitors.length; m++) {
      const passage = this.list.find((each) => each.waiting && each.monitor === monitors[m]);
      if (passage === undefined) continue;
      passage.waiting = false;
      return m;
    }
    return -1;
  }

  private remove(monitor: Monitor): void {
    const at = this.list.findIndex((each) => each.monitor === monitor);
    if (at >= 0) this.list.splice(at, 1);
  }
}
