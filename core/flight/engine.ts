/**
 * Flies a compiled study. One engine flies thousands of times without allocating: first with step-size control, keeping
 * the steps; then, for derivatives, over the same steps from the first segment that a changed number acts on.
 */
import type { SequenceEvent } from '../contract/sequence.ts';
import { SOLVE_ACCURACY, type Accuracy } from './accuracy.ts';
import { Driver, replaySteps, type Monitor } from '../ode/driver.ts';
import type { StepObserver } from '../ode/replay.ts';
import { StepStore } from '../ode/dense.ts';
import { AZIMUTH, PAYLOAD, type CompiledStudy, type Parameter } from './compile.ts';
import { closeHeld, closeUnknowns, newClosing, type Closing } from './closing.ts';
import { failureSentence, MOST_STEPS, type FlightCode, type FlightStatus } from './flightStatus.ts';
import { launchFrame } from './launch.ts';
import { landStep, stretchSteps } from './reflight.ts';
import { Motion } from './motion.ts';
import type { LaunchFrame, SteeringLaw } from './steering/law.ts';
import { PlanError, type FlightPlan } from './planTypes.ts';
import { noDrag } from './planSegment.ts';
import { spins } from './spin.ts';
import { SpinJumps } from './spinJumps.ts';
import { AHEAD, StateWatch, type Found } from './stateWatch.ts';
import { endMass_kg, sameOrder, TimedPlans } from './timed.ts';
import { VerticalLaw } from './steering/vertical.ts';

const LONGEST_STEP_s = 60;
/** Largest miss of an unknown with which a flight counts, s or a share. */
const CLOSED = 1e-6;
const NOTHING: Found = { kind: 'none' };
const FLOWN: FlightStatus = { code: 'flown', message: 'Flown to insertion.', time_s: Number.NaN };
/** Segments planned at once where nothing has been found for a while. */
const FURTHER = 6;
/** The ground gives way this far before a flight counts as fallen: it starts on it. */
const GROUND_SLACK_m = 1;

/** Flies one compiled study again and again; SI throughout. See the top of the file. */
export class FlightEngine {
  readonly compiled: CompiledStudy;
  readonly motion: Motion;
  readonly driver: Driver;
  /** The plan behind the state in `end`: that of the last flight, or of the last one over held steps. */
  endPlan: FlightPlan;
  /** State at the end of the last flight: inertial position (m), velocity (m/s), and the ledger (m/s) if kept. */
  readonly end: Float64Array;
  /** Mission time of that state, s: of the last flight that came to its end, or of the last one over held steps. */
  endTime_s = Number.NaN;
  /** Steps of the last controlled flight. */
  readonly steps: StepStore;
  /** State at the start of each segment in the last controlled flight, segment by segment. */
  segmentStates: Float64Array;
  /** First step of each segment; one more entry than segments. */
  segmentSteps: Int32Array;
  /** Segment at which the last flight that was `flown` ended. */
  reached = 0;
  /** The plan in hand; open while a flight with state triggers has it made only as far as it comes. */
  private current: FlightPlan;
  status: FlightStatus = { code: 'notFinite', message: 'not flown yet', time_s: Number.NaN };
  /** Controlled flights and flights over held steps so far. */
  flights = 0;
  reflights = 0;
  /** Sees the steps of flights over held steps; null when nobody looks. */
  observer: StepObserver | null = null;
  private readonly laws: (SteeringLaw | null)[];
  private readonly first: number;
  private readonly monitors: readonly Monitor[];
  /** Null in studies without state triggers: their plan stands before the flight. */
  private readonly watch: StateWatch | null;
  private readonly work: Float64Array;
  private readonly from: Float64Array;
  /** What flights must bring to agree with themselves, from flight to flight; null when there is nothing. */
  private closing: Closing | null;
  /** Whether its Jacobian is that of the last flight's held steps. */
  private closedOver = false;
  /** The plan of the last flight over held steps. */
  private shifted: FlightPlan;
  private readonly timed: TimedPlans;
  private readonly longestLead_s: number;
  /** Null in studies where no body parts from a turning stack: there nothing of it costs. */
  private readonly jumps: SpinJumps | null;
  private readonly vertical = new VerticalLaw();
  private launch: LaunchFrame;
  private launchAzimuth_rad: number;

  constructor(compiled: CompiledStudy, accuracy: Accuracy = SOLVE_ACCURACY, recording = false) {
    this.compiled = compiled;
    this.motion = new Motion(compiled.setting, recording, compiled.holds);
    const size = this.motion.dimension;
    const absolute = new Float64Array(size).fill(accuracy.speed_mps);
    absolute.fill(accuracy.position_m, 0, 3);
    // A gram of propellant is worth less than a millimetre.
    if (compiled.holds) absolute[size - 1] = accuracy.position_m;
    this.driver = new Driver(size, {
      relative: accuracy.relative,
      absolute,
      longestStep: LONGEST_STEP_s,
      mostSteps: MOST_STEPS,
    });
    this.current = compiled.plan;
    this.endPlan = compiled.plan;
    this.timed = new TimedPlans(compiled);
    this.longestLead_s = longestLead_s(compiled.study.sequence.events);
    const { segments } = compiled.plan;
    this.end = new Float64Array(size);
    this.closing = this.newClosing();
    this.shifted = compiled.plan;
    this.work = new Float64Array(size);
    this.from = new Float64Array(size);
    this.jumps = compiled.bodies.some(spins) ? new SpinJumps(this.motion, size) : null;
    this.steps = new StepStore(size, recording);
    this.segmentStates = new Float64Array(size * segments.length);
    this.segmentSteps = new Int32Array(segments.length + 1);
    this.laws = compiled.makeLaws();
    this.first = segments.findIndex((segment) => !segment.held);
    this.launchAzimuth_rad = compiled.parameters[AZIMUTH]!.value;
    this.launch = launchFrame(compiled.site, this.launchAzimuth_rad);
    this.vertical.start(compiled.plan.release_s, this.work, this.launch);
    const ground_m = Math.min(0, compiled.study.site.height_m) - GROUND_SLACK_m;
    const { figure } = compiled.setting;
    this.monitors = [{ direction: -1, value: (_t, y) => figure.height_m(y[0]!, y[1]!, y[2]!) - ground_m }];
    this.watch = compiled.waits
      ? new StateWatch(compiled, this.timed.bodies, this.motion, this.monitors[0]!)
      : null;
  }

  /** The plan of the last flight: the study's own unless state triggers have come about, and then the one flown. s, kg, N */
  get plan(): FlightPlan {
    if (this.current.open && this.tryPlan(() => this.watch!.goOn()) === 'refused') {
      // What nobody flew cannot be planned either: it ends where the flight did.
      this.current = { ...this.current, open: false };
    }
    return this.current;
  }

  /**
   * Flies with step-size control under parameter values (SI, radians; order of `compiled.parameters`). The end state
   * stands in `end` when the code is `flown`; otherwise `status` says why not and when. With `until` the flight ends where
   * that segment begins, with `untilEvent` where the law of that event does.
   */
  fly(values: Float64Array, until = Number.POSITIVE_INFINITY, untilEvent = -1): FlightCode {
    if (this.closing === null) return this.flyOnce(values, until, untilEvent);
    this.closedOver = false;
    const warm = this.closing;
    let code = this.flyClosed(warm, values, until, untilEvent);
    // From where the last flight closed it may be too far.
    for (let again = 0; again < 2 && code !== 'flown'; again++) {
      this.closing = this.newClosing()!;
      if (again === 0 && warm.used) code = this.flyClosed(this.closing, values, until, untilEvent);
    }
    if (code !== null) return code;
    const { t } = this.driver;
    const message = `The flight at ${t.toFixed(1)} s does not agree with itself: ${this.disagreement()}.`;
    this.status = { code: 'cannotGoOn', time_s: t, message };
    return 'cannotGoOn';
  }

  /** Flies until the unknowns agree with the flight; null when they do not come to. */
  private flyClosed(
    closing: Closing,
    values: Float64Array,
    until: number,
    untilEvent: number,
  ): FlightCode | null {
    const watch = this.watch!;
    let code = 'notFinite' as FlightCode;
    const miss = (misses: Float64Array): void => {
      for (let again = 0; again < 2; again++) {
        watch.assume(closing.values);
        code = this.flyOnce(values, until, untilEvent);
        const blanks = closing.values.map((value, i) =>
          Number.isNaN(value) ? watch.timeOf(this.plan, i) : Number.NaN,
        );
        if (blanks.every(Number.isNaN)) break;
        blanks.forEach((time_s, i) => {
          if (!Number.isNaN(time_s)) closing.values[i] = time_s;
        });
      }
      watch.readMisses(this.plan, false, misses);
    };
    const worst = closeUnknowns(closing, miss);
    return worst > CLOSED ? null : code;
  }

  private newClosing(): Closing | null {
    const { unknowns, plan } = this.compiled;
    if (unknowns.length === 0) return null;
    return newClosing(
      unknowns,
      unknowns.map(({ kind, event }) => (kind === 'time' ? plan.dueTimes_s[event]! : 1)),
    );
  }

  private disagreement(): string {
    const { events } = this.compiled.study.sequence;
    const names = this.compiled.unknowns.map(({ kind, event }) =>
      kind === 'time'
        ? `no time of "${events[event]!.id}" fits the events that lead up to it`
        : `no throttle makes the limit of "${events[event]!.id}" the greatest dynamic pressure`,
    );
    return names.join(', or ');
  }

  private flyOnce(values: Float64Array, until: number, untilEvent: number): FlightCode {
    this.flights += 1;
    const { driver, motion, steps, compiled, watch } = this;
    if (!this.planFor(values)) return this.status.code;
    if (this.closing !== null && this.tryPlan(() => watch!.begin(this.first + AHEAD)) === 'refused')
      return this.status.code;
    this.readValues(values);
    steps.clear();
    this.jumps?.clear();
    const start_s = this.current.segments[this.first]!.start_s;
    this.work.fill(0);
    this.work.set(compiled.site.state);
    let law = this.beginSegment(this.first, values, this.work, null);
    driver.start(motion, start_s, this.work);
    const climb_mps2 = climbAcceleration_mps2(
      driver.stepper.slope,
      compiled.site.state,
      this.launch.up,
      motion.rotation_radps,
    );
    if (!(climb_mps2 > 0))
      return this.fail(Number.isNaN(climb_mps2) ? 'notFinite' : 'cannotLiftOff', start_s);
    let s = this.first;
    let begun = true;
    while (s < until) {
      if (s >= this.current.segments.length) {
        if (!this.current.open) break;
        if (this.tryPlan(() => watch!.goOn(s + FURTHER)) === 'refused') return this.status.code;
        continue;
      }
      const segment = this.current.segments[s]!;
      if (untilEvent >= 0 && segment.lawEvent === untilEvent) break;
      if (segment.arrangement < 0) {
        this.refuse(noDrag(segment.bodies.map((body) => compiled.bodies[body]!.id)));
        return this.status.code;
      }
      if (!begun) {
        this.jumps?.fly(s, segment, values[PAYLOAD]!, driver.t, driver.y);
        law = this.beginSegment(s, values, driver.y, law);
        driver.restart(motion);
      }
      this.segmentStates.set(driver.y, s * driver.y.length);
      this.segmentSteps[s] = steps.count;
      begun = false;
      if (watch === null) {
        const code = driver.advanceTo(motion, segment.end_s, this.monitors, steps);
        if (code !== 'reached') return this.fail(code === 'event' ? 'impact' : code, driver.t);
        s += 1;
        continue;
      }
      // What comes about where a segment starts changes that segment.
      const planned = this.tryPlan(() => watch.decide(this.current, s, driver.t, driver.y));
      if (planned === 'refused') return this.status.code;
      if (planned === 'new') continue;
      this.from.set(driver.y);
      if (this.closing !== null) watch.look(this.current, s, driver.t, driver.y);
      const jumped = watch.jumped(segment, driver.t, driver.y);
      let found: Found = jumped < 0 ? NOTHING : { kind: 'event', event: jumped };
      if (jumped < 0) {
        const code = driver.advanceTo(motion, segment.end_s, watch.monitors, steps);
        if (code === 'event') found = watch.foundBy(driver.firedMonitor);
        if (code !== 'reached' && found.kind === 'none')
          return this.fail(code === 'event' ? 'impact' : code, driver.t);
        watch.note(driver.t, driver.y);
      }
      const moved = driver.t > segment.start_s;
      const on = this.tryPlan(() => watch.carryOn(this.current, found, s, this.from, driver.t, driver.y));
      if (on === 'refused') return this.status.code;
      if (found.kind === 'none' || moved) s += 1;
    }
    this.segmentSteps[s] = steps.count;
    if (this.current.open || s < this.current.segments.length) {
      this.makeRoom(s + 1);
      this.segmentStates.set(driver.y, s * driver.y.length);
    } else if (watch !== null && !this.conclude(watch)) return this.status.code;
    this.end.set(driver.y);
    this.endPlan = this.plan;
    this.endTime_s = driver.t;
    this.reached = s;
    this.status = FLOWN;
    return 'flown';
  }

  /**
   * State (m, m/s) just before bodies part from a turning stack where a segment begins, in the last controlled flight or,
   * `again`, in the last one over held steps; null where nothing of the kind does. A view, overwritten by the next flight.
   */
  stateBeforeJump(segment: number, again = false): Float64Array | null {
    return this.jumps?.stateBefore(segment, again) ?? null;
  }

  /** Takes over a new plan if there is one; `refused`, with the status set, when there can be none. */
  private tryPlan(make: () => FlightPlan | null): 'same' | 'new' | 'refused' {
    try {
      const plan = make();
      if (plan === null) return 'same';
      this.current = plan;
    } catch (error) {
      this.refuse(error);
      return 'refused';
    }
    this.makeRoom(this.current.segments.length);
    return 'new';
  }

  /** Takes up the plan that the values' times of events give; false, with the status set, when there is none. */
  private planFor(values: Float64Array): boolean {
    const { compiled, watch } = this;
    try {
      this.current = this.timed.at(values);
    } catch (error) {
      if (!(error instanceof PlanError)) throw error;
      this.current = compiled.plan;
      this.status = {
        code: 'cannotGoOn',
        time_s: Number.NaN,
        message: `The sequence cannot be flown with these times. ${error.message}.`,
      };
      return false;
    }
    if (this.current !== compiled.plan) this.makeRoom(this.current.segments.length);
    watch?.reset(this.timed.happened_s);
    return true;
  }

  /** Room for the states and steps of so many segments. */
  private makeRoom(segments: number): void {
    const size = this.end.length;
    if (this.segmentSteps.length >= segments + 1) return;
    const room = Math.ceil(1.5 * segments);
    const states = new Float64Array(size * room);
    states.set(this.segmentStates);
    this.segmentStates = states;
    const firsts = new Int32Array(room + 1);
    firsts.set(this.segmentSteps);
    this.segmentSteps = firsts;
  }

  /** At the end of the plan nothing is waited for any more; false, with the status set, when that is no insertion. */
  private conclude(watch: StateWatch): boolean {
    const { brokenOff } = this.current;
    if (brokenOff !== null) return this.refuse(new PlanError(brokenOff.path, brokenOff.reason));
    try {
      this.current = watch.conclude(this.current);
    } catch (error) {
      return this.refuse(error);
    }
    return true;
  }

  /** The plan of the last flight; of one that broke off while it waited, with the pieces that it had set free. s, kg, N */
  planWithPieces(): FlightPlan {
    if (this.watch === null || this.status.code === 'flown') return this.plan;
    try {
      const plan = this.watch.soFar();
      return plan.segments.length === this.plan.segments.length ? plan : this.plan;
    } catch (error) {
      if (error instanceof PlanError) return this.plan;
      throw error;
    }
  }

  private refuse(error: unknown): false {
    if (!(error instanceof PlanError)) throw error;
    const { t } = this.driver;
    this.status = {
      code: 'cannotGoOn',
      time_s: t,
      message: `The sequence cannot go on at ${t.toFixed(1)} s. ${error.message}.`,
    };
    return false;
  }

  /** First segment of the last flight on which a parameter acts. Unitless. */
  firstSegmentOf(parameter: Parameter): number {
    if (this.watch === null && !this.timed.any) return parameter.firstSegment;
    if (parameter.event < 0) return this.first;
    if (parameter.kind === 'time') {
      // What leads up to the event moves with it.
      const moved_s = this.plan.eventTimes_s[parameter.event]! - this.longestLead_s;
      const touched = this.plan.segments.findIndex((segment) => segment.end_s >= moved_s);
      return Math.max(this.first, touched);
    }
    const own = this.plan.segments.findIndex((segment) => segment.lawEvent === parameter.event);
    return Math.max(this.first, own);
  }

  /**
   * Flies the last flight's steps again under other values, from segment `from` on, and leaves the state in `end`. A
   * smooth function of the values (SI, radians). `from` must be no later than the first segment on which any changed value acts.
   * False when a number is not finite, or when the flight with state triggers does not keep its order of events nearby:
   * the time of each is solved for anew, and what follows from it is planned and its steps are stretched alike.
   */
  refly(values: Float64Array, from: number): boolean {
    const { motion, steps, end } = this;
    const { segments } = this.plan;
    const { stepper } = this.driver;
    this.readValues(values);
    const size = end.length;
    for (let i = 0; i < size; i++) end[i] = this.segmentStates[from * size + i]!;
    let law: SteeringLaw | null = null;
    if (this.watch !== null) {
      this.timed.take(values);
      if (this.closing !== null) return this.reflyClosed(this.watch, this.closing, values);
    }
    this.reflights += 1;
    this.jumps?.beginAgain();
    this.endPlan = this.plan;
    if (this.watch === null && this.timed.any) {
      const moved = this.planBeside(values);
      if (moved === null) return false;
      if (moved !== this.plan) return this.reflyMoved(moved, values, from);
    }
    if (this.watch !== null) return this.reflyWatched(this.watch, values, from);
    for (let s = from; s < segments.length; s++) {
      if (s > from) this.jumps?.flyAgain(s, segments[s]!, values[PAYLOAD]!, end);
      law = this.beginSegment(s, values, end, law);
      replaySteps(
        motion,
        stepper,
        steps,
        this.segmentSteps[s]!,
        this.segmentSteps[s + 1]!,
        end,
        this.observer,
      );
    }
    this.endTime_s = segments[segments.length - 1]!.end_s;
    return Number.isFinite(end[0]! + end[3]!);
  }

  /** The held steps under a plan whose spans lie elsewhere in time or last otherwise. */
  private reflyMoved(moved: FlightPlan, values: Float64Array, from: number): boolean {
    const held = this.current;
    const { motion, steps, end } = this;
    const { stepper } = this.driver;
    let law: SteeringLaw | null = null;
    this.current = moved;
    try {
      for (let s = from; s < moved.segments.length; s++) {
        if (s > from) this.jumps?.flyAgain(s, moved.segments[s]!, values[PAYLOAD]!, end);
        law = this.beginSegment(s, values, end, law);
        const { start_s, end_s } = moved.segments[s]!;
        const own = held.segments[s]!;
        const first = this.segmentSteps[s]!;
        const after = this.segmentSteps[s + 1]!;
        if (start_s === own.start_s && end_s === own.end_s) {
          replaySteps(motion, stepper, steps, first, after, end, this.observer);
        } else {
          const stretch = (end_s - start_s) / (own.end_s - own.start_s);
          stretchSteps(motion, stepper, steps, first, after, start_s, stretch, end, this.observer);
        }
      }
    } finally {
      this.current = held;
    }
    this.endPlan = moved;
    this.endTime_s = moved.insertion_s;
    return Number.isFinite(end[0]! + end[3]!);
  }

  /** The plan that other times of events give, where it goes through the same spans; null where it does not. */
  private planBeside(values: Float64Array): FlightPlan | null {
    const moved = this.planOrNull(values);
    return moved !== null && sameOrder(this.plan, moved) ? moved : null;
  }

  private planOrNull(values: Float64Array): FlightPlan | null {
    try {
      return this.timed.at(values);
    } catch (error) {
      if (error instanceof PlanError) return null;
      throw error;
    }
  }

  /** Over held steps, the unknowns closed by Newton's method with the Jacobian of the last flight. */
  private reflyClosed(watch: StateWatch, closing: Closing, values: Float64Array): boolean {
    const flown = Float64Array.from(closing.values);
    const again = (out: Float64Array): boolean => {
      this.reflights += 1;
      watch.assume(closing.values);
      const { end, segmentStates, first } = this;
      for (let i = 0; i < end.length; i++) end[i] = segmentStates[first * end.length + i]!;
      if (!this.reflyWatched(watch, values, first)) return false;
      watch.readMisses(this.shifted, true, out);
      return true;
    };
    try {
      return closeHeld(closing, this.closedOver, again, () => (this.closedOver = true));
    } finally {
      closing.values.set(flown);
      watch.assume(flown);
    }
  }

  private reflyWatched(watch: StateWatch, values: Float64Array, from: number): boolean {
    const { motion, steps, end, plan: held } = this;
    if (!watch.beginShift(held, from)) return false;
    if (this.closing !== null || this.timed.any) {
      const begun = watch.shiftedPlan(from + AHEAD);
      if (begun === null) return false;
      this.current = begun;
    }
    let law: SteeringLaw | null = null;
    try {
      for (let s = from; s < held.segments.length; s++) {
        if (s >= this.current.segments.length && this.current.open) {
          const more = watch.shiftedPlan(s + FURTHER);
          if (more === null) return false;
          this.current = more;
        }
        const segment = this.current.segments[s];
        if (segment === undefined) return false;
        if (s > from) this.jumps?.flyAgain(s, segment, values[PAYLOAD]!, end);
        law = this.beginSegment(s, values, end, law);
        watch.enter(segment);
        this.from.set(end);
        if (this.closing !== null) {
          motion.setPiece(steps.pieceOf(this.segmentSteps[s]!));
          watch.lookAgain(s, segment.start_s, end);
        }
        const own = held.segments[s]!;
        const first = this.segmentSteps[s]!;
        const after = this.segmentSteps[s + 1]!;
        const stretch = (segment.end_s - segment.start_s) / (own.end_s - own.start_s);
        const found = watch.endOf(s);
        const last = found === null ? after : after - 1;
        if (last < first) return false;
        let t = stretchSteps(
          motion,
          this.driver.stepper,
          steps,
          first,
          last,
          segment.start_s,
          found === null ? stretch : 1,
          end,
          this.observer,
        );
        if (found !== null) {
          t = landStep(motion, this.driver.stepper, steps, last, t, end, found.monitor, this.observer);
          if (Number.isNaN(t)) return false;
        }
        const next = watch.shift(this.current, s, this.from, found === null ? segment.end_s : t, end);
        if (next === null) return false;
        this.current = next;
      }
      const whole = this.current.open ? watch.shiftedPlan() : this.current;
      if (whole?.segments.length !== held.segments.length) return false;
      this.current = whole;
      this.endTime_s = whole.insertion_s;
      this.endPlan = whole;
    } finally {
      this.shifted = this.current;
      this.current = held;
    }
    return Number.isFinite(end[0]! + end[3]!);
  }

  /** State (m, m/s) where a segment began in the last flight; a view, overwritten by the next flight. */
  stateAt(segment: number): Float64Array {
    const size = this.end.length;
    return this.segmentStates.subarray(segment * size, (segment + 1) * size);
  }

  /** Mass at the end of the flight with the payload that these values hold, kg. */
  endMass_kg(values: Float64Array): number {
    return endMass_kg(this.endPlan, values[PAYLOAD]!);
  }

  private readValues(values: Float64Array): void {
    for (const law of this.laws) if (law !== null) law.read(values);
    if (values[AZIMUTH] !== this.launchAzimuth_rad) {
      this.launchAzimuth_rad = values[AZIMUTH]!;
      this.launch = launchFrame(this.compiled.site, this.launchAzimuth_rad);
    }
  }

  /** Hands the segment to the equations of motion and starts its law when it has one of its own. */
  private beginSegment(
    index: number,
    values: Float64Array,
    y: Float64Array,
    law: SteeringLaw | null,
  ): SteeringLaw {
    const { compiled } = this;
    const segment = this.current.segments[index]!;
    let current = law ?? this.lawBefore(index);
    if (segment.lawEvent >= 0) {
      current = this.laws[segment.lawEvent]!;
      current.start(segment.start_s, y, this.launch);
    }
    this.motion.enter(segment, values[PAYLOAD]!, compiled.drags[segment.arrangement]!, current);
    return current;
  }

  /** The law in force when a segment begins: the last one that an earlier segment started, also while held down. */
  private lawBefore(index: number): SteeringLaw {
    const { segments } = this.current;
    for (let s = index - 1; s >= 0; s--) {
      const event = segments[s]!.lawEvent;
      if (event < 0) continue;
      const law = this.laws[event]!;
      // Flights over held steps may have started it elsewhere since.
      law.start(segments[s]!.start_s, segments[s]!.held ? this.work : this.stateAt(s), this.launch);
      return law;
    }
    return this.vertical;
  }

  private fail(code: Exclude<FlightCode, 'flown' | 'cannotGoOn'>, time_s: number): FlightCode {
    this.status = { code, time_s, message: failureSentence(code, time_s) };
    return code;
  }
}

/** The longest that an event leads up to another by, all leads taken together, s. */
function longestLead_s(events: readonly SequenceEvent[]): number {
  return events.reduce((sum, { trigger }) => {
    if (trigger.kind === 'before') return sum + trigger.lead_s;
    return trigger.kind === 'gap' ? sum + Math.max(0, -trigger.gap_s) : sum;
  }, 0);
}

/** Upward acceleration against the turning ground, m/s², from an inertial state derivative at a site at rest. */
function climbAcceleration_mps2(
  slope: Float64Array,
  site: Float64Array,
  up: Float64Array,
  spin_radps: number,
): number {
  const spin2 = spin_radps * spin_radps;
  return (
    (slope[3]! + spin2 * site[0]!) * up[0]! + (slope[4]! + spin2 * site[1]!) * up[1]! + slope[5]! * up[2]!
  );
}
