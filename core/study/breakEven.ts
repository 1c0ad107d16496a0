/** Which change of one number makes up for a change of another: solved, and the linear estimate beside it. */
import type { Study } from '../contract/study.ts';
import { PlanError } from '../flight/planTypes.ts';
import { findRoot } from '../math/roots.ts';
import { compileAnswer, solveAnswer } from '../solve/answer.ts';
import type { PayloadOutcome, SolveMemory } from '../solve/payload.ts';
import { stepOf } from './rates.ts';
import {
  checkChanges,
  numberOf,
  refusalOf,
  stepsToNumber,
  withNumbers,
  withStep,
  type NumberChange,
} from './numbers.ts';

export interface BreakEvenRequest {
  /** The change to be made up for. */
  readonly change: NumberChange;
  /** Path of the number that makes up for it. */
  readonly against: string;
  readonly stop?: () => boolean;
}

export interface BreakEven {
  readonly status: 'solved' | 'notSolved' | 'cancelled';
  /** One sentence for people. */
  readonly message: string;
  /** Payload before any change, and what the first change alone makes of it, kg. */
  readonly payload_kg: number;
  readonly changed_kg: number;
  /** The second number before, and where the payload is what it was; NaN unless solved. In its own unit. */
  readonly from: number;
  readonly value: number;
  /** Where the slope at the first number's change would put it, in its own unit. */
  readonly linear: number;
  readonly solves: number;
}

/** The linear estimate is a start as far as so many first steps away. */
const WIDE = 1000;
/** Steps outward, each twice the last. */
const MOST_GROWTHS = 24;
/** The payload comes back to this, kg. */
const CLOSE_kg = 0.01;

/**
 * Finds the value of one number (its own unit) at which a change of another leaves the payload (kg) as it was, by looking
 * outward for a change of sign and closing in on it, each solve started from the last. Throws NumberError for a path or value that the study does not allow.
 */
export function breakEven(
  study: Study,
  { change, against, stop = () => false }: BreakEvenRequest,
): BreakEven {
  checkChanges(study, [change]);
  const steps = stepsToNumber(study, against);
  const from = numberOf(study, against);
  const base = compileAnswer(study);
  let solves = 1;
  let memory: SolveMemory | null = null;
  const before = solveAnswer(base, { stop }).outcome;
  ({ memory } = before);
  const changed = withNumbers(study, [change]);
  const solveAt = (value: number): PayloadOutcome | string => {
    const refused = refusalOf(study, steps, value);
    if (refused !== null) return refused;
    try {
      solves++;
      const compiled = compileAnswer(withStep(changed, steps, value), base);
      const { outcome } = solveAnswer(compiled, memory === null ? { stop } : { memory, stop });
      if (outcome.memory !== null) ({ memory } = outcome);
      return outcome.status === 'converged' ? outcome : outcome.message;
    } catch (error) {
      if (error instanceof PlanError) return `${error.message}.`;
      throw error;
    }
  };
  const ended = (status: BreakEven['status'], message: string, more: Partial<BreakEven> = {}): BreakEven => ({
    status: stop() ? 'cancelled' : status,
    message: stop() ? 'Cancelled.' : message,
    payload_kg: before.payload_kg,
    changed_kg: Number.NaN,
    from,
    value: Number.NaN,
    linear: Number.NaN,
    ...more,
    solves,
  });
  if (before.status !== 'converged') return ended('notSolved', before.message);
  const first = solveAt(from);
  if (typeof first === 'string') return ended('notSolved', first);
  const known = { changed_kg: first.payload_kg };
  const miss_kg = first.payload_kg - before.payload_kg;
  let why = '';
  const missAt = (value: number): number => {
    const there = solveAt(value);
    if (typeof there !== 'string') return there.payload_kg - before.payload_kg;
    why = there;
    return Number.NaN;
  };
  const step = stepOf(against, from);
  const up = missAt(from + step);
  const down = Number.isNaN(up) ? missAt(from - step) : Number.NaN;
  const slope = Number.isNaN(up) ? (miss_kg - down) / step : (up - miss_kg) / step;
  if (Number.isNaN(slope)) return ended('notSolved', `${against} cannot be changed: ${why}`, known);
  const linear = from - miss_kg / slope;
  if (Math.abs(miss_kg) < CLOSE_kg)
    return ended('solved', 'The change leaves the payload as it was.', { ...known, linear, value: from });
  // Outward in growing steps until the miss changes its sign: a slope that is flat at the start says little.
  const start =
    Number.isFinite(linear) && Math.abs(linear - from) < WIDE * step
      ? linear - from
      : -Math.sign(miss_kg / slope) * step;
  for (const side of [1, -1]) {
    let [x, y] = [from, miss_kg];
    for (let by = side * start, i = 0; i < MOST_GROWTHS && !stop(); i++, by *= 2) {
      const next = from + by;
      const there = missAt(next);
      if (Number.isNaN(there)) break;
      if (Math.abs(there) < CLOSE_kg || there > 0 !== y > 0) {
        const value = Math.abs(there) < CLOSE_kg ? next : rootOrNaN(missAt, x, next, step, y, there);
        if (!Number.isFinite(value)) break;
        return ended(
          'solved',
          `${against} from ${from} to ${value} makes up for ${change.path} at ${change.value}.`,
          { ...known, linear, value },
        );
      }
      [x, y] = [next, there];
    }
  }
  return ended(
    'notSolved',
    `No value of ${against} makes up for the change, as far as it was followed either way. ${why}`.trim(),
    { ...known, linear },
  );
}

/** The root between two values, or NaN where a solve in between has no answer. */
function rootOrNaN(
  f: (x: number) => number,
  a: number,
  b: number,
  step: number,
  fa: number,
  fb: number,
): number {
  try {
    return findRoot(f, a, b, 1e-7 * Math.max(Math.abs(b), step), fa, fb);
  } catch (error) {
    if (error instanceof RangeError) return Number.NaN;
    throw error;
  }
}
