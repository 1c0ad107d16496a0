/** The window's compute worker: solves and sweeps off the window's thread. */
import { evidenceSteps, listChecks } from '../../core/evidence/checks.ts';
import { compileStudy, recompile, type CompiledStudy } from '../../core/flight/compile.ts';
import { recordFlight } from '../../core/flight/record.ts';
import { sampleCloseUps } from '../../core/replay/film/closeUps.ts';
import { packFlight } from '../../core/replay/flightData.ts';
import { solvePayload } from '../../core/solve/payload.ts';
import { gapDerivative_kgps } from '../../core/study/envelope.ts';
import { gapEvent } from '../../core/study/gap.ts';
import { partingTable } from '../../core/parting/parting.ts';
import { modeSteps } from '../../core/study/modes.ts';
import { gapPath } from '../../core/study/numbers.ts';
import { calibratedStudy } from '../../core/study/calibration/calibrated.ts';
import { calibrationSteps } from '../../core/study/calibration/calibrate.ts';
import { observeFlight } from '../../core/study/calibration/observer.ts';
import { planSpread } from '../../core/study/spread/plan.ts';
import { spreadSteps } from '../../core/study/spread/run.ts';
import { summarise } from '../../core/study/spread/summary.ts';
import { sweepSteps, type SweepResult } from '../../core/study/sweep.ts';
import type {
  CalibrateReply,
  CalibrateRequest,
  CloseUpRequest,
  EvidenceRequest,
  FromWorker,
  Method,
  ModesReply,
  ModesRequest,
  ObserveRequest,
  SolveReply,
  SolveRequest,
  SpreadReply,
  SpreadRequest,
  SweepRequest,
  ToWorker,
} from './protocol.ts';

const cancelled = new Set<number>();
/** The study compiled last: a drag changes one number, and the atmosphere need not be tabulated again. */
let latest: CompiledStudy | null = null;

function send(message: FromWorker): void {
  postMessage(message);
}

function solve(request: SolveRequest): SolveReply {
  const compiled = latest === null ? compileStudy(request.study) : recompile(latest, request.study);
  latest = compiled;
  const outcome = solvePayload(compiled, request.memory === undefined ? {} : { memory: request.memory });
  const answered = outcome.status === 'converged';
  const hasGap = request.study.sequence.events.some((event) => event.trigger.kind === 'gap');
  return {
    outcome,
    flight: answered ? packFlight(recordFlight(compiled, outcome.values)) : null,
    gapDerivative_kgps:
      answered && hasGap ? gapDerivative_kgps(request.study, gapEvent(request.study), outcome) : Number.NaN,
    warm: request.memory !== undefined,
  };
}

/**
 * Works a computation's steps through, telling the window how far it is and letting a waiting cancellation in after each
 * `every`; what they come to, or null when it was called off.
 */
async function workThrough<Result>(
  id: number,
  steps: Iterator<{ readonly done: number; readonly of: number }, Result>,
  every = 1,
): Promise<Result | null> {
  for (let i = 0; ; i++) {
    const step = steps.next();
    if (step.done === true) return cancelled.has(id) ? null : step.value;
    if (i % every > 0) continue;
    send({ kind: 'progress', id, done: step.value.done, of: step.value.of });
    await new Promise((resume) => setTimeout(resume, 0));
    if (cancelled.has(id)) return null;
  }
}

function sweep(id: number, request: SweepRequest): Promise<SweepResult | null> {
  const { study, gaps_s, modes, reference_s } = request;
  const stop = (): boolean => cancelled.has(id);
  return workThrough(id, sweepSteps(study, { gaps_s, modes, reference_s, ledgers: true, stop }));
}

/** Members between which a waiting message is let in. */
const AT_ONCE = 4;

async function spread(id: number, request: SpreadRequest): Promise<SpreadReply | null> {
  const { study, event, gaps_s, members, seed } = request;
  const stop = (): boolean => cancelled.has(id);
  const cases = gaps_s.map((value) => ({ name: `${value} s`, changes: [{ path: gapPath(event), value }] }));
  const plan = planSpread(study, { cases, seed, stop });
  const tally = await workThrough(id, spreadSteps(plan, { from: 0, to: members, stop }), AT_ONCE);
  if (tally === null) return null;
  return { gaps_s, summary: summarise(tally), inputs: plan.inputs.map((input) => input.path) };
}

/** Times from release at which the gap is drawn, s. */
const APART_s = Array.from({ length: 61 }, (_, i) => 0.1 * i);

async function modes(id: number, { study }: ModesRequest): Promise<ModesReply | null> {
  const result = await workThrough(
    id,
    modeSteps(study, () => cancelled.has(id)),
  );
  if (result === null) return null;
  const rows = result.rows.map(({ parting, settling, outcome: _, masses_kg, ...row }) => ({
    ...row,
    masses_kg: [...masses_kg],
    propellant: settling?.state ?? null,
    apart:
      parting === null || parting.phase.steps.count === 0
        ? []
        : partingTable(parting, APART_s).map(({ time_s, gap_m, speed_mps }) => ({
            time_s,
            gap_m,
            speed_mps,
          })),
  }));
  return { rows, breakEven: result.breakEven };
}

async function calibrate(id: number, request: CalibrateRequest): Promise<CalibrateReply | null> {
  const { study, points, paths } = request;
  const stop = (): boolean => cancelled.has(id);
  const calibration = await workThrough(id, calibrationSteps(study, points, paths, { stop }));
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
      return spread(id, request as SpreadRequest);
    case 'modes':
      return modes(id, request as ModesRequest);
    case 'evidence':
      return workThrough(id, evidenceSteps(listChecks((request as EvidenceRequest).published)));
    case 'observe': {
      const { study, points } = request as ObserveRequest;
      return observeFlight(study, points);
    }
    case 'calibrate':
      return calibrate(id, request as CalibrateRequest);
    case 'closeUps': {
      const { study, values, link } = request as CloseUpRequest;
      return { views: sampleCloseUps(compileStudy(study), values, link) };
    }
  }
}

async function run(message: Extract<ToWorker, { kind: 'call' }>): Promise<void> {
  const { id, method, request } = message;
  try {
    const reply = await answer(id, method, request);
    send(reply === null || cancelled.has(id) ? { kind: 'cancelled', id } : { kind: 'reply', id, reply });
  } catch (error) {
    send({ kind: 'failed', id, message: error instanceof Error ? error.message : String(error) });
  } finally {
    cancelled.delete(id);
  }
}

addEventListener('message', (event: MessageEvent<ToWorker>) => {
  const message = event.data;
  if (message.kind === 'cancel') cancelled.add(message.id);
  else void run(message);
});
