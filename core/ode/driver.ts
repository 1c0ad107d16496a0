/**
 * The one driver of the integration: step-size control, exact phase ends, edges of smooth pieces, event location,
 * counts and guards. Knows nothing of rockets.
 *
 * Semantics of events:
 * 1. A known time is an exact stop: `advanceTo(tEnd)` ends with t equal to tEnd, bit for bit.
 * 2. A monitor fires when its value passes through zero in its direction within a step; the earliest wins, ties go to
 *    the lower index. The step is taken again so that it ends at the root; the state there is a Runge-Kutta result,
 *    not an interpolated one.
 * 3. A monitor that is zero at the start does not fire again until it has left zero.
 * 4. At an edge of a smooth piece the step is likewise taken again to end on the edge, and the piece changes there.
 *
 * Step-size control: Hairer, Nørsett, Wanner I, section II.4 and the program DOPRI5 (PI controller, beta 0.04).
 */
import { findRoot } from '../math/roots.ts';
import { interpolate, type StepStore } from './dense.ts';
import { DormandPrinceStepper } from './stepper.ts';
import type { OdeSystem } from './system.ts';

export interface Monitor {
  /** Continuous along the solution; its zero is the event. */
  value(t: number, y: Float64Array): number;
  /** +1 fires on rising, −1 on falling, 0 on either. */
  readonly direction: -1 | 0 | 1;
}

export interface Tolerances {
  /** Relative error allowed a step, dimensionless. */
  readonly relative: number;
  /** Absolute error allowed a step, one number a component, in the component's unit. */
  readonly absolute: Float64Array;
  /** Longest step, in the unit of time. */
  readonly longestStep: number;
  /** Most steps between two calls of `start`. */
  readonly mostSteps: number;
}

export type AdvanceCode = 'reached' | 'event' | 'notFinite' | 'stepVanished' | 'tooManySteps';

/** Share of a step after which the solution has left an edge that the step starts on. */
const CLEAR_OF_EDGE = 1e-6;
const EXPONENT = 0.2 - 0.04 * 0.75;

export class Driver {
  readonly stepper: DormandPrinceStepper;
  readonly y: Float64Array;
  t = 0;
  /** Index of the monitor that ended the last `advanceTo`, or −1. */
  firedMonitor = -1;
  acceptedSteps = 0;
  rejectedSteps = 0;
  /** Steps shortened to end on an edge or an event. */
  shortenedSteps = 0;
  private suggestion = 0;
  private errorBefore = 1e-4;
  private readonly tolerances: Tolerances;
  private readonly scratch: Float64Array;
  private readonly probe: Float64Array;
  private monitorStart = new Float64Array(8);
  /** The monitor that ended the last advance: counts as zero until the solution has moved on. */
  private spent: Monitor | null = null;

  constructor(dimension: number, tolerances: Tolerances) {
    if (tolerances.absolute.length !== dimension) {
      throw new RangeError(
        `Driver: tolerances.absolute has ${tolerances.absolute.length} entries, the system has ${dimension} components`,
      );
    }
    this.stepper = new DormandPrinceStepper(dimension);
    this.y = new Float64Array(dimension);
    this.tolerances = tolerances;
    this.scratch = new Float64Array(5 * dimension);
    this.probe = new Float64Array(dimension);
  }

  /** Puts the solution at (t, y), chooses the piece and forgets counts and step size. Units are the system's own. */
  start(system: OdeSystem, t: number, y: Float64Array, firstStep = 0): void {
    this.acceptedSteps = 0;
    this.rejectedSteps = 0;
    this.shortenedSteps = 0;
    this.suggestion = firstStep;
    this.t = t;
    this.y.set(y);
    this.spent = null;
    this.restart(system);
  }

  /** After a jump of the state or of the right-hand side: chooses the piece and evaluates the slope anew. Unitless. */
  restart(system: OdeSystem): void {
    system.choosePiece(this.t, this.y);
    this.stepper.begin(system, this.t, this.y);
    this.errorBefore = 1e-4;
  }

  /**
   * Carries the solution to exactly tEnd, or to the first event of `monitors`. Accepted steps are appended to `store`
   * when given. Returns why it stopped; on a numerical failure t and y are the last good ones. tEnd in the system's
   * unit of time, not before t.
   */
  advanceTo(
    system: OdeSystem,
    tEnd: number,
    monitors: readonly Monitor[],
    store: StepStore | null,
  ): AdvanceCode {
    const { stepper, y, tolerances, scratch } = this;
    this.firedMonitor = -1;
    const monitorCount = monitors.length;
    if (monitorCount > this.monitorStart.length) this.monitorStart = new Float64Array(monitorCount);
    for (let m = 0; m < monitorCount; m++) {
      const monitor = monitors[m]!;
      this.monitorStart[m] = monitor === this.spent ? 0 : monitor.value(this.t, y);
    }
    let h = this.suggestion > 0 ? this.suggestion : this.firstStep(tEnd);
    let edgesWithoutProgress = 0;
    while (this.t < tEnd) {
      if (this.acceptedSteps + this.rejectedSteps >= tolerances.mostSteps) return 'tooManySteps';
      const t = this.t;
      const remaining = tEnd - t;
      const smallest = 1e-13 * Math.max(1, Math.abs(tEnd));
      if (remaining <= smallest) {
        this.t = tEnd;
        break;
      }
      if (h > tolerances.longestStep) h = tolerances.longestStep;
      let taken = h;
      // Two even steps to the end, rather than a full one and a sliver.
      if (taken >= remaining * (1 - 1e-9)) taken = remaining;
      else if (taken > 0.5 * remaining) taken = 0.5 * remaining;
      stepper.step(system, t, y, taken);
      const error = stepper.errorNorm(y, taken, tolerances.relative, tolerances.absolute);
      if (!(error <= 1)) {
        this.rejectedSteps += 1;
        h = taken * (Number.isFinite(error) ? Math.max(0.1, 0.9 * error ** -0.2) : 0.1);
        if (h < smallest) return Number.isFinite(error) ? 'stepVanished' : 'notFinite';
        continue;
      }
      // Step-size suggestion from the full step, also when it is shortened below.
      const factor = (Math.max(error, 1e-12) ** EXPONENT / this.errorBefore ** 0.04) / 0.9;
      const next = taken / Math.min(10, Math.max(0.2, factor));
      const tNew = taken === remaining ? tEnd : t + taken;

      let shortened = taken;
      let edge = false;
      let denseReady = false;
      if (system.pieceMargin(tNew, stepper.yEnd) < -1e-12) {
        stepper.writeDense(y, taken, scratch, 0);
        denseReady = true;
        // A step may start on the edge that the last one ended on, a rounding error to either side: look a little later.
        const clear = this.marginAt(system, t, taken, CLEAR_OF_EDGE);
        if (clear <= 0) {
          // Turned round on the edge itself: change the piece without moving.
          system.crossEdge(t, y);
          stepper.begin(system, t, y);
          edgesWithoutProgress += 1;
          if (edgesWithoutProgress > 20) return 'stepVanished';
          continue;
        }
        const theta = findRoot((x) => this.marginAt(system, t, taken, x), CLEAR_OF_EDGE, 1, 1e-12, clear);
        shortened = theta * taken;
        edge = true;
      }
      let fired = -1;
      for (let m = 0; m < monitorCount; m++) {
        const monitor = monitors[m]!;
        const before = this.monitorStart[m]!;
        const after = monitor.value(tNew, stepper.yEnd);
        if (!passes(before, after, monitor.direction)) continue;
        if (!denseReady) {
          stepper.writeDense(y, taken, scratch, 0);
          denseReady = true;
        }
        const theta = findRoot((x) => this.monitorAt(monitor, t, taken, x), 0, 1, 1e-13, before, after);
        if (theta * taken < shortened) {
          shortened = theta * taken;
          fired = m;
          edge = false;
        }
      }
      if (shortened < taken) {
        this.shortenedSteps += 1;
        if (shortened > smallest) {
          stepper.step(system, t, y, shortened);
          this.record(system, store, t, shortened);
          stepper.accept(y);
          this.acceptedSteps += 1;
          edgesWithoutProgress = 0;
        } else {
          edgesWithoutProgress += 1;
          if (edgesWithoutProgress > 20) return 'stepVanished';
        }
        this.t = t + shortened;
        h = Math.max(next, shortened);
      } else {
        this.record(system, store, t, taken);
        stepper.accept(y);
        this.acceptedSteps += 1;
        edgesWithoutProgress = 0;
        this.t = tNew;
        this.errorBefore = Math.max(error, 1e-4);
        // A step cut to fit the end says nothing against the longer step before it.
        h = taken === h ? next : Math.max(next, h);
      }
      this.suggestion = h;
      if (edge) {
        system.crossEdge(this.t, y);
        stepper.begin(system, this.t, y);
      }
      for (let m = 0; m < monitorCount; m++) this.monitorStart[m] = monitors[m]!.value(this.t, y);
      this.spent = null;
      if (fired >= 0) {
        this.firedMonitor = fired;
        this.spent = monitors[fired]!;
        return 'event';
      }
    }
    return 'reached';
  }

  private record(system: OdeSystem, store: StepStore | null, t: number, h: number): void {
    if (store === null) return;
    const offset = store.append(t, h, system.piece());
    if (store.dense) this.stepper.writeDense(this.y, h, store.raw, offset);
  }

  private marginAt(system: OdeSystem, t: number, h: number, theta: number): number {
    interpolate(this.scratch, 0, this.y.length, theta, this.probe);
    return system.pieceMargin(t + theta * h, this.probe);
  }

  private monitorAt(monitor: Monitor, t: number, h: number, theta: number): number {
    interpolate(this.scratch, 0, this.y.length, theta, this.probe);
    return monitor.value(t + theta * h, this.probe);
  }

  /** A first step small enough for the fastest component: a hundredth of |y| + atol over |f|. */
  private firstStep(tEnd: number): number {
    let size = 0;
    let speed = 0;
    for (let i = 0; i < this.y.length; i++) {
      const scale = this.tolerances.absolute[i]! + this.tolerances.relative * Math.abs(this.y[i]!);
      size += (this.y[i]! / scale) ** 2;
      speed += (this.stepper.slope[i]! / scale) ** 2;
    }
    const guess = size > 1e-10 && speed > 1e-10 ? 0.01 * Math.sqrt(size / speed) : 1e-6;
    return Math.min(guess, 0.1 * (tEnd - this.t), this.tolerances.longestStep);
  }
}

function passes(before: number, after: number, direction: -1 | 0 | 1): boolean {
  const rising = before < 0 && after >= 0;
  const falling = before > 0 && after <= 0;
  return (rising && direction >= 0) || (falling && direction <= 0);
}

/**
 * Takes the steps `from` (inclusive) to `to` (exclusive) of a held sequence again, with their lengths and pieces, from
 * (t, y) in place. No step-size control, no event location: the result is a smooth function of the state and of the
 * system's parameters, fit for differencing. Units are the system's own. A NaN runs through to the result.
 */
export function replaySteps(
  system: OdeSystem,
  stepper: DormandPrinceStepper,
  steps: StepStore,
  from: number,
  to: number,
  y: Float64Array,
): void {
  let piece = -1;
  for (let i = from; i < to; i++) {
    const t = steps.timeOf(i);
    const code = steps.pieceOf(i);
    if (code !== piece) {
      system.setPiece(code);
      stepper.begin(system, t, y);
      piece = code;
    }
    stepper.step(system, t, y, steps.lengthOf(i));
    stepper.accept(y);
  }
}
