/**
 * Numbers of a flight that must agree with the flight itself: the time of an event that others lead up to, and the throttle
 * under which a dynamic pressure peaks at its limit. They are found by flying again with better ones, by Broyden's method
 * (C. G. Broyden, A class of methods for solving nonlinear simultaneous equations, Math. Comp. 19 (1965) 577-593); the
 * integrator itself never looks ahead.
 */
import type { Study } from '../contract/study.ts';
import { findUnknownRoots, tieEvents } from './schedule.ts';

/** A number to be closed. Its miss is in s for a time, and a share of the limit for a throttle. */
export interface Unknown {
  readonly kind: 'time' | 'level';
  /** The event led up to, or the hold; index. */
  readonly event: number;
  readonly lower: number;
  readonly upper: number;
  /** Miss over change, to begin with. */
  readonly slope: number;
}

/** Misses this small are closed, in s or as a share; and this small will do when rounding allows no better. */
const CLOSE = 1e-10;
const GOOD = 1e-7;
const MOST_TRIES = 20;
/** Largest change of a throttle at once, and of a time, s. */
const MOST_LEVEL = 0.1;
const MOST_TIME_s = 60;
/** A miss that grows by more than this in a step says that the step was too long. */
const MOST_GROWTH = 2;

/** Change of an unknown for its derivative over held steps; how small Newton's step is to come, and how soon. s, shares */
const HELD_CHANGE = 1e-4;
const HELD_CLOSE = 1e-12;
const MOST_CLOSINGS = 8;

/** What a study's flights must close. Times in s, throttles as shares. */
export function findUnknowns(study: Study): Unknown[] {
  const { events } = study.sequence;
  const times = findUnknownRoots(study, tieEvents(events)).map((event): Unknown => {
    return { kind: 'time', event, lower: -Infinity, upper: Infinity, slope: -1 };
  });
  const levels = events.flatMap(({ action }, event): Unknown[] => {
    if (action.kind !== 'hold' || action.limit.kind !== 'dynamicPressure') return [];
    const groups = study.vehicle.bodies[action.body]!.engineGroups;
    const named = action.groups ?? Object.keys(groups);
    const lower = Math.min(...named.map((group) => Math.min(1, groups[group]!.throttle.least)));
    return lower < 1 ? [{ kind: 'level', event, lower, upper: 1, slope: 2 }] : [];
  });
  return [...times, ...levels];
}

/** Whether an unknown stands at an end of its range with a miss that would drive it further out. Unitless. */
function isPinned({ lower, upper, slope }: Unknown, value: number, miss: number): boolean {
  return (value >= upper && miss * slope < 0) || (value <= lower && miss * slope > 0);
}

/** A closing's state: the unknowns' values, and how the misses change with them, row by row. */
export interface Closing {
  readonly unknowns: readonly Unknown[];
  readonly values: Float64Array;
  readonly jacobian: Float64Array;
  /** Whether anything has been closed with it: it does not start from its first values. */
  used: boolean;
}

/** A closing that starts from these values (s, shares). */
export function newClosing(unknowns: readonly Unknown[], values: readonly number[]): Closing {
  const n = unknowns.length;
  const jacobian = new Float64Array(n * n);
  unknowns.forEach(({ slope }, i) => (jacobian[i * n + i] = slope));
  return { unknowns, values: Float64Array.from(values), jacobian, used: false };
}

/**
 * Changes the values in place until no `miss` is left but of those pinned to an end of their range; the misses (s, shares)
 * are NaN where the flight did not come so far, and a time without a value takes what it is found to be. `miss` is called
 * last with the values that stand. Returns the largest miss left, NaN when one is not known.
 */
export function closeUnknowns(closing: Closing, miss: (misses: Float64Array) => void): number {
  const { unknowns, values, jacobian } = closing;
  const n = unknowns.length;
  const now = new Float64Array(n);
  const before = new Float64Array(n);
  const step = new Float64Array(n);
  let worst = Number.NaN;
  let last = Number.POSITIVE_INFINITY;
  for (let tries = 0; tries < MOST_TRIES; tries++) {
    miss(now);
    worst = largest(unknowns, values, now);
    if (!(worst > CLOSE)) {
      closing.used = true;
      return worst;
    }
    // Steps of the integrator differ from flight to flight: there is a smallest miss.
    if (worst < GOOD && worst > 0.25 * last) return worst;
    if (worst > MOST_GROWTH * last) {
      // Far off, the flight may be quite another one: half the way.
      for (let k = 0; k < n; k++) {
        step[k] = 0.5 * step[k]!;
        values[k] = values[k]! - step[k]!;
      }
      continue;
    }
    if (tries > 0) improve(jacobian, step, now, before);
    last = worst;
    before.set(now);
    if (!solveStep(closing, now, step)) return worst;
    for (let i = 0; i < n; i++) {
      const { kind, lower, upper } = unknowns[i]!;
      const most = kind === 'level' ? MOST_LEVEL : MOST_TIME_s;
      step[i] = Math.min(most, Math.max(-most, step[i]!));
      const next = Math.min(upper, Math.max(lower, values[i]! + step[i]!));
      step[i] = next - values[i]!;
      values[i] = next;
    }
    if (step.every((change) => change === 0)) return worst;
  }
  return worst;
}

/**
 * The same over held steps, where a flight is a smooth function of the values: Newton's method with the misses' derivatives by
 * differences, taken once (`known` from then on; `taken` is called when they are). `miss` flies again and writes the misses
 * (s, shares), or returns false where it cannot. The values are left as they close; false when they do not come to.
 */
export function closeHeld(
  closing: Closing,
  known: boolean,
  miss: (misses: Float64Array) => boolean,
  taken: () => void,
): boolean {
  const { unknowns, values, jacobian } = closing;
  const n = unknowns.length;
  const now = new Float64Array(n);
  const step = new Float64Array(n);
  if (!known) {
    if (!miss(now)) return false;
    const beside = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      const own = values[i]!;
      if (isPinned(unknowns[i]!, own, now[i]!)) continue;
      values[i] = own + HELD_CHANGE;
      if (!miss(beside)) return false;
      values[i] = own;
      for (let k = 0; k < n; k++) jacobian[k * n + i] = (beside[k]! - now[k]!) / HELD_CHANGE;
    }
    taken();
  }
  for (let tries = 0; tries < MOST_CLOSINGS; tries++) {
    if (!miss(now) || !solveStep(closing, now, step)) return false;
    if (Math.max(...step.map(Math.abs)) < HELD_CLOSE) break;
    for (let i = 0; i < n; i++) values[i] = values[i]! + step[i]!;
  }
  return true;
}

/** Largest miss of those not pinned; s or a share. NaN when one is not known. */
function largest(unknowns: readonly Unknown[], values: Float64Array, misses: Float64Array): number {
  let most = 0;
  unknowns.forEach((unknown, i) => {
    if (!isPinned(unknown, values[i]!, misses[i]!)) most = Math.max(most, Math.abs(misses[i]!));
  });
  return most;
}

/** Broyden's rank-one correction. */
function improve(jacobian: Float64Array, step: Float64Array, now: Float64Array, before: Float64Array): void {
  const n = step.length;
  const square = step.reduce((sum, s) => sum + s * s, 0);
  if (square === 0) return;
  for (let i = 0; i < n; i++) {
    let off = now[i]! - before[i]!;
    for (let k = 0; k < n; k++) off -= jacobian[i * n + k]! * step[k]!;
    for (let k = 0; k < n; k++) jacobian[i * n + k] = jacobian[i * n + k]! + (off * step[k]!) / square;
  }
}

/** Newton's step of those not pinned into `step`, by elimination with pivots; false when there is none. */
function solveStep(
  { unknowns, values, jacobian }: Closing,
  misses: Float64Array,
  step: Float64Array,
): boolean {
  const n = unknowns.length;
  const rows = unknowns.flatMap((unknown, i) => (isPinned(unknown, values[i]!, misses[i]!) ? [] : [i]));
  const table = rows.map((i) => [...rows.map((k) => jacobian[i * n + k]!), -misses[i]!]);
  const m = rows.length;
  for (let c = 0; c < m; c++) {
    let pivot = c;
    for (let r = c + 1; r < m; r++) if (Math.abs(table[r]![c]!) > Math.abs(table[pivot]![c]!)) pivot = r;
    [table[c], table[pivot]] = [table[pivot]!, table[c]!];
    const top = table[c]!;
    if (!(Math.abs(top[c]!) > 1e-12)) return false;
    for (let r = 0; r < m; r++) {
      if (r === c) continue;
      const share = table[r]![c]! / top[c]!;
      for (let k = c; k <= m; k++) table[r]![k] = table[r]![k]! - share * top[k]!;
    }
  }
  step.fill(0);
  rows.forEach((i, r) => (step[i] = table[r]![m]! / table[r]![r]!));
  return true;
}
