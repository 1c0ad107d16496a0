/**
 * Sweeps of any number of a study, along a line or over a map, the payload re-solved at each point from its neighbour's
 * answer. A map is cut into bands of rows whatever the number of threads: what comes out does not depend on it.
 */
import type { Study } from '../contract/study.ts';
import type { CompiledStudy } from '../flight/compile.ts';
import { PlanError } from '../flight/planTypes.ts';
import { compileAnswer, solveAnswer, type StudyAnswer } from '../solve/answer.ts';
import type { PayloadOutcome, SolveMemory } from '../solve/payload.ts';
import { anatomyOf, type Anatomy } from './anatomy.ts';
import {
  checkChanges,
  countsWhole,
  NumberError,
  numberOf,
  refusalOf,
  stepsToNumber,
  withNumbers,
} from './numbers.ts';
import { stepOf } from './rates.ts';
import { solveMode, type SteeringMode, type SweepProgress } from './sweep.ts';

/** A number that is swept, and its values in its own unit. */
export interface SweepAxis {
  readonly path: string;
  readonly values: readonly number[];
}

export interface NumberPoint {
  readonly mode: SteeringMode;
  /** Of the number, in its own unit. */
  readonly value: number;
  readonly outcome: PayloadOutcome;
  /** kg; NaN when not converged. */
  readonly payload_kg: number;
  /** Where the difference from the reference comes from; null when either has no answer. */
  readonly anatomy: Anatomy | null;
}

export interface NumberSweep {
  readonly path: string;
  readonly reference: { readonly value: number; readonly outcome: PayloadOutcome };
  /** By mode, then by value in the order asked for. */
  readonly points: readonly NumberPoint[];
  readonly cancelled: boolean;
}

export interface NumberSweepOptions extends SweepAxis {
  readonly modes?: readonly SteeringMode[];
  /** The value whose steering is kept in the modes `held` and `fixed`; the study's own when left out. */
  readonly reference?: number;
  readonly stop?: () => boolean;
}

/**
 * Sweeps one number (its own unit) and re-solves the payload (kg) at each value, outward from the reference; yields between
 * solves. Points without an answer are kept with their reason. Throws NumberError for a path or value that is not allowed.
 */
export function* numberSweepSteps(
  study: Study,
  options: NumberSweepOptions,
): Generator<SweepProgress, NumberSweep> {
  const { path, values, modes = ['reoptimised'] } = options;
  const stop = options.stop ?? ((): boolean => false);
  checkAxis(study, options);
  const reference = options.reference ?? numberOf(study, path);
  const at = (value: number): Study => withNumbers(study, [{ path, value }]);
  const answer = solveAnswer(compileAnswer(at(reference)), { stop });
  const { outcome } = answer;
  const of = 1 + modes.length * values.length;
  let done = 1;
  yield { done, of };
  const points: NumberPoint[] = [];
  if (outcome.status === 'converged') {
    const outward = [...values].sort((p, q) => Math.abs(p - reference) - Math.abs(q - reference));
    for (const mode of modes) {
      // A neighbour on the same side; the two sides meet at the reference.
      const memories = new Map<boolean, SolveMemory | null>();
      for (const value of outward) {
        if (stop()) break;
        const side = value > reference;
        const memory = memories.get(side) ?? outcome.memory;
        const point = solvePoint(at(value), mode, answer, memory, stop);
        if (point.outcome.memory !== null) memories.set(side, point.outcome.memory);
        const anatomy =
          point.compiled !== null && point.outcome.status === 'converged' && mode !== 'fixed'
            ? anatomyOf(answer, { compiled: point.compiled, outcome: point.outcome })
            : null;
        points.push({ mode, value, outcome: point.outcome, payload_kg: point.outcome.payload_kg, anatomy });
        yield { done: ++done, of };
      }
    }
  }
  points.sort(
    (p, q) =>
      modes.indexOf(p.mode) - modes.indexOf(q.mode) || values.indexOf(p.value) - values.indexOf(q.value),
  );
  return { path, reference: { value: reference, outcome }, points, cancelled: stop() };
}

/** Values at most, its own aside, of a sweep that nobody chose the ends of. */
const USUAL_POINTS = 9;
/** A number without a spread is swept so far to either side, as a share of it. */
const USUAL_REACH = 0.2;

/**
 * Values to sweep a number over when none are given, its own among them, rising and round, in its own unit: over its spread and half of
 * that again to either side, else a fifth of it each way, else (at zero) a hundred of its small steps; whole numbers for what
 * counts something. What its place does not allow is left out.
 */
export function usualValues(study: Study, path: string): number[] {
  const own = numberOf(study, path);
  const steps = stepsToNumber(study, path);
  const allowed = (value: number): boolean => refusalOf(study, steps, value) === null;
  if (countsWhole(study, steps)) return Array.from({ length: 7 }, (_, i) => own - 3 + i).filter(allowed);
  const spread = study.provenance[path]?.spread;
  const middle = spread === undefined ? own : 0.5 * (spread.low + spread.high);
  const half =
    spread !== undefined && spread.high > spread.low
      ? 0.75 * (spread.high - spread.low)
      : own === 0
        ? 100 * stepOf(path, own)
        : USUAL_REACH * Math.abs(own);
  const [low, high] = [Math.min(own, middle - half), Math.max(own, middle + half)];
  const step = roundStep((high - low) / USUAL_POINTS);
  const first = Math.ceil(low / step);
  const round = Array.from({ length: Math.floor(high / step) - first + 1 }, (_, i) =>
    Number(((first + i) * step).toPrecision(12)),
  );
  return [...new Set([...round, own])].filter(allowed).sort((p, q) => p - q);
}

/** The least of 1, 2 or 5 times a power of ten that is not less. */
function roundStep(step: number): number {
  const power = 10 ** Math.floor(Math.log10(step));
  const of = [1, 2, 5, 10].find((each) => each * power >= step * (1 - 1e-9)) ?? 10;
  return of * power;
}

function solvePoint(
  study: Study,
  mode: SteeringMode,
  reference: StudyAnswer,
  memory: SolveMemory | null,
  stop: () => boolean,
): { compiled: CompiledStudy | null; outcome: PayloadOutcome } {
  try {
    return solveMode(study, mode, reference, memory, stagingEvent(study), stop);
  } catch (error) {
    if (!(error instanceof PlanError)) throw error;
    const outcome = {
      ...reference.outcome,
      status: 'notSolved' as const,
      message: `${error.message}.`,
      payload_kg: Number.NaN,
      memory: null,
    };
    return { compiled: null, outcome };
  }
}

/** The event at which the upper stage's steering begins: the gap's ignition, else the first parting, else the first event. */
function stagingEvent({ sequence: { events } }: Study): string {
  const gap =
    events.find((event) => event.trigger.kind === 'gap') ??
    events.find((event) => event.action.kind === 'part');
  return (gap ?? events[0]!).id;
}

/** Throws NumberError unless the axis has values, each once, that its place allows. In the number's own unit. */
function checkAxis(study: Study, { path, values }: SweepAxis): void {
  if (values.length === 0) throw new NumberError(`${path}: received no value, allowed is one or more`);
  if (new Set(values).size < values.length)
    throw new NumberError(`${path}: received a value twice, allowed is each once`);
  checkChanges(
    study,
    values.map((value) => ({ path, value })),
  );
}

/** Rows of a map that one piece of work takes, in serpentine order. */
export const BAND_ROWS = 5;

/** A band of a map made ready: plain data for a thread. */
export interface BandTask {
  readonly study: Study;
  readonly x: SweepAxis;
  readonly y: SweepAxis;
  /** First row of the band, and one more than the last; rows are values of y. */
  readonly from: number;
  readonly to: number;
  /** Answer at the band's first point. */
  readonly start: SolveMemory | null;
}

export interface BandResult {
  readonly from: number;
  /** Row by row in the order of x; kg, NaN where there is no answer. */
  readonly payloads_kg: Float64Array;
  /** Of points without an answer, with the place in `payloads_kg`. */
  readonly reasons: readonly { readonly at: number; readonly message: string }[];
  readonly solves: number;
}

/** The bands of a map over two numbers, each with its first answer: solved along y from one cold solve. Masses in kg. */
export function planMap(
  study: Study,
  x: SweepAxis,
  y: SweepAxis,
  stop: () => boolean = () => false,
): BandTask[] {
  checkAxis(study, x);
  checkAxis(study, y);
  const [xSteps, ySteps] = [stepsToNumber(study, x.path), stepsToNumber(study, y.path)];
  if (JSON.stringify(xSteps) === JSON.stringify(ySteps))
    throw new NumberError(`${y.path}: received the same number twice, allowed is another one than ${x.path}`);
  const tasks: BandTask[] = [];
  let memory: SolveMemory | null = null;
  let base: CompiledStudy | null = null;
  for (let from = 0; from < y.values.length; from += BAND_ROWS) {
    const first = withNumbers(study, [
      { path: x.path, value: x.values[0]! },
      { path: y.path, value: y.values[from]! },
    ]);
    try {
      base = compileAnswer(first, base ?? undefined);
      ({ memory } = solveAnswer(base, memory === null ? { stop } : { memory, stop }).outcome);
    } catch (error) {
      if (!(error instanceof PlanError)) throw error;
      memory = null;
    }
    tasks.push({ study, x, y, from, to: Math.min(from + BAND_ROWS, y.values.length), start: memory });
  }
  return tasks;
}

/** Solves a band of a map, to and fro, each point from the one before. Payloads in kg. */
export function solveBand(
  { study, x, y, from, to, start }: BandTask,
  stop: () => boolean = () => false,
): BandResult {
  const columns = x.values.length;
  const payloads_kg = new Float64Array((to - from) * columns).fill(Number.NaN);
  const reasons: { at: number; message: string }[] = [];
  let memory = start;
  let base: CompiledStudy | null = null;
  let solves = 0;
  for (let row = from; row < to && !stop(); row++) {
    for (let k = 0; k < columns; k++) {
      const column = (row - from) % 2 === 0 ? k : columns - 1 - k;
      const at = (row - from) * columns + column;
      const own = withNumbers(study, [
        { path: x.path, value: x.values[column]! },
        { path: y.path, value: y.values[row]! },
      ]);
      try {
        base = compileAnswer(own, base ?? undefined);
        const { outcome } = solveAnswer(base, memory === null ? { stop } : { memory, stop });
        solves++;
        if (outcome.status === 'converged') {
          payloads_kg[at] = outcome.payload_kg;
          ({ memory } = outcome);
        } else reasons.push({ at, message: outcome.message });
      } catch (error) {
        if (!(error instanceof PlanError)) throw error;
        reasons.push({ at, message: `${error.message}.` });
      }
    }
  }
  return { from, payloads_kg, reasons, solves };
}
