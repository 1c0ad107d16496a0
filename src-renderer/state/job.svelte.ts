/** A long computation on a study, one at a time: how far it is, and the last reply with the study that it answers for. */
import type { Study } from '../../core/contract/study.ts';
import type { ComputeClient } from '../compute/client.ts';
import type { ComputeMethods, Method } from '../compute/protocol.ts';

export type JobState =
  | { readonly kind: 'none' }
  /** `left_s` is NaN until something is done. */
  | { readonly kind: 'running'; readonly done: number; readonly of: number; readonly left_s: number }
  | { readonly kind: 'done' }
  /** Called off by hand before there was a reply: it does not begin again by itself. */
  | { readonly kind: 'stopped' }
  /** The sentence says why. */
  | { readonly kind: 'failed'; readonly message: string };

export class Job<M extends Method> {
  reply = $state.raw<ComputeMethods[M]['reply'] | null>(null);
  /** The study that the reply answers for. */
  study = $state.raw<Study | null>(null);
  state = $state.raw<JobState>({ kind: 'none' });
  private client: ComputeClient | null = null;
  private stopping = false;

  /** The worker is made when it is first needed: most sessions never ask. */
  constructor(
    private readonly method: M,
    private readonly makeClient: () => ComputeClient,
  ) {}

  /** Forgets everything: another study was opened. */
  clear(): void {
    this.stopping = false;
    this.client?.cancel();
    this.reply = null;
    this.study = null;
    this.state = { kind: 'none' };
  }

  /** Asks for `of` pieces of work on the study, or on none; what runs is called off. */
  async ask(study: Study | null, request: ComputeMethods[M]['request'], of: number): Promise<void> {
    this.client ??= this.makeClient();
    this.client.cancel();
    // From the first report on: what was done before it, or before a reload, says nothing of the pace.
    let begun: { done: number; ms: number } | null = null;
    this.stopping = false;
    this.state = { kind: 'running', done: 0, of, left_s: Number.NaN };
    const settled = await this.client.call(this.method, request, (done, all) => {
      begun ??= { done, ms: performance.now() };
      const pace = (done - begun.done) / (performance.now() - begun.ms);
      const left_s = pace > 0 ? (0.001 * (all - done)) / pace : Number.NaN;
      this.state = { kind: 'running', done, of: all, left_s };
    });
    if (settled.kind === 'overtaken') {
      if (this.client.busy) return;
      this.state = { kind: this.rest() };
      return;
    }
    if (settled.kind === 'failed') {
      this.state = { kind: 'failed', message: settled.message };
      return;
    }
    this.reply = settled.reply;
    this.study = study;
    this.state = { kind: 'done' };
  }

  /** What it is when nothing runs and nothing failed. */
  private rest(): 'done' | 'stopped' | 'none' {
    return this.reply !== null ? 'done' : this.stopping ? 'stopped' : 'none';
  }

  /** Calls off what runs. */
  cancel(): void {
    this.stopping = true;
    this.client?.cancel();
  }
}
