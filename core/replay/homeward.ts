/** A study's return solved for the window: alone from an ascent, or with it; with what is shown of it. */
import type { Study } from '../contract/study.ts';
import { compileStudy, type CompiledStudy } from '../flight/compile.ts';
import { SOLVE_ACCURACY } from '../flight/accuracy.ts';
import { FlightEngine } from '../flight/engine.ts';
import { recordFlight } from '../flight/record.ts';
import { compileReturn, type CompiledReturn } from '../recovery/compile.ts';
import { reviewReturn, type ReturnReview } from '../recovery/review.ts';
import { partingFigures, startOfReturn, type PartingFigures } from '../recovery/start.ts';
import type { StudyAnswer } from '../solve/answer.ts';
import { solveChosenReturns, type ChosenOptions, type ChosenReturn } from '../solve/chosenReturns.ts';
import type { PayloadOutcome } from '../solve/outcome.ts';
import { solvePayload } from '../solve/payload.ts';
import { solveReturn, type ReturnMemory, type ReturnOutcome } from '../solve/return.ts';
import { bindingSentence } from '../solve/returnWords.ts';
import { compileWithReturn, withReserve } from '../solve/sequenceReturn.ts';
import { solveTogether } from '../solve/together.ts';
import { packFlight, readTrack, type FlightData } from './flightData.ts';
import { tellAllSettling, type SettlingTold } from './settlingTold.ts';
import { holdsOf, type HomeHold } from './homeHolds.ts';
import { sampleHome, withHome, type HomeCurves } from './home.ts';

/** Samples of a chart. */
const SAMPLES = 240;

/**
 * The flight of an answer with the returns that its study chooses and that solve from there in place of their bodies' falls. A
 * return that is short of propellant is not flown. SI.
 */
export function withChosenReturns(
  answer: StudyAnswer,
  flight: FlightData,
  options: ChosenOptions = {},
): { flight: FlightData; returns: readonly ChosenReturn[] } {
  const returns = solveChosenReturns(answer, options);
  let own = flight;
  for (const { home, outcome } of returns)
    if (home !== null && outcome?.status === 'converged')
      own = withHome(answer.compiled, own, home, outcome.values, outcome.start);
  return { flight: own, returns };
}

/** All that a window shows of a solved return; plain data. Masses in kg, NaN or null without an answer. */
export interface HomewardReply {
  readonly plan: string;
  readonly together: boolean;
  readonly status: 'converged' | 'notSolved';
  /** One sentence; says what to try without an answer. */
  readonly message: string;
  readonly payload_kg: number;
  readonly used_kg: number;
  readonly kept_kg: number;
  readonly holds: readonly HomeHold[];
  readonly review: ReturnReview | null;
  readonly parting: PartingFigures | null;
  readonly curves: HomeCurves | null;
  /** One after the other, where it was solved together. */
  readonly apart: {
    readonly payload_kg: number;
    readonly kept_kg: number;
    readonly message: string;
    readonly parting: PartingFigures | null;
  } | null;
  readonly pricePerKilogram: number;
  /** The study with what is kept, the answer that it flies, and the flight; null without an answer. */
  readonly flown: {
    readonly study: Study;
    readonly outcome: PayloadOutcome;
    readonly flight: FlightData;
    readonly settling: readonly SettlingTold[];
  } | null;
}

/** Solves the return of an id, with the ascent or from the answer without it. SI. */
export function solveHomeward(study: Study, plan: string, together: boolean): HomewardReply {
  return together ? bothTogether(study, plan) : oneByOne(study, plan);
}

function oneByOne(study: Study, plan: string): HomewardReply {
  const compiled = compileStudy(study);
  const ascent = solvePayload(compiled);
  if (ascent.status !== 'converged') return noAnswer(plan, false, ascent.message);
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  engine.fly(ascent.values);
  const home = compileReturn(compiled, plan, engine.plan);
  const start = startOfReturn(engine, home.body, home.reserve_kg, ascent.values, compiled.makeLaws());
  if (start === null) return noAnswer(plan, false, 'The ascent does not come to the parting of the body.');
  const outcome = solveReturn(home, start);
  if (outcome.status !== 'converged') return noAnswer(plan, false, outcome.message);
  return answered(study, compiled, ascent, home, outcome, {
    together: false,
    message: outcome.message,
    apart: null,
    pricePerKilogram: Number.NaN,
  });
}

function bothTogether(study: Study, plan: string): HomewardReply {
  const compiled = compileWithReturn(study, plan);
  const solved = solveTogether(compiled, plan);
  const { ascent, home, compiledHome, sequence, message, pricePerKilogram } = solved;
  if (solved.status !== 'converged' || home === null || compiledHome === null)
    return noAnswer(plan, true, message);
  const own = withReserve(study, compiledHome.plan.body, solved.reserve_kg);
  const apart =
    sequence?.status === 'converged'
      ? {
          payload_kg: sequence.payload_kg,
          kept_kg: sequence.reserve_kg,
          message: sequence.message,
          parting: sequence.home === null ? null : partingFigures(compiled, sequence.home.start),
        }
      : sequence === null
        ? null
        : { payload_kg: Number.NaN, kept_kg: Number.NaN, message: sequence.message, parting: null };
  return answered(own, compileStudy(own), ascent, compiledHome, home, {
    together: true,
    message,
    apart,
    pricePerKilogram,
  });
}

function answered(
  study: Study,
  compiled: CompiledStudy,
  ascent: PayloadOutcome,
  home: CompiledReturn,
  outcome: ReturnOutcome,
  rest: Pick<HomewardReply, 'together' | 'message' | 'apart' | 'pricePerKilogram'>,
): HomewardReply {
  const { start, values } = outcome;
  const record = recordFlight(compiled, ascent.values);
  const plain = packFlight(record);
  const flight = withHome(compiled, plain, home, values, start);
  const track = flight.tracks.findIndex((each) => each.home !== undefined);
  const path = flight.tracks[track]?.home;
  const reader = readTrack(compiled, flight, Math.max(0, track));
  return {
    ...rest,
    plan: home.id,
    status: 'converged',
    payload_kg: ascent.payload_kg,
    used_kg: outcome.used_kg,
    kept_kg: outcome.reserve_kg,
    holds: path === undefined ? [] : holdsOf(home, outcome, reader, path),
    review: reviewReturn(home, start, values),
    parting: partingFigures(compiled, start),
    curves: path === undefined ? null : sampleHome(reader, path, SAMPLES),
    flown: { study, outcome: ascent, flight, settling: tellAllSettling(compiled, record) },
  };
}

function noAnswer(plan: string, together: boolean, message: string): HomewardReply {
  return {
    plan,
    together,
    status: 'notSolved',
    message,
    payload_kg: Number.NaN,
    used_kg: Number.NaN,
    kept_kg: Number.NaN,
    holds: [],
    review: null,
    parting: null,
    curves: null,
    apart: null,
    pricePerKilogram: Number.NaN,
    flown: null,
  };
}
