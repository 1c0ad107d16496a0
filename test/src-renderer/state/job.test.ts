import { describe, expect, it } from 'vitest';
import { ComputeClient, type WorkerLike } from '../../../src-renderer/compute/client.ts';
import type { ToWorker } from '../../../src-renderer/compute/protocol.ts';
import { Job } from '../../../src-renderer/state/job.svelte.ts';
import { validateStudy } from '../../../core/contract/load.ts';
import ondel from '../../fixtures/ondel.plumeline.json' with { type: 'json' };

const loaded = validateStudy(ondel);
if (!loaded.ok) throw new Error('the fixture does not load');
const { study } = loaded;

/** A worker that answers when it is told to. */
class Bench implements WorkerLike {
  onmessage: WorkerLike['onmessage'] = null;
  onerror: WorkerLike['onerror'] = null;
  readonly seen: ToWorker[] = [];
  postMessage(message: ToWorker): void {
    this.seen.push(message);
    if (message.kind === 'cancel') this.onmessage!({ data: { kind: 'cancelled', id: message.id } });
  }
  /** Answers the last call. */
  reply(reply: unknown): void {
    const { id } = this.seen.findLast((message) => message.kind !== 'cancel')!;
    this.onmessage!({ data: { kind: 'reply', id, reply } });
  }
}

function bench(): { worker: Bench; job: Job<'modes'> } {
  const worker = new Bench();
  return { worker, job: new Job('modes', () => new ComputeClient(worker)) };
}

describe('a long computation', () => {
  it('that was called off by hand says so, and is not taken for one that was never asked for', async () => {
    const { job } = bench();
    expect(job.state.kind).toBe('none');
    const asked = job.ask(study, { study }, 3);
    expect(job.state).toMatchObject({ kind: 'running', done: 0, of: 3 });
    job.cancel();
    await asked;
    expect(job.state.kind).toBe('stopped');
  });

  it('keeps the reply that there was when its next run is called off', async () => {
    const { worker, job } = bench();
    const first = job.ask(study, { study }, 1);
    worker.reply({ rows: [], breakEven: null });
    await first;
    expect(job.state.kind).toBe('done');
    const second = job.ask(study, { study }, 1);
    job.cancel();
    await second;
    expect(job.state.kind).toBe('done');
    expect(job.study).toBe(study);
  });

  it('begins as new with another study, whatever was stopped before', async () => {
    const { job } = bench();
    const asked = job.ask(study, { study }, 1);
    job.cancel();
    job.clear();
    await asked;
    expect(job.state.kind).toBe('none');
  });
});
