/**
 * Flies a compiled study. One engine flies thousands of times without allocating: first with step-size control, keeping
 * the steps; then, for derivatives, over the same steps from the first segment that a changed number acts on.
 */
import { Driver, replaySteps, type Monitor } from '../ode/driver.ts';
import { StepStore } from '../ode/dense.ts';
import { EARTH_ROTATION_radps } from '../constants/physical.ts';
import { AZIMUTH, PAYLOAD, type CompiledStudy, type Parameter } from './compile.ts';
import { launchFrame } from './launch.ts';
import { landStep, stretchSteps } from './reflight.ts';
import { LEDGER_SIZE, Motion, STATE_SIZE } from './motion.ts';
import type { LaunchFrame, SteeringLaw } from './steering/law.ts';
import { PlanError, type FlightPlan, type Segment } from './planTypes.ts';
import { StateWatch } from './stateWatch.ts';
import { VerticalLaw } from './steering/vertical.ts';

export type FlightCode =
  'flown' | 'cannotLiftOff' | 'impact' | 'cannotGoOn' | 'notFinite' | 'stepVanished' | 'tooManySteps';

export interface FlightStatus {
  readonly code: FlightCode;
  /** One sentence for people. */
  readonly message: string;
  /** Mission time reached, s. */
  readonly time_s: number;
}

/** How finely a flight is integrated: relative error a step, and the absolute errors of position (m) and speed (m/s). */
export interface Accuracy {
  readonly relative: number;
  readonly position_m: number;
  readonly speed_mps: number;
}

/** For solving: the steps are short enough that the payload is good to about a gram. */
export const SOLVE_ACCURACY: Accuracy = { relative: 1e-9, position_m: 1e-3, speed_mps: 1e-6 };
/** For the flight that is shown, stored and checked. */
export const RECORD_ACCURACY: Accuracy = { relative: 1e-11, position_m: 1e-4, speed_mps: 1e-8 };

const LONGEST_STEP_s = 60;
const MOST_STEPS = 20_000;
const FLOWN: FlightStatus = { code: 'flown', message: 'Flown to insertion.', time_s: Number.NaN };
/** The ground gives way this far before a flight counts as fallen: it starts on it. */
const GROUND_SLACK_m = 1;

/** Flies one compiled study again and again; SI throughout. See the top of the file. */
export class FlightEngine {
  readonly compiled: CompiledStudy;
  readonly motion: Motion;
  readonly driver: Driver;
  /** The plan of the last flight: the study's own unless state triggers have come about, and then the one flown. */
  plan: FlightPlan;
  /** State at the end of the last flight: inertial position (m), velocity (m/s), and the ledger (m/s) if kept. */
  readonly end: Float64Array;
  /** Steps of the last controlled flight. */
  readonly steps: StepStore;
  /** State at the start of each segment in the last controlled flight, segment by segment. */
  segmentStates: Float64Array;
  /** The same in the last flight over held steps, of the segments that it flew. */
  private reflownStates: Float64Array;
  /** First step of each segment; one more entry than segments. */
  segmentSteps: Int32Array;
  /** Segment at which the last flight that was `flown` ended. */
  reached = 0;
  status: FlightStatus = { code: 'notFinite', message: 'not flown yet', time_s: Number.NaN };
  /** Controlled flights and flights over held steps so far. */
  flights = 0;
  reflights = 0;
  /** Segment from which the last flight over held steps was flown. */
  private reflownFrom = 0;
  private readonly laws: (SteeringLaw | null)[];
  private readonly first: number;
  private readonly monitors: readonly Monitor[];
  /** Null in studies without state triggers: their plan stands before the flight. */
  private readonly watch: StateWatch | null;
  private readonly work: Float64Array;
  private readonly vertical = new VerticalLaw();
  private launch: LaunchFrame;
  private launchAzimuth_rad: number;

  constructor(compiled: CompiledStudy, accuracy: Accuracy = SOLVE_ACCURACY, recording = false) {
    this.compiled = compiled;
    const size = recording ? LEDGER_SIZE : STATE_SIZE;
    this.motion = new Motion(compiled.setting, recording);
    const absolute = new Float64Array(size).fill(accuracy.speed_mps);
    absolute.fill(accuracy.position_m, 0, 3);
    this.driver = new Driver(size, {
      relative: accuracy.relative,
      absolute,
      longestStep: LONGEST_STEP_s,
      mostSteps: MOST_STEPS,
    });
    this.plan = compiled.plan;
    const { segments } = compiled.plan;
    this.end = new Float64Array(size);
    this.work = new Float64Array(size);
    this.steps = new StepStore(size, recording);
    this.segmentStates = new Float64Array(size * segments.length);
    this.reflownStates = new Float64Array(size * segments.length);
    this.segmentSteps = new Int32Array(segments.length + 1);
    this.laws = compiled.makeLaws();
    this.first = segments.findIndex((segment) => !segment.held);
    this.launchAzimuth_rad = compiled.parameters[AZIMUTH]!.value;
    this.launch = launchFrame(compiled.site, this.launchAzimuth_rad);
    this.vertical.start(compiled.plan.release_s, this.work, this.launch);
    const ground_m = Math.min(0, compiled.study.site.height_m) - GROUND_SLACK_m;
    const { figure } = compiled.setting;
    this.monitors = [{ direction: -1, value: (_t, y) => figure.height_m(y[0]!, y[1]!, y[2]!) - ground_m }];
    this.watch = compiled.waits ? new StateWatch(compiled, this.motion, this.monitors[0]!) : null;
  }

  /**
   * Flies with step-size control under parameter values (SI, radians; order of `compiled.parameters`). The end state
   * stands in `end` when the code is `flown`; otherwise `status` says why not and when. With `until` the flight ends where
   * that segment begins, with `untilEvent` where the law of that event does.
   */
  fly(values: Float64Array, until = Number.POSITIVE_INFINITY, untilEvent = -1): FlightCode {
    this.flights += 1;
    const { driver, motion, steps, compiled, watch } = this;
    this.plan = compiled.plan;
    watch?.reset();
    const { segments } = compiled.plan;
    this.readValues(values);
    steps.clear();
    const start_s = segments[this.first]!.start_s;
    this.work.fill(0);
    this.work.set(compiled.site.state);
    let law = this.beginSegment(this.first, values, this.work, null);
    driver.start(motion, start_s, this.work);
    const climb_mps2 = climbAcceleration_mps2(driver.stepper.slope, compiled.site.state, this.launch.up);
    if (!(climb_mps2 > 0))
      return this.fail(Number.isNaN(climb_mps2) ? 'notFinite' : 'cannotLiftOff', start_s);
    let s = this.first;
    let begun = true;
    while (s < until && s < this.plan.segments.length) {
      const segment = this.plan.segments[s]!;
      if (untilEvent >= 0 && segment.lawEvent === untilEvent) break;
      if (!begun) {
        law = this.beginSegment(s, values, driver.y, law);
        driver.restart(motion);
      }
      this.segmentStates.set(driver.y, s * driver.y.length);
      this.segmentSteps[s] = steps.count;
      begun = false;
      let event = watch === null ? -1 : watch.jumped(segment, driver.t, driver.y);
      if (event < 0) {
        const monitors = watch === null ? this.monitors : watch.monitors;
        const code = driver.advanceTo(motion, segment.end_s, monitors, steps);
        if (watch !== null && code === 'event') event = watch.eventOf(driver.firedMonitor);
        if (code !== 'reached' && event < 0) return this.fail(code === 'event' ? 'impact' : code, driver.t);
        watch?.note(driver.t, driver.y);
      }
      const moved = driver.t > segment.start_s;
      if (event >= 0 && !this.carryOn(event, segment, s)) return this.status.code;
      // What comes about where a segment starts changes that segment.
      if (event < 0 || moved) s += 1;
    }
    this.segmentSteps[s] = steps.count;
    if (s < this.plan.segments.length) this.segmentStates.set(driver.y, s * driver.y.length);
    else if (watch !== null && !this.conclude(watch)) return this.status.code;
    this.end.set(driver.y);
    this.reached = s;
    this.status = FLOWN;
    return 'flown';
  }

  /** Plans on from a state trigger that has just come about; false, with the status set, when that cannot be. */
  private carryOn(event: number, segment: Segment, index: number): boolean {
    const { driver, watch } = this;
    try {
      this.plan = watch!.carryOn(this.plan, event, segment.start_s, driver.t, index);
    } catch (error) {
      return this.refuse(error);
    }
    const size = driver.y.length;
    const room = this.plan.segments.length;
    if (this.segmentSteps.length < room + 1) {
      const states = new Float64Array(size * room);
      states.set(this.segmentStates);
      this.segmentStates = states;
      this.reflownStates = new Float64Array(size * room);
      const firsts = new Int32Array(room + 1);
      firsts.set(this.segmentSteps);
      this.segmentSteps = firsts;
    }
    return true;
  }

  /** At the end of the plan nothing is waited for any more; false, with the status set, when that is no insertion. */
  private conclude(watch: StateWatch): boolean {
    if (this.plan.brokenOff !== null) return this.refuse(this.plan.brokenOff);
    try {
      this.plan = watch.conclude(this.plan);
    } catch (error) {
      return this.refuse(error);
    }
    return true;
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
    if (this.watch === null) return parameter.firstSegment;
    if (parameter.event < 0) return this.first;
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
    this.reflights += 1;
    this.reflownFrom = from;
    const { motion, steps, end } = this;
    const { segments } = this.plan;
    const { stepper } = this.driver;
    this.readValues(values);
    const size = end.length;
    for (let i = 0; i < size; i++) end[i] = this.segmentStates[from * size + i]!;
    let law: SteeringLaw | null = null;
    if (this.watch !== null) return this.reflyWatched(this.watch, values, from);
    for (let s = from; s < segments.length; s++) {
      this.reflownStates.set(end, s * size);
      law = this.beginSegment(s, values, end, law);
      replaySteps(motion, stepper, steps, this.segmentSteps[s]!, this.segmentSteps[s + 1]!, end);
    }
    return Number.isFinite(end[0]! + end[3]!);
  }

  private reflyWatched(watch: StateWatch, values: Float64Array, from: number): boolean {
    const { motion, steps, end, plan: held } = this;
    if (!watch.beginShift(held, from)) return false;
    let law: SteeringLaw | null = null;
    try {
      for (let s = from; s < held.segments.length; s++) {
        this.reflownStates.set(end, s * end.length);
        law = this.beginSegment(s, values, end, law);
        const segment = this.plan.segments[s]!;
        const own = held.segments[s]!;
        const first = this.segmentSteps[s]!;
        const after = this.segmentSteps[s + 1]!;
        const stretch = (segment.end_s - segment.start_s) / (own.end_s - own.start_s);
        const event = watch.endOf(s);
        const last = event < 0 ? after : after - 1;
        if (last < first) return false;
        const t = stretchSteps(
          motion,
          this.driver.stepper,
          steps,
          first,
          last,
          segment.start_s,
          event < 0 ? stretch : 1,
          end,
        );
        if (event < 0) continue;
        const ends_s = landStep(motion, this.driver.stepper, steps, last, t, end, watch.monitorOf(event));
        if (Number.isNaN(ends_s)) return false;
        const next = watch.shift(event, ends_s);
        if (next?.segments.length !== held.segments.length) return false;
        this.plan = next;
      }
    } finally {
      this.plan = held;
    }
    return Number.isFinite(end[0]! + end[3]!);
  }

  /** State (m, m/s) where a segment began in the last flight; a view, overwritten by the next flight. */
  stateAt(segment: number): Float64Array {
    const size = this.end.length;
    return this.segmentStates.subarray(segment * size, (segment + 1) * size);
  }

  /**
   * State (m, m/s) where a segment began in the last flight over held steps; a view, overwritten by the next one. Before the
   * segment from which that flight was flown again it is the controlled flight's.
   */
  reflownAt(segment: number): Float64Array {
    const size = this.end.length;
    const states = segment < this.reflownFrom ? this.segmentStates : this.reflownStates;
    return states.subarray(segment * size, (segment + 1) * size);
  }

  /** Mass at the end of the flight with the payload that these values hold, kg. */
  endMass_kg(values: Float64Array): number {
    const { segments } = this.plan;
    const last = segments[segments.length - 1]!;
    const tau = last.end_s - last.start_s;
    return last.mass_kg + values[PAYLOAD]! - tau * (last.flow_kgps + 0.5 * tau * last.flowRate_kgps2);
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
    const segment = this.plan.segments[index]!;
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
    const { segments } = this.plan;
    for (let s = index - 1; s >= 0; s--) {
      const event = segments[s]!.lawEvent;
      if (event < 0) continue;
      const law = this.laws[event]!;
      if (segments[s]!.held) {
        law.start(segments[s]!.start_s, this.work, this.launch);
      }
      return law;
    }
    return this.vertical;
  }

  private fail(code: Exclude<FlightCode, 'flown' | 'cannotGoOn'>, time_s: number): FlightCode {
    this.status = { code, time_s, message: failureSentence(code, time_s) };
    return code;
  }
}

/** Upward acceleration against the turning ground, m/s², from an inertial state derivative at a site at rest. */
function climbAcceleration_mps2(slope: Float64Array, site: Float64Array, up: Float64Array): number {
  const spin2 = EARTH_ROTATION_radps * EARTH_ROTATION_radps;
  return (
    (slope[3]! + spin2 * site[0]!) * up[0]! + (slope[4]! + spin2 * site[1]!) * up[1]! + slope[5]! * up[2]!
  );
}

function failureSentence(code: Exclude<FlightCode, 'flown' | 'cannotGoOn'>, time_s: number): string {
  const at = `at ${time_s.toFixed(1)} s`;
  switch (code) {
    case 'cannotLiftOff':
      return `The vehicle cannot lift off: ${at}, when it is released, its thrust is less than its weight.`;
    case 'impact':
      return `The vehicle falls back to the ground ${at}.`;
    case 'notFinite':
      return `The flight could not be computed beyond ${time_s.toFixed(1)} s: a quantity is no longer a number.`;
    case 'stepVanished':
      return `The flight could not be computed beyond ${time_s.toFixed(1)} s: the time step shrank to nothing.`;
    case 'tooManySteps':
      return `The flight could not be computed beyond ${time_s.toFixed(1)} s: it took more than ${MOST_STEPS} steps.`;
  }
}
