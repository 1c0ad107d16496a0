/** How a worker takes calls and cancellations, and lets them in between the steps of what it computes. */
import type { FromWorker, Method, ToWorker } from './protocol.ts';

/** Pieces of work done so far and in all. */
export interface Steps {
  readonly done: number;
  readonly of: number;
}

/** Steps that take less than this together are not told one by one, ms. */
const OFTEN_ms = 40;

export class Desk {
  private readonly cancelled = new Set<number>();

  constructor(private readonly send: (message: FromWorker) => void) {}

  /** Whether a call was called off. */
  stopOf(id: number): () => boolean {
    return () => this.cancelled.has(id);
  }

  /**
   * Works a computation's steps through, telling the window how far it is and letting a waiting cancellation in between;
   * what they come to, or null when it was called off. `shown` makes what is told of a step.
   */
  async workThrough<Result>(
    id: number,
    steps: Iterator<Steps, Result>,
    shown: (step: Steps) => Steps = (step) => step,
  ): Promise<Result | null> {
    for (let told_ms = -Infinity; ;) {
      const step = steps.next();
      if (step.done === true) return this.cancelled.has(id) ? null : step.value;
      if (performance.now() - told_ms < OFTEN_ms) continue;
      told_ms = performance.now();
      this.send({ kind: 'progress', id, ...shown(step.value) });
      await new Promise((resume) => setTimeout(resume, 0));
      if (this.cancelled.has(id)) return null;
    }
  }

  /** Takes a message: answers a call by `answer`, whose null says that it was called off. */
  async take(
    message: ToWorker,
    answer: (id: number, method: Method, request: unknown) => Promise<unknown>,
  ): Promise<void> {
    const { id } = message;
    if (message.kind === 'cancel') {
      this.cancelled.add(id);
      return;
    }
    try {
      const reply = await answer(id, message.method, message.request);
      const off = reply === null || this.cancelled.has(id);
      this.send(off ? { kind: 'cancelled', id } : { kind: 'reply', id, reply });
    } catch (error) {
      this.send({ kind: 'failed', id, message: error instanceof Error ? error.message : String(error) });
    } finally {
      this.cancelled.delete(id);
    }
  }
}
