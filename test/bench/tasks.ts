/** What is measured of one study: each task with how often it runs a round, what it counts, and the time aimed at. */
import { compileStudy, recompile, startValues, type CompiledStudy } from '../../core/flight/compile.ts';
import { SOLVE_ACCURACY } from '../../core/flight/accuracy.ts';
import { FlightEngine } from '../../core/flight/engine.ts';
import { recordFlight } from '../../core/flight/record.ts';
import type { Study } from '../../core/contract/study.ts';
import { solvePayload, type PayloadOutcome, type SolveCounts } from '../../core/solve/payload.ts';
import { gapEvent, gapOf_s, withGap } from '../../core/study/gap.ts';
import { sweepGap } from '../../core/study/sweep.ts';

/** Counts of one repetition, by name. */
export type Counts = Record<string, number>;

export interface Task {
  readonly name: string;
  /** Repetitions a round. */
  readonly batch: number;
  /** Runs once; throws when what comes out is no result. */
  readonly run: () => void;
  /** Counts of the last run. */
  readonly counts: () => Counts;
  readonly aim_ms?: number;
}

/** A study ready to be measured, with the flight that the references fly too. */
export interface Subject {
  readonly compiled: CompiledStudy;
  /** Answer of a cold solve: the flight that is measured carries it to the target. SI and radians. */
  readonly values: Float64Array;
  readonly engine: FlightEngine;
  /** How long compiling and solving took the first time, when nothing had run hot yet, ms. */
  readonly firstSolve_ms: number;
  readonly tasks: readonly Task[];
}

const FLIGHTS_A_ROUND = 20;
const SWEEP_GAPS_s = [0, 5, 10, 15, 20, 25, 30];
const WARM_SOLVE_AIM_ms = 16;
const SWEEP_AIM_ms = 150;

/** Names of the two tasks that have a counterpart in other languages. */
export const ONE_FLIGHT = 'one flight';
export const HELD_FLIGHT = 'one flight over held steps';

/** Solves the study once and makes its tasks. Throws when it has no answer: there is then nothing to measure. */
export function makeSubject(study: Study): Subject {
  const before = performance.now();
  const compiled = compileStudy(study);
  const answer = converged(solvePayload(compiled));
  const firstSolve_ms = performance.now() - before;
  const { values } = answer;
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  const tasks = [...flightTasks(compiled, values, engine), ...solveTasks(study, compiled, answer)];
  return { compiled, values, engine, firstSolve_ms, tasks };
}

function flightTasks(compiled: CompiledStudy, values: Float64Array, engine: FlightEngine): Task[] {
  const { driver, steps } = engine;
  const first = engine.compiled.plan.segments.findIndex((segment) => !segment.held);
  let before = 0;
  let recorded: Counts = {};
  return [
    {
      name: ONE_FLIGHT,
      batch: FLIGHTS_A_ROUND,
      run: () => {
        before = driver.stepper.evaluations;
        if (engine.fly(values) !== 'flown') throw new Error(engine.status.message);
      },
      counts: () => ({
        'right-hand sides': driver.stepper.evaluations - before,
        accepted: driver.acceptedSteps,
        rejected: driver.rejectedSteps,
        shortened: driver.shortenedSteps,
      }),
    },
    {
      name: HELD_FLIGHT,
      batch: FLIGHTS_A_ROUND,
      run: () => {
        before = driver.stepper.evaluations;
        if (!engine.refly(values, first)) throw new Error('a number of the flight is not finite');
      },
      counts: () => ({
        'right-hand sides': driver.stepper.evaluations - before,
        steps: steps.count,
      }),
    },
    {
      name: 'one recorded flight, with ledger and freed pieces',
      batch: 3,
      run: () => {
        const record = recordFlight(compiled, values);
        if (record.ledger === null) throw new Error(record.status.message);
        const { rightHandSides, acceptedSteps, rejectedSteps, shortenedSteps } = record.counts;
        recorded = {
          'right-hand sides': rightHandSides,
          accepted: acceptedSteps,
          rejected: rejectedSteps,
          shortened: shortenedSteps,
          tracks: record.tracks.length,
        };
      },
      counts: () => recorded,
    },
  ];
}

function solveTasks(study: Study, compiled: CompiledStudy, answer: PayloadOutcome): Task[] {
  let counts: Counts = {};
  const note = (outcome: PayloadOutcome): void => {
    counts = countsOf([converged(outcome).counts]);
  };
  // A solve starts from the study as it stands in its file.
  const start = startValues(compiled);
  const tasks: Task[] = [
    {
      name: 'compile the study',
      batch: 3,
      run: () => {
        const { segments } = compileStudy(study).plan;
        counts = { segments: segments.length };
      },
      counts: () => counts,
    },
    {
      name: 'cold solve',
      batch: 2,
      run: () => {
        note(solvePayload(compiled, { values: start }));
      },
      counts: () => counts,
    },
  ];
  if (!study.sequence.events.some(({ trigger }) => trigger.kind === 'gap')) return tasks;
  const event = gapEvent(study);
  const neighbour = withGap(study, event, gapOf_s(study, event) + 1);
  const memory = answer.memory!;
  tasks.push(
    {
      name: 'warm re-solve, gap 1 s longer',
      batch: 2,
      run: () => {
        note(solvePayload(recompile(compiled, neighbour), { memory }));
      },
      counts: () => counts,
      aim_ms: WARM_SOLVE_AIM_ms,
    },
    {
      name: `sweep of ${SWEEP_GAPS_s.length} gaps, 0 to 30 s`,
      batch: 1,
      run: () => {
        const { reference, points } = sweepGap(study, { gaps_s: SWEEP_GAPS_s });
        const outcomes = [reference.outcome, ...points.map((point) => point.outcome)];
        if (points.length !== SWEEP_GAPS_s.length) throw new Error('the sweep broke off');
        counts = countsOf(outcomes.map((outcome) => converged(outcome).counts));
      },
      counts: () => counts,
      aim_ms: SWEEP_AIM_ms,
    },
  );
  return tasks;
}

function converged(outcome: PayloadOutcome): PayloadOutcome {
  if (outcome.status !== 'converged') throw new Error(`a solve did not converge: ${outcome.message}`);
  return outcome;
}

function countsOf(all: readonly SolveCounts[]): Counts {
  const total = (pick: (counts: SolveCounts) => number): number =>
    all.reduce((sum, counts) => sum + pick(counts), 0);
  return {
    flights: total((c) => c.flights),
    'flights over held steps': total((c) => c.reflights),
    'right-hand sides': total((c) => c.rightHandSides),
    iterations: total((c) => c.iterations),
  };
}
