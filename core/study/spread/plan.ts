/**
 * A spread made ready: which numbers vary, which cases are compared, where each member's solves start, and what is
 * counted. Plain data that crosses to workers; a member's result depends on it and on the member's index alone.
 */
import { contentHash } from '../../contract/contentHash.ts';
import type { Study } from '../../contract/study.ts';
import { engineFingerprint } from '../../math/engineFingerprint.ts';
import { MOST_DIMENSIONS } from '../../math/sobol.ts';
import { compileAnswer, solveAnswer, solvedPaths } from '../../solve/answer.ts';
import type { SolveMemory } from '../../solve/payload.ts';
import {
  checkChanges,
  countsWhole,
  NumberError,
  refusalOf,
  stepsToNumber,
  withNumbers,
  withStep,
  type NumberChange,
} from '../numbers.ts';
import { finish } from '../steps.ts';
import { deviationOf, type Distribution } from './shapes.ts';

/** A number that varies, in its own unit. */
export interface SpreadInput extends Distribution {
  readonly path: string;
  readonly deviation: number;
}

/** One of the variants that every member solves from the same inputs. */
export interface SpreadCase {
  readonly name: string;
  /** What makes the case; a number set here does not vary in it. */
  readonly changes: readonly NumberChange[];
}

/** What is counted of a member: a weighted sum of its payloads (kg), over the payload of a case where `over` names one. */
export interface Quantity {
  readonly key: string;
  readonly weights: readonly number[];
  /** Index of the case whose payload it is a share of, else −1. */
  readonly over: number;
  /** Edges of its histogram, in its unit: kg, or dimensionless. */
  readonly low: number;
  readonly high: number;
  /** Its value where nothing varies. */
  readonly nominal: number;
}

export interface PlannedCase extends SpreadCase {
  /** Where nothing varies, kg. */
  readonly payload_kg: number;
  /** Where each member's solve starts, moved by `moves`. */
  readonly start: SolveMemory;
  /** dPayload/d(input), kg per unit of each input. */
  readonly slopes: Float64Array;
  /** d(parameter value)/d(input), input by input; SI or radians per unit of each input. */
  readonly moves: Float64Array;
}

export interface SpreadPlan {
  /** Tells one plan from another: made of the study's hash, the engine and what was asked. */
  readonly identity: string;
  readonly study: Study;
  readonly hash: string;
  readonly engine: string;
  readonly seed: number;
  /** Whether the variance is taken apart by input, which costs (k + 2) solves a member and case instead of one. */
  readonly indices: boolean;
  readonly inputs: readonly SpreadInput[];
  readonly cases: readonly PlannedCase[];
  readonly quantities: readonly Quantity[];
}

export interface SpreadRequest {
  /** The first is the one that the others are held against; the study as it stands when left out. */
  readonly cases?: readonly SpreadCase[];
  /** A whole number; 1 when left out. */
  readonly seed?: number;
  readonly indices?: boolean;
  /** More sums of the cases' payloads to count, by key; kg, or a share of a case's payload where `over` names one. */
  readonly sums?: readonly {
    readonly key: string;
    readonly weights: readonly number[];
    readonly over?: number;
  }[];
  /** A plan that was made before, by its identity: it is not made again. */
  readonly known?: (identity: string) => SpreadPlan | undefined;
  readonly stop?: () => boolean;
}

/** Pieces of work done so far and in all; unitless. */
export interface SpreadProgress {
  readonly done: number;
  readonly of: number;
}

/** Why a spread cannot be made, as a sentence. */
export class SpreadError extends Error {
  /** `noAnswer`: nothing is wrong with what was asked, but a case has none. */
  constructor(
    message: string,
    readonly code: 'badRequest' | 'noAnswer' = 'badRequest',
  ) {
    super(message);
    this.name = 'SpreadError';
  }
}

/** Step of the slopes, in deviations of the input. */
const STEP = 0.25;
/** Half-width of a histogram in deviations to first order: wide enough that hardly anything lies outside. */
const WIDE = 8;
/** And of a difference besides, in deviations of the payloads: what first order does not see. */
const MARGIN = 0.5;

/**
 * Plans a spread: solves each case where nothing varies, cold, and again a little aside in each input. Throws NumberError for
 * a path or value that the study does not allow, SpreadError when nothing varies or a case has no answer. Masses in kg.
 */
export function planSpread(study: Study, request: SpreadRequest = {}): SpreadPlan {
  return finish(planSpreadSteps(study, request));
}

/** As `planSpread`, yielding between solves so that a caller can tell how far it is, pause or stop. Masses in kg. */
export function* planSpreadSteps(
  study: Study,
  request: SpreadRequest = {},
): Generator<SpreadProgress, SpreadPlan> {
  const { seed = 1, indices = false } = request;
  const cases = request.cases ?? [{ name: 'as it stands', changes: [] }];
  if (cases.length === 0) throw new SpreadError('cases: received none, allowed is one or more.');
  const inputs = inputsOf(study);
  const columns = indices ? 2 * inputs.length : inputs.length;
  if (inputs.length === 0)
    throw new SpreadError(
      'provenance: received no number with a spread, allowed is a study with one or more; nothing varies.',
    );
  if (columns > MOST_DIMENSIONS)
    throw new SpreadError(
      `provenance: received ${inputs.length} numbers with a spread, allowed is at most ${MOST_DIMENSIONS}, half of it with indices.`,
    );
  const hash = contentHash(study);
  const engine = engineFingerprint();
  const identity = JSON.stringify([hash, engine, seed, indices, cases, request.sums ?? []]);
  const known = request.known?.(identity);
  if (known !== undefined) return known;
  const planned: PlannedCase[] = [];
  const perCase = 1 + inputs.length;
  for (const [c, each] of cases.entries()) {
    const steps = planCase(study, each, inputs, request.stop);
    let step = steps.next();
    for (let i = 1; step.done !== true; i++) {
      yield { done: c * perCase + i, of: cases.length * perCase };
      step = steps.next();
    }
    planned.push(step.value);
  }
  const quantities = quantitiesOf(planned, inputs, request.sums ?? []);
  return { identity, study, hash, engine, seed, indices, inputs, cases: planned, quantities };
}

/**
 * The numbers of a study that vary, in the order of its provenance, each in its own unit: those with a spread of some width
 * that a solve does not choose itself. Throws NumberError where a spread stands beside a count.
 */
function inputsOf(study: Study): SpreadInput[] {
  const solvedFor = solvedPaths(compileAnswer(study));
  return Object.entries(study.provenance).flatMap(([path, { spread }]) => {
    if (spread === undefined || !(spread.high > spread.low) || solvedFor.includes(path)) return [];
    const steps = stepsToNumber(study, path);
    if (countsWhole(study, steps))
      throw new NumberError(
        `provenance["${path}"].spread: received a spread of a count, allowed is one of a number that may be any`,
      );
    const nominal = steps.reduce<unknown>(
      (node, step) => (node as Record<string | number, unknown>)[step],
      study,
    ) as number;
    const distribution = { shape: spread.shape, low: spread.low, high: spread.high, nominal };
    return [{ path, ...distribution, deviation: deviationOf(distribution) }];
  });
}

/** Yields after each of its solves: the case itself and a step aside in each input. */
function* planCase(
  study: Study,
  { name, changes }: SpreadCase,
  inputs: readonly SpreadInput[],
  stop: () => boolean = () => false,
): Generator<void, PlannedCase> {
  checkChanges(study, changes);
  const own = withNumbers(study, changes);
  const compiled = compileAnswer(own);
  const { outcome } = solveAnswer(compiled, { stop });
  const { memory } = outcome;
  if (memory === null)
    throw new SpreadError(
      `Case "${name}" has no answer where nothing varies. ${outcome.message}`,
      'noAnswer',
    );
  yield;
  const n = memory.values.length;
  const slopes = new Float64Array(inputs.length);
  const moves = new Float64Array(inputs.length * n);
  const set = new Set(changes.map((change) => JSON.stringify(stepsToNumber(study, change.path))));
  for (const [i, input] of inputs.entries()) {
    const steps = stepsToNumber(study, input.path);
    // No slope where none is found: members then start further off, and the histogram is narrower than it might be.
    // A step to the other side where the place does not allow this one.
    for (const side of set.has(JSON.stringify(steps)) ? [] : [1, -1]) {
      const step = side * STEP * input.deviation;
      if (refusalOf(own, steps, input.nominal + step) !== null) continue;
      const aside = compileAnswer(withStep(own, steps, input.nominal + step), compiled);
      const { outcome: beside } = solveAnswer(aside, { memory, stop });
      if (beside.memory === null) continue;
      slopes[i] = (beside.payload_kg - outcome.payload_kg) / step;
      for (let p = 0; p < n; p++) moves[i * n + p] = (beside.memory.values[p]! - memory.values[p]!) / step;
      break;
    }
    yield;
  }
  return { name, changes, payload_kg: outcome.payload_kg, start: memory, slopes, moves };
}

function quantitiesOf(
  cases: readonly PlannedCase[],
  inputs: readonly SpreadInput[],
  sums: NonNullable<SpreadRequest['sums']>,
): Quantity[] {
  const unit = (c: number): number[] => cases.map((_, i) => (i === c ? 1 : 0));
  const less = (c: number): number[] => cases.map((_, i) => (i === c ? 1 : i === 0 ? -1 : 0));
  const others = cases.map((_, c) => c).slice(1);
  const wanted = [
    ...cases.map((_, c) => ({ key: `payload_kg.${c}`, weights: unit(c), over: -1 })),
    ...others.map((c) => ({ key: `difference_kg.${c}`, weights: less(c), over: -1 })),
    ...others.map((c) => ({ key: `gain.${c}`, weights: less(c), over: 0 })),
    ...sums.map(({ key, weights, over = -1 }) => ({ key, weights, over })),
  ];
  const deviation = (weights: readonly number[]): number =>
    Math.hypot(
      ...inputs.map(
        (input, i) => input.deviation * weights.reduce((sum, w, c) => sum + w * cases[c]!.slopes[i]!, 0),
      ),
    );
  const payloads = cases.map((each) => each.payload_kg);
  return wanted.map(({ key, weights, over }) => {
    const sum = weights.reduce((all, w, c) => all + w * payloads[c]!, 0);
    const largest = Math.max(...cases.map((_, c) => Math.abs(weights[c]!) * deviation(unit(c))));
    let half = WIDE * deviation(weights) + MARGIN * largest + 1e-6 * payloads[0]!;
    let nominal = sum;
    if (over >= 0) {
      const whole = payloads[over]!;
      nominal = sum / whole;
      half = half / whole + (WIDE * Math.abs(nominal) * deviation(unit(over))) / whole;
    }
    return { key, weights, over, nominal, low: nominal - half, high: nominal + half };
  });
}
