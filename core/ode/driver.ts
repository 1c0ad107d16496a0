/**
 * The one driver of the integration: step-size control, exact phase ends, edges of smooth pieces, event location,
 * counts and guards. Knows nothing of rockets.
 *
 * Semantics of events:
 * 1. A known time is an exact stop: `advanceTo(tEnd)` ends with t equal to tEnd, bit for bit.
 * 2. A monitor fires when its value passes through zero in its direction within a step, also when it comes back within
 *    the same step. The earliest wins. The step is taken again so that it ends at the root; the state there is a
 *    Runge-Kutta result, not an interpolated one.
 * 3. Of those that pass at one place the lowest index fires; each of the others fires in the next call, at the same t,
 *    unless a jump of the state in between has put its value back before zero or it is no longer watched.
 * 4. A monitor that is zero at the start, or that has just fired, does not fire until it has left zero.
 * 5. At an edge of a smooth piece the step is likewise taken again to end on the edge, and the piece changes there.
 * A passage and return so short or so shallow that neither the middle of the step nor the nearest point of a parabola
 * falls into it goes unseen.
 *
 * Step-size control: Hairer, Nørsett, Wanner I, section II.4 and the program DOPRI5 (PI controller, beta 0.04).
 */
import type { StepStore } from './dense.ts';
import { NOT_IN_STEP, passes, PassedMonitors, StepSearch, type Monitor } from './events.ts';
import { SixStepper } from './sixStepper.ts';
import { DormandPrinceStepper } from './stepper.ts';
import type { OdeSystem } from './system.ts';
import { checkTolerances, type Tolerances } from './tolerances.ts';

export type { Monitor } from './events.ts';
export { replaySteps } from './replay.ts';
export type { Tolerances } from './tolerances.ts';

export type AdvanceCode = 'reached' | 'event' | 'notFinite' | 'stepVanished' | 'tooManySteps';

const BETA = 0.04;
const EXPONENT = 0.2 - 0.75 * BETA;
/** An error smaller than 1e-4 says no more than that one. */
const LEAST_LOG_ERROR = Math.log(1e-4);
/** Passages this close together, as a share of the step, are at one place; each is good to a quarter of it. */
const SAME_PLACE = 4e-13;
/** What ends this little before the end of a step ends with it. */
const SLIVER = 1e-12;
/** Changes of the piece without getting on, after which the field is taken to push against an edge from both sides. */
const MOST_IDLE_CROSSINGS = 20;

/**
 * Carries a solution on from where it stands: `start`, then `advanceTo` as often as wanted, with `restart` after jumps.
 * Reused: allocates when made, and at events and edges alone.
 */
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
  /** Natural logarithm of the last step's error: one logarithm a step is cheaper than two powers. */
  private logErrorBefore = LEAST_LOG_ERROR;
  private readonly tolerances: Tolerances;
  private readonly search: StepSearch;
  private readonly passed = new PassedMonitors();
  /** Of each monitor: value at the start and the end of the step, share of the step at which it passes zero. */
  private monitorStart = new Float64Array(8);
  private monitorEnd = new Float64Array(8);
  private passages = new Float64Array(8);
  private marginStart = 0;
  private marginEnd = 0;
  /** Share of the step at which the frozen piece is left. */
  private exit = NOT_IN_STEP;

  /** Throws RangeError, naming the entry, when the tolerances do not fit the dimension or are not positive. */
  constructor(dimension: number, tolerances: Tolerances) {
    checkTolerances(dimension, tolerances);
    this.stepper = dimension === 6 ? new SixStepper() : new DormandPrinceStepper(dimension);
    this.y = new Float64Array(dimension);
    this.tolerances = tolerances;
    this.search = new StepSearch(dimension);
  }

  /**
   * Puts the solution at (t, y), chooses the piece and forgets counts, events and step size. Units are the system's own.
   * Throws RangeError when t is not finite or the system or y is not of the driver's dimension.
   */
  start(system: OdeSystem, t: number, y: Float64Array, firstStep = 0): void {
    const size = this.y.length;
    if (system.dimension !== size) {
      throw new RangeError(`Driver.start: the system has ${system.dimension} components, the driver ${size}`);
    }
    if (y.length !== size) throw new RangeError(`Driver.start: y has ${y.length} entries, not ${size}`);
    if (!Number.isFinite(t)) throw new RangeError(`Driver.start: t is ${t}; it must be finite`);
    this.acceptedSteps = 0;
    this.rejectedSteps = 0;
    this.shortenedSteps = 0;
    this.suggestion = firstStep;
    this.t = t;
    this.y.set(y);
    this.passed.clear();
    this.restart(system);
  }

  /** After a jump of the state or of the right-hand side: chooses the piece and evaluates the slope anew. Unitless. */
  restart(system: OdeSystem): void {
    system.choosePiece(this.t, this.y);
    this.stepper.begin(system, this.t, this.y);
    this.logErrorBefore = LEAST_LOG_ERROR;
  }

  /**
   * Carries the solution to exactly tEnd, or to the first event of `monitors`. Accepted steps are appended to `store`
   * when given. Returns why it stopped; on a numerical failure t and y are the last good ones. tEnd in the system's
   * unit of time; throws RangeError when it is before t or not finite.
   */
  advanceTo(
    system: OdeSystem,
    tEnd: number,
    monitors: readonly Monitor[],
    store: StepStore | null,
  ): AdvanceCode {
    if (!(tEnd >= this.t && tEnd < Number.POSITIVE_INFINITY)) {
      throw new RangeError(`Driver.advanceTo: tEnd is ${tEnd}; it must be finite and not before ${this.t}`);
    }
    const { stepper, y, tolerances } = this;
    if (!this.beginWatch(system, monitors)) return 'notFinite';
    this.firedMonitor = this.passed.takeWaiting(monitors);
    if (this.firedMonitor >= 0) return 'event';
    let h = this.suggestion > 0 ? this.suggestion : this.firstStep(tEnd);
    let idleCrossings = 0;
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
      const tNew = taken === remaining ? tEnd : t + taken;
      stepper.step(system, t, y, taken);
      let error = stepper.errorNorm(y, taken, tolerances.relative, tolerances.absolute);
      if (error <= 1 && !this.look(system, monitors, taken, tNew)) error = Number.NaN;
      if (!(error <= 1)) {
        this.rejectedSteps += 1;
        h = taken * (Number.isFinite(error) ? Math.max(0.1, 0.9 * error ** -0.2) : 0.1);
        if (h < smallest) return Number.isFinite(error) ? 'stepVanished' : 'notFinite';
        continue;
      }
      if (this.exit === 0) {
        // Turned round on the edge itself: change the piece without moving.
        idleCrossings += 1;
        if (idleCrossings > MOST_IDLE_CROSSINGS) return 'stepVanished';
        this.cross(system);
        continue;
      }
      // Step-size suggestion from the full step, also when it is shortened below.
      const logError = Math.log(Math.max(error, 1e-12));
      const factor = Math.exp(EXPONENT * logError - BETA * this.logErrorBefore) / 0.9;
      const next = taken / Math.min(10, Math.max(0.2, factor));

      let stop = this.exit;
      let first = -1;
      for (let m = 0; m < monitors.length; m++) {
        const passage = this.passages[m]!;
        if (passage === NOT_IN_STEP || passage > (first < 0 ? stop : stop - SAME_PLACE)) continue;
        stop = passage;
        first = m;
      }
      const landed = stop !== NOT_IN_STEP;
      const edge = landed && first < 0;
      if (stop < 1 - SLIVER) {
        this.shortenedSteps += 1;
        const shortened = stop * taken;
        if (shortened > smallest) {
          stepper.step(system, t, y, shortened);
          this.record(system, store, t, shortened);
          stepper.accept(y);
          this.acceptedSteps += 1;
          idleCrossings = 0;
        } else if (edge) {
          idleCrossings += 1;
          if (idleCrossings > MOST_IDLE_CROSSINGS) return 'stepVanished';
        }
        this.t = t + shortened;
        h = Math.max(next, shortened);
      } else {
        this.record(system, store, t, taken);
        stepper.accept(y);
        this.acceptedSteps += 1;
        idleCrossings = 0;
        this.t = tNew;
        this.logErrorBefore = Math.max(logError, LEAST_LOG_ERROR);
        // A step cut to fit the end says nothing against the longer step before it.
        h = taken === h ? next : Math.max(next, h);
      }
      this.suggestion = h;
      if (edge) this.cross(system);
      if (landed) first = this.land(monitors, first, stop);
      else this.marginStart = this.marginEnd;
      if (first >= 0) {
        this.firedMonitor = first;
        return 'event';
      }
      if (landed) {
        if (!this.beginWatch(system, monitors)) return 'notFinite';
      } else {
        for (let m = 0; m < monitors.length; m++) {
          this.monitorStart[m] = this.passed.startValue(monitors[m]!, this.monitorEnd[m]!);
        }
      }
    }
    return 'reached';
  }

  /** Values of margin and monitors at the start of a step; false when one is not a number. */
  private beginWatch(system: OdeSystem, monitors: readonly Monitor[]): boolean {
    const count = monitors.length;
    if (count > this.monitorStart.length) {
      this.monitorStart = new Float64Array(count);
      this.monitorEnd = new Float64Array(count);
      this.passages = new Float64Array(count);
    }
    this.passed.keepOnly(monitors);
    this.marginStart = system.pieceMargin(this.t, this.y);
    let numbers = !Number.isNaN(this.marginStart);
    for (let m = 0; m < count; m++) {
      const value = monitors[m]!.value(this.t, this.y);
      this.monitorStart[m] = this.passed.startValue(monitors[m]!, value);
      if (Number.isNaN(value)) numbers = false;
    }
    return numbers;
  }

  /** Looks for exits and passages in the step just tried; false when a value is not a number. */
  private look(system: OdeSystem, monitors: readonly Monitor[], h: number, tNew: number): boolean {
    const { stepper, y, search } = this;
    this.exit = NOT_IN_STEP;
    this.marginEnd = system.pieceMargin(tNew, stepper.yEnd);
    if (Number.isNaN(this.marginEnd)) return false;
    const bounded = this.marginEnd < Number.POSITIVE_INFINITY;
    if (!bounded && monitors.length === 0) return true;
    search.load(stepper, this.t, y, h);
    if (bounded) {
      this.exit = search.firstExit(system, this.marginStart, this.marginEnd);
      if (Number.isNaN(this.exit)) return false;
    }
    for (let m = 0; m < monitors.length; m++) {
      const monitor = monitors[m]!;
      const after = monitor.value(tNew, stepper.yEnd);
      if (Number.isNaN(after)) return false;
      this.monitorEnd[m] = after;
      const passage = search.firstPassage(monitor, this.monitorStart[m]!, after);
      if (Number.isNaN(passage)) return false;
      this.passages[m] = passage;
    }
    return true;
  }

  /**
   * Notes every monitor that has passed zero where a step was made to end, by the interpolant or by the state itself, and
   * returns the index of the one that fires: `first` if there is one, else the lowest.
   */
  private land(monitors: readonly Monitor[], first: number, stop: number): number {
    let fires = first;
    for (let m = 0; m < monitors.length; m++) {
      const monitor = monitors[m]!;
      const before = this.monitorStart[m]!;
      const now = monitor.value(this.t, this.y);
      const here = this.passages[m]! <= stop + SAME_PLACE || passes(before, now, monitor.direction);
      if (!here) continue;
      if (fires < 0) fires = m;
      this.passed.add(monitor, before, this.monitorEnd[m]!, now, m !== fires);
    }
    return fires;
  }

  private cross(system: OdeSystem): void {
    system.crossEdge(this.t, this.y);
    this.stepper.begin(system, this.t, this.y);
    this.marginStart = system.pieceMargin(this.t, this.y);
  }

  private record(system: OdeSystem, store: StepStore | null, t: number, h: number): void {
    if (store === null) return;
    const offset = store.append(t, h, system.piece());
    if (store.dense) this.stepper.writeDense(this.y, h, store.raw, offset);
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
    // Zero where the speed has overflowed: any step will do then, as long as it is one.
    return Math.min(guess > 0 ? guess : 1e-6, 0.1 * (tEnd - this.t), this.tolerances.longestStep);
  }
}
