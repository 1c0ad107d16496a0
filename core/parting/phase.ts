/** Flies the two-body phase: from release until the bodies are far apart, touch again, or the time is up. */
import { StepStore } from '../ode/dense.ts';
import { Driver, type Monitor } from '../ode/driver.ts';
import { findRoot } from '../math/roots.ts';
import { formatNumber } from '../units/format.ts';
import { isOut, planeClearance_m, rimClearance_m, type Contact } from './clearance.ts';
import { SIZE, standing, stateAtRelease, TwoBodySystem, type Standing, type TwoBodies } from './twoBody.ts';

/** Forces and accelerations along the axis at the instant of release. */
export interface Opening {
  /** Of the upper and the lower body, all forces but gravity, m/s². */
  readonly upper_mps2: number;
  readonly lower_mps2: number;
  readonly opens: boolean;
}

export interface Recontact {
  /** From release, s. */
  readonly time_s: number;
  readonly place: 'rim of the interstage' | 'plane of separation';
  readonly gap_m: number;
  readonly drift_m: number;
  readonly tilt_rad: number;
}

export type PhaseCode = 'clear' | 'recontact' | 'refused' | 'notClear' | 'failed';

export interface PhaseSample extends Standing {
  /** From release, s. */
  readonly time_s: number;
  /** Rate of the gap, m/s. */
  readonly speed_mps: number;
  /** To the interstage's wall, m; +Infinity without a rim. */
  readonly rim_m: number;
}

export interface Phase {
  readonly code: PhaseCode;
  /** One sentence for people. */
  readonly message: string;
  readonly opening: Opening;
  /** State against time from release; empty when refused. */
  readonly steps: StepStore;
  readonly recontact: Recontact | null;
  /** When the engine section leaves the interstage, s from release; 0 without a rim, NaN when it never does. */
  readonly rimOut_s: number;
  /** Least clearance to the rim on the way, m. */
  readonly leastRim_m: number;
}

export interface PhaseOptions {
  /** Ends at this gap, m, or after this time, s, whichever comes first. */
  readonly far_m?: number;
  readonly longest_s?: number;
  /** Times from release at which a force jumps, s. */
  readonly breaks_s?: readonly number[];
}

const FAR_m = 60;
const LONGEST_s = 30;
/** So deep, in m, the planes of separation may cut before it counts: they touch at release. */
const TOUCH_m = 1e-6;
const SAMPLES = 400;

/** Accelerations of the two bodies along the axis just after release (m/s²), and whether they part. */
function openingOf(bodies: TwoBodies): Opening {
  const y = stateAtRelease(bodies);
  const slope = new Float64Array(SIZE);
  const system = new TwoBodySystem(bodies);
  system.enter(y);
  // Gravity acts on both alike, but for its gradient, which is not what decides.
  const still = new TwoBodySystem({ ...bodies, gradient_ps2: 0 });
  still.enter(y);
  still.derivative(0, y, slope);
  return { upper_mps2: slope[2]!, lower_mps2: slope[8]!, opens: slope[2]! > slope[8]! };
}

/**
 * Flies the phase. SI, time from release. A parting that does not open is refused with both accelerations; one in which the
 * bodies touch again ends there, with time and place. Never throws for the parting's sake.
 */
export function flyPhase(bodies: TwoBodies, contact: Contact, options: PhaseOptions = {}): Phase {
  const far_m = options.far_m ?? FAR_m;
  const longest_s = options.longest_s ?? LONGEST_s;
  const opening = openingOf(bodies);
  const steps = new StepStore(SIZE);
  // Bodies that turn drift apart across the axis without a push along it.
  if (!opening.opens && bodies.turning_radps === 0) {
    return {
      code: 'refused',
      opening,
      steps,
      recontact: null,
      rimOut_s: Number.NaN,
      leastRim_m: Number.NaN,
      message:
        `It does not open: at release the upper body accelerates at ${formatNumber(opening.upper_mps2, 4)} m/s², the lower at ` +
        `${formatNumber(opening.lower_mps2, 4)} m/s²; allowed is more above than below. Part later, or push harder.`,
    };
  }
  const system = new TwoBodySystem(bodies);
  const driver = new Driver(SIZE, {
    relative: 1e-11,
    absolute: new Float64Array(SIZE).fill(1e-10),
    longestStep: 0.25,
    mostSteps: 50_000,
  });
  const at: Standing = { gap_m: 0, drift_m: 0, tilt_rad: 0 };
  const ends: Monitor[] = [
    { direction: -1, value: (_t, y) => planeClearance_m(bodies, contact, y) + TOUCH_m },
    { direction: 1, value: (_t, y) => standing(bodies, y, at).gap_m - far_m },
    ...(contact.rim === null
      ? []
      : [
          {
            direction: -1 as const,
            value: (_t: number, y: Float64Array) => rimClearance_m(bodies, contact, y),
          },
        ]),
  ];
  const marks: Monitor[] = [
    ...bodies.pushers.map((pusher): Monitor => ({
      direction: 1,
      value: (_t, y) => system.gapAt_m(y, pusher.offset_m) - pusher.stroke_m,
    })),
    ...[...(bodies.impingement?.xs ?? [])]
      .filter((x) => x > 0)
      .map((x): Monitor => ({ direction: 1, value: (_t, y) => standing(bodies, y, at).gap_m - x })),
  ];
  const monitors = [...ends, ...marks];
  const stops_s = [...new Set([...(options.breaks_s ?? []), longest_s])]
    .filter((t) => t > 0 && t <= longest_s)
    .sort((p, q) => p - q);
  const first = stateAtRelease(bodies);
  system.enter(first);
  driver.start(system, 0, first);
  let ended: 'touch' | 'far' | 'rim' | 'time' | 'failed' | null = null;
  for (let stop = 0; ended === null;) {
    const code = driver.advanceTo(system, stops_s[stop]!, monitors, steps);
    if (code === 'reached') {
      stop += 1;
      if (stop === stops_s.length) ended = 'time';
    } else if (code !== 'event') ended = 'failed';
    else if (driver.firedMonitor < ends.length) {
      ended = driver.firedMonitor === 0 ? 'touch' : driver.firedMonitor === 1 ? 'far' : 'rim';
    }
    const pusher = code === 'event' ? driver.firedMonitor - ends.length : -1;
    if (pusher >= 0 && pusher < bodies.pushers.length) system.end(pusher);
    system.enter(driver.y);
    driver.restart(system);
  }
  return conclude(bodies, contact, opening, steps, ended, driver.t, driver.y);
}

function conclude(
  bodies: TwoBodies,
  contact: Contact,
  opening: Opening,
  steps: StepStore,
  ended: 'touch' | 'far' | 'rim' | 'time' | 'failed',
  t: number,
  y: Float64Array,
): Phase {
  const here = standing(bodies, y, { gap_m: 0, drift_m: 0, tilt_rad: 0 });
  const place = ended === 'rim' ? 'rim of the interstage' : 'plane of separation';
  const recontact: Recontact | null =
    ended === 'touch' || ended === 'rim' ? { time_s: t, place, ...here } : null;
  const samples = steps.count === 0 ? [] : sampleUniform(bodies, contact, steps);
  const rimOut_s = rimOutTime_s(bodies, contact, steps);
  const leastRim_m = samples.reduce((least, { rim_m }) => Math.min(least, rim_m), Number.POSITIVE_INFINITY);
  const code: PhaseCode =
    recontact !== null
      ? 'recontact'
      : ended === 'failed'
        ? 'failed'
        : Number.isNaN(rimOut_s) || !(here.gap_m > 0)
          ? 'notClear'
          : 'clear';
  return {
    code,
    opening,
    steps,
    recontact,
    rimOut_s,
    leastRim_m,
    message: messageOf(code, recontact, here, t),
  };
}

function messageOf(code: PhaseCode, recontact: Recontact | null, here: Standing, t: number): string {
  const after = `${t.toFixed(2)} s after release`;
  switch (code) {
    case 'recontact':
      return (
        `The bodies touch again ${after} at the ${recontact!.place}, with the gap at ${here.gap_m.toFixed(3)} m, ` +
        `${formatNumber(1000 * here.drift_m, 0)} mm of drift and a tilt of ${formatNumber((here.tilt_rad * 180) / Math.PI, 2)}°.`
      );
    case 'failed':
      return `The motion apart could not be followed beyond ${after}.`;
    case 'notClear':
      return `The bodies are not clear of each other ${after}: the gap is ${here.gap_m.toFixed(2)} m.`;
    default:
      return `The bodies part clear: ${here.gap_m.toFixed(1)} m apart ${after}.`;
  }
}

function rimOutTime_s(bodies: TwoBodies, contact: Contact, steps: StepStore): number {
  if (contact.rim === null) return 0;
  const y = new Float64Array(SIZE);
  const out = (t: number): number => {
    steps.sample(t, y);
    return isOut(contact, standing(bodies, y, { gap_m: 0, drift_m: 0, tilt_rad: 0 })) ? 1 : -1;
  };
  const end = steps.end;
  if (!(end > 0) || out(end) < 0) return Number.NaN;
  let low = 0;
  let high = end;
  // A bisection: being out is a matter of yes or no.
  for (let i = 0; i < 60; i++) {
    const middle = 0.5 * (low + high);
    if (out(middle) > 0) high = middle;
    else low = middle;
  }
  return high;
}

/** How the bodies stand at a time (s from release; clamped to the phase). */
export function samplePhase(bodies: TwoBodies, contact: Contact, steps: StepStore, t_s: number): PhaseSample {
  const y = new Float64Array(SIZE);
  steps.sample(t_s, y);
  const here = standing(bodies, y, { gap_m: 0, drift_m: 0, tilt_rad: 0 });
  const h = 1e-4;
  const before = Math.max(0, t_s - h);
  const after = Math.min(steps.end, t_s + h);
  const other: Standing = { gap_m: 0, drift_m: 0, tilt_rad: 0 };
  steps.sample(after, y);
  const late_m = standing(bodies, y, other).gap_m;
  steps.sample(before, y);
  const early_m = standing(bodies, y, other).gap_m;
  steps.sample(t_s, y);
  return {
    time_s: t_s,
    ...here,
    speed_mps: after > before ? (late_m - early_m) / (after - before) : 0,
    rim_m: rimClearance_m(bodies, contact, y),
  };
}

function sampleUniform(bodies: TwoBodies, contact: Contact, steps: StepStore): PhaseSample[] {
  return Array.from({ length: SAMPLES + 1 }, (_, i) =>
    samplePhase(bodies, contact, steps, (steps.end * i) / SAMPLES),
  );
}

/** When the gap first reaches a clearance (m), s from release; NaN when it does not within the phase. */
export function timeOfGap_s(bodies: TwoBodies, steps: StepStore, clearance_m: number): number {
  const y = new Float64Array(SIZE);
  const miss = (t: number): number => {
    steps.sample(t, y);
    return standing(bodies, y, { gap_m: 0, drift_m: 0, tilt_rad: 0 }).gap_m - clearance_m;
  };
  for (let i = 0; i < steps.count; i++) {
    const from = steps.timeOf(i);
    const to = from + steps.lengthOf(i);
    if (miss(from) <= 0 && miss(to) >= 0) return miss(to) === 0 ? to : findRoot(miss, from, to, 1e-10);
  }
  return Number.NaN;
}
