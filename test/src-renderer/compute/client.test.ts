import { describe, expect, it } from 'vitest';
import { ComputeClient, type WorkerLike } from '../../../src-renderer/compute/client.ts';
import type { FromWorker, SweepRequest, ToWorker } from '../../../src-renderer/compute/protocol.ts';

class StagedWorker implements WorkerLike {
  readonly sent: ToWorker[] = [];
  onmessage: ((event: { data: FromWorker }) => void) | null = null;
  onerror: ((event: { message: string }) => void) | null = null;
  postMessage(message: ToWorker): void {
    this.sent.push(message);
  }
  answer(message: FromWorker): void {
    this.onmessage?.({ data: message });
  }
}

/** The client passes requests on unread, so a name stands in for one. */
const request = (name: string): SweepRequest => name as unknown as SweepRequest;

describe('ComputeClient', () => {
  it('lets the latest request win: what waited before is overtaken', async () => {
    const worker = new StagedWorker();
    const client = new ComputeClient(worker);
    const first = client.call('sweep', request('first'));
    const second = client.call('sweep', request('second'));
    const third = client.call('sweep', request('third'));
    expect(await second).toEqual({ kind: 'overtaken' });
    expect(worker.sent.length).toBe(1);
    worker.answer({ kind: 'reply', id: 1, reply: 'one' });
    expect(await first).toEqual({ kind: 'reply', reply: 'one' });
    expect(worker.sent[1]).toMatchObject({ kind: 'call', id: 3, request: 'third' });
    worker.answer({ kind: 'reply', id: 3, reply: 'three' });
    expect(await third).toEqual({ kind: 'reply', reply: 'three' });
    expect(client.busy).toBe(false);
  });

  it('passes progress on, tells a running call to stop, and drops its late reply', async () => {
    const worker = new StagedWorker();
    const client = new ComputeClient(worker);
    const seen: string[] = [];
    const call = client.call('sweep', request('x'), (done, of) => seen.push(`${done}/${of}`));
    worker.answer({ kind: 'progress', id: 1, done: 1, of: 7 });
    worker.answer({ kind: 'progress', id: 99, done: 5, of: 7 });
    client.cancel();
    expect(worker.sent[1]).toEqual({ kind: 'cancel', id: 1 });
    worker.answer({ kind: 'cancelled', id: 1 });
    expect(await call).toEqual({ kind: 'overtaken' });
    expect(seen).toEqual(['1/7']);
  });

  it('hands a failure on as a sentence and goes on with the next call', async () => {
    const worker = new StagedWorker();
    const client = new ComputeClient(worker);
    const bad = client.call('sweep', request('bad'));
    worker.answer({ kind: 'failed', id: 1, message: 'sequence.events: received none' });
    expect(await bad).toEqual({ kind: 'failed', message: 'sequence.events: received none' });
    const good = client.call('sweep', request('good'));
    worker.answer({ kind: 'reply', id: 2, reply: 2 });
    expect(await good).toEqual({ kind: 'reply', reply: 2 });
  });

  it('settles every call when the worker breaks', async () => {
    const worker = new StagedWorker();
    const client = new ComputeClient(worker);
    const running = client.call('sweep', request('a'));
    const waiting = client.call('sweep', request('b'));
    worker.onerror?.({ message: 'out of memory' });
    for (const call of [running, waiting]) {
      expect(await call).toEqual({ kind: 'failed', message: 'The computation broke off: out of memory' });
    }
  });
});
