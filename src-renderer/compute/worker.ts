/** The window's compute worker: solves and sweeps off the window's thread. */
import { compileStudy, recompile, type CompiledStudy } from '../../core/flight/compile.ts';
import { recordFlight } from '../../core/flight/record.ts';
import { packFlight } from '../../core/replay/flightData.ts';
import { solvePayload } from '../../core/solve/payload.ts';
import { gapDerivative_kgps } from '../../core/study/envelope.ts';
import { gapEvent } from '../../core/study/gap.ts';
import { sweepSteps, type SweepResult } from '../../core/study/sweep.ts';
import type { FromWorker, SolveReply, SolveRequest, SweepRequest, ToWorker } from './protocol.ts';

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

async function sweep(id: number, request: SweepRequest): Promise<SweepResult | null> {
  const { study, gaps_s, modes, reference_s } = request;
  const stop = (): boolean => cancelled.has(id);
  const steps = sweepSteps(study, { gaps_s, modes, reference_s, ledgers: true, stop });
  for (;;) {
    const step = steps.next();
    if (step.done === true) return stop() ? null : step.value;
    send({ kind: 'progress', id, done: step.value.done, of: step.value.of });
    // Lets a waiting cancellation in.
    await new Promise((resume) => setTimeout(resume, 0));
    if (stop()) return null;
  }
}

async function run(message: Extract<ToWorker, { kind: 'call' }>): Promise<void> {
  const { id, method, request } = message;
  try {
    const reply =
      method === 'solve' ? solve(request as SolveRequest) : await sweep(id, request as SweepRequest);
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
