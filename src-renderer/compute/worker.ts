/** The window's compute worker: solves and sweeps off the window's thread. */
import type { Study } from '../../core/contract/study.ts';
import { evidenceSteps, listChecks } from '../../core/evidence/checks.ts';
import { compileStudy, type CompiledStudy } from '../../core/flight/compile.ts';
import { recordFlight } from '../../core/flight/record.ts';
import { pictureOfParting, workOutCloseUps, type CloseUpOutcome } from '../../core/replay/film/closeUps.ts';
import { packFlight } from '../../core/replay/flightData.ts';
import { solveHomeward, withChosenReturns } from '../../core/replay/homeward.ts';
import { tellAllSettling, tellSettling } from '../../core/replay/settlingTold.ts';
import { compileAnswer, solveAnswer } from '../../core/solve/answer.ts';
import type { ReturnMemory } from '../../core/solve/return.ts';
import { gapDerivative_kgps } from '../../core/study/envelope.ts';
import { applyMode } from '../../core/study/applyMode.ts';
import { gapEvent, hasGap, withGap } from '../../core/study/gap.ts';
import { partingTable } from '../../core/parting/parting.ts';
import { modeSteps, ownWay, type ModeRow, type ModesResult } from '../../core/study/modes.ts';
import { calibratedStudy } from '../../core/study/calibration/calibrated.ts';
import { calibrationSteps } from '../../core/study/calibration/calibrate.ts';
import { observeFlight } from '../../core/study/calibration/observer.ts';
import { numberSweepSteps } from '../../core/study/numberSweep.ts';
import { breakEven } from '../../core/study/breakEven.ts';
import { rateSteps } from '../../core/study/rates.ts';
import { judge, spread } from './draws.ts';
import { Desk } from './desk.ts';
import { sweepSteps, type SweepResult } from '../../core/study/sweep.ts';
import type {
  BreakEvenRequest,
  CalibrateReply,
  CalibrateRequest,
  ClaimRequest,
  CloseUpRequest,
  EvidenceRequest,
  HomewardRequest,
  Method,
  ModeReply,
  ModesReply,
  ModesRequest,
  NumberSweepRequest,
  ObserveRequest,
  RatesRequest,
  SolveReply,
  SolveRequest,
  SpreadRequest,
  SweepRequest,
  ToWorker,
  VerifyRequest,
} from './protocol.ts';

const desk = new Desk((message) => postMessage(message));
/** The study compiled last: a drag changes one number, and the atmosphere need not be tabulated again. */
let latest: CompiledStudy | null = null;
/** Where the chosen returns of the last answer stood, for a drag's next one; at rest each is solved anew. */
const homes = new Map<string, ReturnMemory>();
const NO_MEMORIES: ReadonlyMap<string, ReturnMemory> = new Map();

function solve(request: SolveRequest): SolveReply {
  const { study, memory: near } = request;
  latest = compileAnswer(study, latest ?? undefined);
  const answer = solveAnswer(latest, near === undefined ? {} : { memory: near });
  const { compiled, outcome, coupled } = answer;
  const answered = outcome.status === 'converged';
  const record = answered ? recordFlight(compiled, outcome.values) : null;
  const packed = record === null ? null : packFlight(record);
  const home =
    packed === null
      ? null
      : withChosenReturns(answer, packed, {
          memories: near === undefined ? NO_MEMORIES : homes,
          // While the hand moves there is no time for what else a reserve would be worth.
          worth: near === undefined,
        });
  for (const each of home?.returns ?? []) {
    const memory = each.outcome?.memory ?? null;
    if (memory !== null) homes.set(each.plan, memory);
  }
  return {
    outcome,
    flight: home?.flight ?? null,
    settling: record === null ? [] : tellAllSettling(compiled, record),
    reserves: (home?.returns ?? []).map(({ verdict }) => verdict),
    kept: coupled === null ? null : { body: coupled.body, reserve_kg: coupled.reserve_kg },
    // What a second is worth comes at rest too.
    gapDerivative_kgps:
      answered && hasGap(study) && near === undefined
        ? gapDerivative_kgps(study, gapEvent(study), outcome)
        : Number.NaN,
    warm: near !== undefined,
  };
}

function sweep(id: number, request: SweepRequest): Promise<SweepResult | null> {
  const { study, gaps_s, modes, reference_s } = request;
  return desk.workThrough(
    id,
    sweepSteps(study, { gaps_s, modes, reference_s, ledgers: true, stop: desk.stopOf(id) }),
  );
}

/** Times from release at which the gap is drawn, s. */
const APART_s = Array.from({ length: 61 }, (_, i) => 0.1 * i);

async function modes(id: number, { study }: ModesRequest): Promise<ModesReply | null> {
  const result = await desk.workThrough(id, waySteps(study, desk.stopOf(id)));
  if (result === null) return null;
  return { rows: result.rows.map(tellRow), breakEven: result.breakEven };
}

/** The study's own staging first, then those that it names. */
function* waySteps(
  study: Study,
  stop: () => boolean,
): Generator<{ done: number; of: number }, Pick<ModesResult, 'rows' | 'breakEven'>> {
  const own = ownWay(study, stop);
  const first = own === null ? [] : [own];
  const steps = modeSteps(study, stop);
  for (;;) {
    const step = steps.next();
    if (step.done === true) return { ...step.value, rows: [...first, ...step.value.rows] };
    yield { done: step.value.done + 1, of: step.value.of + 1 };
  }
}

function tellRow({ parting, settling, outcome, masses_kg, flown, ...row }: ModeRow): ModeReply {
  return {
    ...row,
    masses_kg: [...masses_kg],
    propellant: settling === null || flown === null ? null : tellSettling(flown.compiled, settling),
    picture:
      parting === null || flown === null ? null : pictureOfParting(flown.compiled, flown.record, parting),
    values: outcome?.status === 'converged' ? outcome.values : null,
    apart:
      parting === null || parting.phase.steps.count === 0
        ? []
        : partingTable(parting, APART_s).map(({ time_s, gap_m, speed_mps }) => ({
            time_s,
            gap_m,
            speed_mps,
          })),
  };
}

function closeUps({ study, values, link, failed, way }: CloseUpRequest): CloseUpOutcome {
  const mode = way === undefined ? undefined : study.stagingModes?.[way.id];
  const staged =
    way === undefined || mode === undefined
      ? study
      : withGap(applyMode(study, mode), gapEvent(study, mode.event), way.gap_s);
  return workOutCloseUps(compileStudy(staged), values, link, failed);
}

async function calibrate(id: number, request: CalibrateRequest): Promise<CalibrateReply | null> {
  const { study, points, paths } = request;
  const steps = calibrationSteps(study, points, paths, { stop: desk.stopOf(id) });
  const calibration = await desk.workThrough(id, steps);
  if (calibration === null) return null;
  const after =
    calibration.status === 'converged' ? observeFlight(calibratedStudy(study, calibration), points) : null;
  return { calibration, after };
}

async function answer(id: number, method: Method, request: unknown): Promise<unknown> {
  switch (method) {
    case 'solve':
      return solve(request as SolveRequest);
    case 'sweep':
      return sweep(id, request as SweepRequest);
    case 'spread':
      return spread(desk, id, request as SpreadRequest);
    case 'claim':
      return judge(desk, id, request as ClaimRequest);
    case 'rates':
      return desk.workThrough(id, rateSteps((request as RatesRequest).study, { stop: desk.stopOf(id) }));
    case 'verifyRate': {
      const { study, path } = request as VerifyRequest;
      const steps = rateSteps(study, { only: [path], verify: true, stop: desk.stopOf(id) });
      const result = await desk.workThrough(id, steps);
      return result === null ? null : { rate: result.rates[0] ?? null };
    }
    case 'breakEven': {
      const { study, change, against } = request as BreakEvenRequest;
      return breakEven(study, { change, against, stop: desk.stopOf(id) });
    }
    case 'numberSweep': {
      const { study, ...options } = request as NumberSweepRequest;
      return desk.workThrough(id, numberSweepSteps(study, { ...options, stop: desk.stopOf(id) }));
    }
    case 'modes':
      return modes(id, request as ModesRequest);
    case 'evidence':
      return desk.workThrough(id, evidenceSteps(listChecks((request as EvidenceRequest).published)));
    case 'homeward': {
      const { study, plan, together } = request as HomewardRequest;
      return solveHomeward(study, plan, together);
    }
    case 'observe': {
      const { study, points } = request as ObserveRequest;
      return observeFlight(study, points);
    }
    case 'calibrate':
      return calibrate(id, request as CalibrateRequest);
    case 'closeUps':
      return closeUps(request as CloseUpRequest);
  }
}

addEventListener('message', (event: MessageEvent<ToWorker>) => {
  void desk.take(event.data, answer);
});
