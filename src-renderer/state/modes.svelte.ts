/** The study's ways of staging held against each other. */
import type { Study } from '../../core/contract/study.ts';
import type { ComputeClient } from '../compute/client.ts';
import type { ModesReply } from '../compute/protocol.ts';

export type ModesState =
  | { readonly kind: 'none' }
  | { readonly kind: 'running'; readonly done: number; readonly of: number }
  | { readonly kind: 'done' }
  /** The sentence says why. */
  | { readonly kind: 'failed'; readonly message: string };

export class ModesResults {
  reply = $state.raw<ModesReply | null>(null);
  /** The study that the reply answers for. */
  study = $state.raw<Study | null>(null);
  state = $state.raw<ModesState>({ kind: 'none' });
  private client: ComputeClient | null = null;

  /** The worker is made when it is first needed. */
  constructor(private readonly makeClient: () => ComputeClient) {}

  clear(): void {
    this.client?.cancel();
    this.reply = null;
    this.study = null;
    this.state = { kind: 'none' };
  }

  async ask(study: Study): Promise<void> {
    this.client ??= this.makeClient();
    this.client.cancel();
    this.state = { kind: 'running', done: 0, of: Object.keys(study.stagingModes ?? {}).length + 1 };
    const settled = await this.client.call('modes', { study }, (done, of) => {
      this.state = { kind: 'running', done, of };
    });
    if (settled.kind === 'overtaken') {
      if (!this.client.busy) this.state = this.reply === null ? { kind: 'none' } : { kind: 'done' };
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

  cancel(): void {
    this.client?.cancel();
  }
}
