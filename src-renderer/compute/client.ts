/**
 * The window's side of a compute worker: one call at a time a method, the latest wins. A call that is overtaken while it
 * waits is dropped; one that runs is told to stop, and its reply is dropped if it comes all the same.
 */
import type { ComputeMethods, FromWorker, Method, ToWorker } from './protocol.ts';

/** What the client needs of a worker, so that a test can stand in for one. */
export interface WorkerLike {
  postMessage(message: ToWorker): void;
  onmessage: ((event: { data: FromWorker }) => void) | null;
  onerror: ((event: { message: string }) => void) | null;
}

export type Settled<R> =
  | { readonly kind: 'reply'; readonly reply: R }
  /** A later call took its place, or it was cancelled. */
  | { readonly kind: 'overtaken' }
  | { readonly kind: 'failed'; readonly message: string };

interface Call {
  readonly id: number;
  readonly method: Method;
  readonly request: unknown;
  readonly onProgress: ((done: number, of: number) => void) | undefined;
  readonly settle: (settled: Settled<never>) => void;
}

export class ComputeClient {
  private nextId = 1;
  private running: Call | null = null;
  private waiting: Call | null = null;

  constructor(private readonly worker: WorkerLike) {
    worker.onmessage = (event) => this.receive(event.data);
    worker.onerror = (event) => this.broken(event.message);
  }

  get busy(): boolean {
    return this.running !== null;
  }

  /** Calls a method. While one runs the newest waits, and whatever waited before is overtaken. */
  call<M extends Method>(
    method: M,
    request: ComputeMethods[M]['request'],
    onProgress?: (done: number, of: number) => void,
  ): Promise<Settled<ComputeMethods[M]['reply']>> {
    return new Promise((resolve) => {
      const call: Call = {
        id: this.nextId++,
        method,
        request,
        onProgress,
        settle: resolve,
      };
      if (this.running === null) {
        this.start(call);
        return;
      }
      this.waiting?.settle({ kind: 'overtaken' });
      this.waiting = call;
    });
  }

  /** Calls off what runs and what waits. */
  cancel(): void {
    this.waiting?.settle({ kind: 'overtaken' });
    this.waiting = null;
    if (this.running !== null) this.worker.postMessage({ kind: 'cancel', id: this.running.id });
  }

  private start(call: Call): void {
    this.running = call;
    this.worker.postMessage({ kind: 'call', id: call.id, method: call.method, request: call.request });
  }

  private receive(message: FromWorker): void {
    const call = this.running;
    if (call?.id !== message.id) return;
    if (message.kind === 'progress') {
      call.onProgress?.(message.done, message.of);
      return;
    }
    this.running = null;
    const next = this.waiting;
    this.waiting = null;
    if (next !== null) this.start(next);
    switch (message.kind) {
      case 'reply':
        call.settle({ kind: 'reply', reply: message.reply as never });
        break;
      case 'cancelled':
        call.settle({ kind: 'overtaken' });
        break;
      case 'failed':
        call.settle({ kind: 'failed', message: message.message });
    }
  }

  private broken(message: string): void {
    const calls = [this.running, this.waiting];
    this.running = null;
    this.waiting = null;
    for (const call of calls)
      call?.settle({ kind: 'failed', message: `The computation broke off: ${message}` });
  }
}
