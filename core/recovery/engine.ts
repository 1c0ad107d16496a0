/**
 * Flies a body home again and again: with step-size control, keeping the steps; then, for derivatives, over the same steps,
 * stretched to the changed lengths of the legs, from the first leg that a changed number acts on.
 */
import { EARTH_ROTATION_radps } from '../constants/physical.ts';
import { inertialToEarthFixed, localBasis } from '../earth/frames.ts';
import type { Accuracy } from '../flight/accuracy.ts';
import { Motion, STATE_SIZE } from '../flight/motion.ts';
import type { Segment } from '../flight/planTypes.ts';
import { landStep, stretchSteps } from '../flight/reflight.ts';
import { FixedLaw } from '../flight/steering/fixed.ts';
import type { SteeringLaw } from '../flight/steering/law.ts';
import { StepStore } from '../ode/dense.ts';
import { Driver, type Monitor } from '../ode/driver.ts';
import type { CompiledReturn, ReturnRole } from './compile.ts';
import { Edges, type EdgeKind, type MissedEdge } from './edges.ts';
import { quietLeg, type Leg, type LegEnd } from './legs.ts';
import { PeakWatch } from './peaks.ts';
import type { ReturnStart } from './start.ts';
import { LandingLaw } from './steering/landing.ts';
import { RetrogradeLaw } from './steering/retrograde.ts';
import { TurnLaw } from './steering/turn.ts';

export type ReturnCode =
  | 'flown'
  /** It meets the ground before its landing burn. */
  | 'impact'
  /** What a leg waits for never comes about, or had come about before a burn that it is to end. */
  | 'neverComes'
  /** Its burn against the air has stopped the fall. */
  | 'stopped'
  /** Its propellant and structure together are used up. */
  | 'nothingLeft'
  | 'notFinite'
  | 'stepVanished'
  | 'tooManySteps';

/** A leg that waits is given up after this, s. */
const LONGEST_WAIT_s = 6000;
const LONGEST_STEP_s = 30;
/** A burn that waits for its end leaves this share of the bare mass. */
const LEAST_LEFT = 0.25;
const MOST_STEPS = 5000;
const NO_PROPELLANT: readonly number[] = [];
const NO_EVENTS: readonly number[] = [];

/** Flies one return; SI throughout. See the top of the file. */
export class ReturnEngine {
  readonly compiled: CompiledReturn;
  readonly motion: Motion;
  readonly driver: Driver;
  readonly steps: StepStore;
  /** Inertial state at touchdown, m and m/s; its mission time, s; and the mass then, kg. */
  readonly end = new Float64Array(STATE_SIZE);
  endTime_s = Number.NaN;
  endMass_kg = Number.NaN;
  /** Propellant from the parting to the end of the last tail-off, kg. */
  used_kg = Number.NaN;
  /** The edge that the last flight to lack one waited for in vain; null while none has. */
  missed: MissedEdge | null = null;
  /** Where the last controlled flight failed: the leg, and the mission time (s). */
  failedLeg = -1;
  failed_s = Number.NaN;
  /** Legs flown: those of the tail-off, then those of the plan. */
  legs: Leg[] = [];
  /** Of each leg in the last controlled flight: start (s), mass then (kg), first step; one more entry than legs. */
  times_s: number[] = [];
  masses_kg: number[] = [];
  firstSteps: number[] = [];
  /** How long each was in it, s: the held steps together. */
  private readonly lengths_s: number[] = [];
  states = new Float64Array(0);
  readonly peaks: PeakWatch;
  flights = 0;
  reflights = 0;
  private values: Float64Array = new Float64Array(0);
  private readonly held = new FixedLaw(new Float64Array(3));
  private readonly aimed = new FixedLaw(new Float64Array(3));
  private readonly turn: TurnLaw;
  private readonly retrograde = new RetrogradeLaw();
  private readonly landing: LandingLaw;
  private readonly ground: Monitor;
  private readonly edges: Edges;
  private readonly work = new Float64Array(STATE_SIZE);

  constructor(compiled: CompiledReturn, accuracy: Accuracy) {
    this.compiled = compiled;
    const { setting } = compiled.study;
    this.motion = new Motion(setting, false);
    const absolute = new Float64Array(STATE_SIZE).fill(accuracy.speed_mps);
    absolute.fill(accuracy.position_m, 0, 3);
    this.driver = new Driver(STATE_SIZE, {
      relative: accuracy.relative,
      absolute,
      longestStep: LONGEST_STEP_s,
      mostSteps: MOST_STEPS,
    });
    this.steps = new StepStore(STATE_SIZE, true);
    this.turn = new TurnLaw(compiled.turnRate_radps);
    const { figure } = setting;
    this.landing = new LandingLaw(figure);
    const { height_m } = compiled;
    this.ground = { direction: -1, value: (_t, y) => figure.height_m(y[0]!, y[1]!, y[2]!) - height_m };
    this.peaks = new PeakWatch(compiled.plan);
    this.edges = new Edges(this.motion, compiled);
  }

  /**
   * Flies home from a start under the numbers of the return (SI, radians; order of `compiled.numbers`). The touchdown is where
   * the landing burn's length says, in the air or under the ground if need be: that it is at the place, at rest, is for a
   * solve to see to. Anything but `flown` leaves `failed_s`.
   */
  fly(values: Float64Array, start: ReturnStart): ReturnCode {
    this.flights += 1;
    const { compiled, driver, motion, steps } = this;
    this.begin(values, start);
    const legs = this.legs;
    const size = STATE_SIZE;
    if (this.states.length !== size * (legs.length + 1))
      this.states = new Float64Array(size * (legs.length + 1));
    steps.clear();
    let mass = start.bare_kg + values[compiled.at.reserve]!;
    /** First leg of the burn that an edge ends, and whether it began beyond that edge. */
    let burnLeg = 0;
    let behind = false;
    driver.start(this.enter(0, start.time_s, 0, mass, start.state), start.time_s, start.state);
    for (let i = 0; i < legs.length; i++) {
      const leg = legs[i]!;
      const t = driver.t;
      this.times_s[i] = t;
      this.masses_kg[i] = mass;
      this.firstSteps[i] = steps.count;
      this.states.set(driver.y, i * size);
      const event = this.monitorOf(leg.end);
      const duration_s = event === null ? this.durationOf(leg.end) : this.longest_s(leg, mass, start);
      // It burns more than all there is: a flight through nothing is no flight.
      if (event === null && !(this.burned_kg(leg, duration_s) < mass)) return this.fail('nothingLeft', i);
      this.enter(i, t, duration_s, mass, driver.y);
      if (i > 0) driver.restart(motion);
      if (leg.phase === 'entry' && legs[i - 1]?.phase !== 'entry') {
        burnLeg = i;
        const ends = legs.find((each) => each.phase === 'entry' && each.end.kind === 'edge');
        behind = ends !== undefined && isPast(this.monitorOf(ends.end)!, t, driver.y);
      }
      const monitors: Monitor[] = [];
      if (leg.phase !== 'landing') monitors.push(this.ground);
      if (event !== null) monitors.push(event);
      // What has stopped the fall only lifts the body up again.
      if (leg.phase === 'entry') monitors.push(STOPPED);
      // Waited for is a passage; what is past already at the start has come about, unless it is yet to rise above it.
      let past = event !== null && isPast(event, t, driver.y);
      if (past && leg.end.kind === 'edge' && !leg.end.starts && behind) {
        if (!risesFirst(leg.end.edge)) return this.fail('neverComes', i, burnLeg, true);
        past = false;
      } else if (past && waitsForHeight(leg.end) && isClimbing(driver.y)) past = false;
      if (!past) {
        const code = driver.advanceTo(motion, t + duration_s, monitors, steps);
        const from = leg.phase === 'entry' ? burnLeg : i;
        if (code !== 'reached' && code !== 'event') return this.fail(code, i, from);
        const fired = code === 'event' ? monitors[driver.firedMonitor] : null;
        if (fired === STOPPED) return this.fail('stopped', i, from);
        if (fired === this.ground) return this.fail('impact', i, from);
        if (code === 'event' && monitors[driver.firedMonitor] === STOPPED)
          return this.fail('neverComes', i, from);
        if (code === 'reached' && event !== null) return this.fail('neverComes', i, from);
      }
      this.lengths_s[i] = driver.t - t;
      mass -= this.burned_kg(leg, driver.t - t);
      if (!(mass > 0)) return this.fail('nothingLeft', i);
    }
    const last = legs.length;
    this.times_s[last] = driver.t;
    this.masses_kg[last] = mass;
    this.firstSteps[last] = steps.count;
    this.states.set(driver.y, last * size);
    this.finish(driver.t, driver.y, mass, start);
    if (this.peaks.watches) this.peaks.find(this);
    return 'flown';
  }

  /**
   * Flies the last flight's steps again from leg `from` (counted as in `legs`; 0 when the start has changed) and leaves the
   * touchdown, as a smooth function of the numbers and the start. SI, radians. False when it cannot be done nearby. Passages are
   * found more closely than in flight: with `keep` later ones begin from the legs as this one has them.
   */
  refly(values: Float64Array, start: ReturnStart, from: number, keep = false): boolean {
    this.reflights += 1;
    const { motion, steps, legs, states, work } = this;
    const { stepper } = this.driver;
    this.begin(values, start);
    const size = STATE_SIZE;
    let t: number;
    let mass: number;
    if (from === 0) {
      work.set(start.state);
      t = start.time_s;
      mass = start.bare_kg + values[this.compiled.at.reserve]!;
    } else {
      for (let i = 0; i < size; i++) work[i] = states[from * size + i]!;
      t = this.times_s[from]!;
      mass = this.masses_kg[from]!;
    }
    if (this.peaks.watches) this.peaks.keepBefore(from);
    for (let i = from; i < legs.length; i++) {
      const leg = legs[i]!;
      const held_s = this.lengths_s[i]!;
      if (keep) this.keep(i, t, mass);
      const first = this.firstSteps[i]!;
      const after = this.firstSteps[i + 1]!;
      const monitor = this.monitorOf(leg.end);
      const duration_s = monitor === null ? this.durationOf(leg.end) : held_s;
      this.enter(i, t, duration_s, mass, work);
      const start_s = t;
      const stretch = held_s > 0 ? duration_s / held_s : 1;
      const last = monitor === null ? after : after - 1;
      const peak = this.peaks.watches ? this.peaks.stepsOf(i) : null;
      for (let step = first; step < last; step++) {
        if (peak?.includes(step) === true)
          this.peaks.look(this, i, step, t, work, stretch * steps.lengthOf(step));
        t = stretchSteps(motion, stepper, steps, step, step + 1, t, stretch, work);
      }
      if (monitor !== null && after > first) {
        const before = peak?.includes(last) === true ? work.slice() : null;
        const ends_s = landStep(motion, stepper, steps, last, t, work, monitor);
        if (Number.isNaN(ends_s)) return false;
        if (before !== null) this.peaks.look(this, i, last, t, before, ends_s - t);
        t = ends_s;
      }
      mass -= this.burned_kg(leg, t - start_s);
      if (!(mass > 0)) return false;
    }
    if (keep) {
      this.keep(legs.length, t, mass);
      this.peaks.keep();
    }
    this.finish(t, work, mass, start);
    return Number.isFinite(this.end[0]! + this.end[3]!);
  }

  /** Takes over where a leg begins. */
  private keep(leg: number, t: number, mass: number): void {
    this.times_s[leg] = t;
    this.masses_kg[leg] = mass;
    this.states.set(this.work, leg * STATE_SIZE);
  }

  /** First leg, as counted in `legs`, on which a number (index) acts. Unitless. */
  firstLegOf(number: number): number {
    const one = this.compiled.numbers[number]!;
    return one.role === 'reserve' ? 0 : this.legs.length - this.compiled.legs.length + one.firstLeg;
  }

  /** A number of the return by its role, NaN when it has none of it; SI, radians. */
  number(role: ReturnRole): number {
    const at = this.compiled.at[role];
    return at < 0 ? Number.NaN : this.values[at]!;
  }

  /** The steering law object of a leg, for who reads a flight; its directions are those of the numbers flown last. */
  lawOf(leg: Leg): SteeringLaw {
    switch (leg.steering) {
      case 'held':
        return this.held;
      case 'turn':
        return this.turn;
      case 'aimed':
        return this.aimed;
      case 'retrograde':
        return this.retrograde;
      case 'landing':
        return this.landing;
    }
  }

  /**
   * Takes over numbers and start, and works out the directions that follow from them (SI, radians): east, north and up of the
   * boostback are those of the figure at parting.
   */
  begin(values: Float64Array, start: ReturnStart): void {
    const { compiled } = this;
    this.values = values;
    if (this.legs.length !== compiled.legs.length + start.tail.length || start.tail.length > 0) {
      this.legs = [...start.tail.map((segment) => tailLeg(segment)), ...compiled.legs];
    }
    this.held.direction.set(start.aim);
    this.turn.from.set(start.aim);
    const [x = 0, y = 0, z = 0, vx = 0, vy = 0, vz = 0] = start.state;
    const { at } = compiled;
    if (at.boostBurn < 0) {
      const wx = vx + EARTH_ROTATION_radps * y;
      const wy = vy - EARTH_ROTATION_radps * x;
      const w = Math.hypot(wx, wy, vz);
      this.turn.to.set([-wx / w, -wy / w, -vz / w]);
    } else {
      localBasis(this.compiled.study.setting.figure, x, y, z, BASIS);
      const elevation = values[at.boostElevation]!;
      const azimuth = values[at.boostAzimuth]!;
      const east = Math.cos(elevation) * Math.sin(azimuth);
      const north = Math.cos(elevation) * Math.cos(azimuth);
      const up = Math.sin(elevation);
      for (let i = 0; i < 3; i++) {
        this.turn.to[i] = east * BASIS[i]! + north * BASIS[3 + i]! + up * BASIS[6 + i]!;
      }
      this.aimed.direction.set(this.turn.to);
    }
    const { lean } = this.landing;
    lean[0] = values[at.leanEastStart]!;
    lean[1] = values[at.leanNorthStart]!;
    lean[2] = values[at.leanEastEnd]!;
    lean[3] = values[at.leanNorthEnd]!;
    let rise_s = 0;
    for (const leg of compiled.legs)
      if (leg.phase === 'landing' && leg.end.kind === 'fixed') rise_s += leg.end.duration_s;
    this.landing.length_s = rise_s + values[at.landingBurn]!;
  }

  /** The segment of a leg that starts at t_s (s) with a mass (kg) and lasts duration_s (s). */
  segmentOf(
    index: number,
    t_s: number,
    duration_s: number,
    mass_kg: number,
    bodies: readonly number[],
  ): Segment {
    const leg = this.legs[index]!;
    const share = leg.throttled ? this.number('landingThrottle') : 1;
    let thrust = 0;
    let thrustRate = 0;
    let flow = 0;
    let flowRate = 0;
    for (const burn of leg.burns) {
      thrust += share * burn.thrust_N;
      thrustRate += share * burn.thrustRate_Nps;
      flow += share * burn.flow_kgps;
      flowRate += share * burn.flowRate_kgps2;
    }
    return {
      start_s: t_s,
      end_s: t_s + duration_s,
      bodies,
      arrangement: 0,
      thrust_N: thrust,
      thrustRate_Nps: thrustRate,
      exitArea_m2: leg.exitArea_m2,
      exitAreaRate_m2ps: leg.exitAreaRate_m2ps,
      flow_kgps: flow,
      flowRate_kgps2: flowRate,
      mass_kg,
      propellant_kg: NO_PROPELLANT,
      burns: leg.burns,
      lawEvent: -1,
      held: false,
      fired: NO_EVENTS,
    };
  }

  /** How the landing engines come up: nothing for `delay_s`, then a ramp until all burn at full, s. */
  landingRise(): { delay_s: number; ramp_s: number } {
    let delay_s = 0;
    let ramp_s = 0;
    for (const leg of this.compiled.legs) {
      if (leg.phase !== 'landing' || leg.end.kind !== 'fixed') continue;
      if (leg.burns.length === 0) delay_s += leg.end.duration_s;
      else ramp_s += leg.end.duration_s;
    }
    return { delay_s, ramp_s };
  }

  /** What a leg burns in its first dt_s (s), kg. */
  burned_kg(leg: Leg, dt_s: number): number {
    const share = leg.throttled ? this.number('landingThrottle') : 1;
    let sum = 0;
    for (const burn of leg.burns) sum += share * dt_s * (burn.flow_kgps + 0.5 * dt_s * burn.flowRate_kgps2);
    return sum;
  }

  private enter(index: number, t: number, duration_s: number, mass: number, y: Float64Array): Motion {
    const leg = this.legs[index]!;
    const law = this.lawOf(leg);
    // A burn goes over several legs: its law starts with the first of them.
    if (index === 0 || this.legs[index - 1]!.steering !== leg.steering) law.start(t, y, NO_LAUNCH);
    const { compiled } = this;
    const drag = leg.tailFirst ? compiled.tailFirstDrag : compiled.ownDrag;
    this.motion.enter(this.segmentOf(index, t, duration_s, mass, NO_PROPELLANT), 0, drag, law);
    return this.motion;
  }

  /** Hands a leg of the last controlled flight to the equations of motion again, for who looks into it. Unitless. */
  reenter(index: number): void {
    const { steering } = this.legs[index]!;
    let first = index;
    while (first > 0 && this.legs[first - 1]!.steering === steering) first -= 1;
    const start_s = this.times_s[index]!;
    const duration_s = this.times_s[index + 1]! - start_s;
    this.enter(index, start_s, duration_s, this.masses_kg[index]!, this.work);
    this.lawOf(this.legs[index]!).start(this.times_s[first]!, this.work, NO_LAUNCH);
  }

  private durationOf(end: LegEnd): number {
    switch (end.kind) {
      case 'fixed':
        return end.duration_s;
      case 'turned':
        return this.turn.duration_s;
      case 'after':
        return this.values[end.number]!;
      default:
        return Number.NaN;
    }
  }

  private monitorOf(end: LegEnd): Monitor | null {
    const { figure } = this.compiled.study.setting;
    if (end.kind === 'height') {
      const height_m = this.values[end.number]!;
      return { direction: -1, value: (_t, y) => figure.height_m(y[0]!, y[1]!, y[2]!) - height_m };
    }
    return end.kind === 'edge' ? this.edges.monitor(end) : null;
  }

  /** How long an edge or a height is waited for at most, s: a burn that waits stops where a quarter of the bare mass is left. */
  private longest_s(leg: Leg, mass: number, { bare_kg }: ReturnStart): number {
    let flow = 0;
    for (const burn of leg.burns) flow += burn.flow_kgps;
    return flow > 0
      ? Math.max(0, Math.min(LONGEST_WAIT_s, (mass - LEAST_LEFT * bare_kg) / flow))
      : LONGEST_WAIT_s;
  }

  private finish(t: number, y: Float64Array, mass: number, start: ReturnStart): void {
    const { compiled } = this;
    this.end.set(y);
    this.endTime_s = t;
    this.endMass_kg = mass;
    const tailOff = this.number('landingThrottle') * compiled.landingTailOff_kg;
    this.used_kg = start.bare_kg + this.values[compiled.at.reserve]! - mass + tailOff;
  }

  /** `from` is the leg from which on an edge was waited for. */
  private fail(code: Exclude<ReturnCode, 'flown'>, leg: number, from = leg, behind = false): ReturnCode {
    const { end } = this.legs[leg]!;
    if (end.kind === 'edge') this.missed = this.edges.missed(end, behind, this, this.firstSteps[from]!);
    this.failedLeg = leg;
    this.failed_s = this.driver.t;
    return code;
  }
}

const BASIS = new Float64Array(9);
const NO_LAUNCH = { up: new Float64Array(3), ahead: new Float64Array(3) };

/** Whether a quantity of an entry is small at first, so that being below its value does not mean that it has fallen. */
function risesFirst({ kind }: { readonly kind: EdgeKind }): boolean {
  return kind === 'dynamicPressure' || kind === 'heating';
}

/** What a leg waits for has come about at its start already. */
function isPast(monitor: Monitor, t: number, y: Float64Array): boolean {
  return monitor.direction < 0 && monitor.value(t, y) <= 0;
}

/** Vertical speed in units of the radius, m²/s. */
function climb(y: Float64Array): number {
  return y[0]! * y[3]! + y[1]! * y[4]! + y[2]! * y[5]!;
}

const STOPPED: Monitor = { direction: 1, value: (_t, y) => climb(y) };

/** Whether a leg lasts until a height is passed on the way down. */
function waitsForHeight(end: LegEnd): boolean {
  return end.kind === 'height' || (end.kind === 'edge' && end.starts && end.edge.kind === 'altitude');
}

function isClimbing(y: Float64Array): boolean {
  return climb(y) > 0;
}

function tailLeg(segment: Segment): Leg {
  const end: LegEnd = { kind: 'fixed', duration_s: segment.end_s - segment.start_s };
  return {
    ...quietLeg({ phase: 'tailOff', steering: 'held', tailFirst: false }, end),
    burns: segment.burns,
    exitArea_m2: segment.exitArea_m2,
    exitAreaRate_m2ps: segment.exitAreaRate_m2ps,
  };
}

/** Touchdown against the ground at a place: miss (m) and velocity (m/s), east, north, up. */
export interface Touchdown {
  /** NaN east and north where no place is asked for. */
  readonly miss_m: Float64Array;
  readonly velocity_mps: Float64Array;
}

const fixedPosition = new Float64Array(3);
const fixedVelocity = new Float64Array(3);

/**
 * Writes where and how an inertial state (m, m/s) at mission time t_s (s) touches the ground: against the place of the return,
 * else against the vertical of the figure there. Height above the figure less the place's.
 */
export function readTouchdown(compiled: CompiledReturn, t_s: number, y: Float64Array, out: Touchdown): void {
  const { figure } = compiled.study.setting;
  const angle = EARTH_ROTATION_radps * t_s;
  inertialToEarthFixed(y[0]!, y[1]!, y[2]!, angle, fixedPosition);
  const wx = y[3]! + EARTH_ROTATION_radps * y[1]!;
  const wy = y[4]! - EARTH_ROTATION_radps * y[0]!;
  inertialToEarthFixed(wx, wy, y[5]!, angle, fixedVelocity);
  const { place } = compiled;
  let basis: Float64Array = BASIS;
  if (place === null) localBasis(figure, fixedPosition[0]!, fixedPosition[1]!, fixedPosition[2]!, BASIS);
  else basis = place.basis;
  for (let k = 0; k < 3; k++) {
    let miss = 0;
    let speed = 0;
    for (let i = 0; i < 3; i++) {
      const axis = basis[3 * k + i]!;
      speed += axis * fixedVelocity[i]!;
      if (place !== null) miss += axis * (fixedPosition[i]! - place.position[i]!);
    }
    out.velocity_mps[k] = speed;
    out.miss_m[k] = place === null ? Number.NaN : miss;
  }
  out.miss_m[2] = figure.height_m(y[0]!, y[1]!, y[2]!) - compiled.height_m;
}
