/**
 * The staging question with the way home coupled: at each gap, and for each way of staging, ascent and return are solved in
 * one problem, since an overlap changes what the return takes.
 */
import type { Study } from '../contract/study.ts';
import { recompile, type CompiledStudy } from '../flight/compile.ts';
import { partingFigures, type PartingFigures } from '../recovery/start.ts';
import { solvePayload } from '../solve/payload.ts';
import { compileWithReturn } from '../solve/sequenceReturn.ts';
import { solveTogether, type TogetherMemory, type TogetherOutcome } from '../solve/together.ts';
import { applyMode } from './applyMode.ts';
import { GapError, gapEvent, withGap } from './gap.ts';
import type { ModeRow } from './modes.ts';

export interface CoupledPoint {
  readonly gap_s: number;
  readonly outcome: TogetherOutcome;
  /** With what the reference keeps, and no thought of the return, kg; NaN without an answer. */
  readonly alonePayload_kg: number;
  /** Null without an answer. */
  readonly parting: PartingFigures | null;
}

export interface CoupledSweep {
  readonly reference_s: number;
  readonly reference: CoupledPoint;
  /** In the order asked for. */
  readonly points: readonly CoupledPoint[];
  readonly cancelled: boolean;
}

export interface CoupledSweepOptions {
  readonly gaps_s: readonly number[];
  /** The gap whose answer is 100 %, and whose reserve the ascents keep that know nothing of the return. */
  readonly reference_s: number;
  readonly event?: string;
  readonly stop?: () => boolean;
}

/**
 * Sweeps the gap (s) with the return of an id, outward from the reference, each from its neighbour. What does not converge
 * stands in its point with its reason. Yields solves done and in all. Throws GapError and PlanError as `sweepSteps` and
 * `compileWithReturn` do. Masses in kg.
 */
export function* coupledSteps(
  study: Study,
  id: string,
  options: CoupledSweepOptions,
): Generator<{ done: number; of: number }, CoupledSweep> {
  const { gaps_s, reference_s } = options;
  if (gaps_s.length === 0)
    throw new GapError('gaps_s: received none, allowed is one or more gaps in seconds');
  const event = gapEvent(study, options.event);
  const stop = options.stop ?? ((): boolean => false);
  const of = gaps_s.length + 1;
  const base = compileWithReturn(withGap(study, event, reference_s), id);
  const first = solveTogether(base, id, { near: true, stop });
  const reference = pointOf(base, reference_s, first, first.reserve_kg, stop);
  yield { done: 1, of };
  const points: CoupledPoint[] = [];
  for (const side of [-1, 1]) {
    let memory = first.memory;
    const own = gaps_s.filter((gap) => (side < 0 ? gap < reference_s : gap >= reference_s));
    for (const gap_s of own.sort((p, q) => side * (p - q))) {
      if (stop()) break;
      if (gap_s === reference_s) points.push(reference);
      else {
        const compiled = recompile(base, withGap(study, event, gap_s));
        const outcome = solveTogether(compiled, id, {
          ...(memory === null ? {} : { memory }),
          near: true,
          stop,
        });
        memory = outcome.memory ?? memory;
        points.push(pointOf(compiled, gap_s, outcome, first.reserve_kg, stop));
      }
      yield { done: points.length + 1, of };
    }
  }
  points.sort((p, q) => gaps_s.indexOf(p.gap_s) - gaps_s.indexOf(q.gap_s));
  return { reference_s, reference, points, cancelled: stop() };
}

function pointOf(
  compiled: CompiledStudy,
  gap_s: number,
  outcome: TogetherOutcome,
  kept_kg: number,
  stop: () => boolean,
): CoupledPoint {
  const converged = outcome.status === 'converged';
  let alonePayload_kg = Number.NaN;
  if (converged && !Number.isNaN(kept_kg) && !stop()) {
    const values = Float64Array.from([...outcome.ascent.values, kept_kg]);
    const near = solvePayload(compiled, { values, fromValues: true, stop });
    const alone = near.status === 'converged' ? near : solvePayload(compiled, { values, stop });
    alonePayload_kg = alone.payload_kg;
  }
  const parting = converged && outcome.home !== null ? partingFigures(compiled, outcome.home.start) : null;
  return { gap_s, outcome, alonePayload_kg, parting };
}

/** A way of staging with the return coupled, at the gap that it was found to need. */
export interface CoupledMode {
  readonly id: string;
  readonly outcome: TogetherOutcome;
}

/**
 * Solves the ways of staging of a table (see `modeSteps`) again with the return of an id, each at its row's gap (s) and from the
 * one before; those that fail or have no payload are left out. Yields solves done and in all. Masses in kg.
 */
export function* coupledModeSteps(
  study: Study,
  id: string,
  rows: readonly ModeRow[],
  stop: () => boolean = () => false,
): Generator<{ done: number; of: number }, readonly CoupledMode[]> {
  const own = rows.filter((row) => !Number.isNaN(row.payload_kg) && row.verdict !== 'fails');
  const found: CoupledMode[] = [];
  let memory: TogetherMemory | null = null;
  for (const row of own) {
    if (stop()) break;
    const mode = study.stagingModes![row.id]!;
    const staged = withGap(applyMode(study, mode), gapEvent(study, mode.event), row.gap_s);
    const outcome: TogetherOutcome = solveTogether(compileWithReturn(staged, id), id, {
      ...(memory === null ? {} : { memory }),
      near: true,
      stop,
    });
    memory = outcome.memory ?? memory;
    found.push({ id: row.id, outcome });
    yield { done: found.length, of: own.length };
  }
  return found;
}
