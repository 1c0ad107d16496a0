/** The band on the answer: how it spreads when the study's uncertain numbers vary together. One spread at a time. */
import type { Study } from '../../core/contract/study.ts';
import type { QuantitySummary } from '../../core/study/spread/summary.ts';
import type { ComputeClient } from '../compute/client.ts';
import type { SpreadReply } from '../compute/protocol.ts';

export type SpreadState =
  | { readonly kind: 'none' }
  | { readonly kind: 'running'; readonly done: number; readonly of: number; readonly left_s: number }
  | { readonly kind: 'done' }
  /** The sentence says why. */
  | { readonly kind: 'failed'; readonly message: string };

/** Members of the band that the window asks for by itself: quantiles to a few per cent of the band's width. */
export const USUAL_MEMBERS = 128;

export class SpreadResults {
  reply = $state.raw<SpreadReply | null>(null);
  /** The study that the reply answers for. */
  study = $state.raw<Study | null>(null);
  state = $state.raw<SpreadState>({ kind: 'none' });
  private client: ComputeClient | null = null;

  /** The worker is made when it is first needed: most sessions never ask. */
  constructor(private readonly makeClient: () => ComputeClient) {}

  clear(): void {
    this.client?.cancel();
    this.reply = null;
    this.study = null;
    this.state = { kind: 'none' };
  }

  /** Every member solves all gaps (s); the first is the one that the others are held against. */
  async ask(study: Study, event: string, gaps_s: readonly number[], members = USUAL_MEMBERS): Promise<void> {
    this.client ??= this.makeClient();
    this.client.cancel();
    const begun_ms = performance.now();
    this.state = { kind: 'running', done: 0, of: members, left_s: Number.NaN };
    const request = { study, event, gaps_s, members, seed: 1 };
    const settled = await this.client.call('spread', request, (done, of) => {
      const left_s = ((of - done) / done) * 0.001 * (performance.now() - begun_ms);
      this.state = { kind: 'running', done, of, left_s };
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

/** A quantity of a reply by its key: payload_kg, difference_kg or gain of a gap (s); null when it was not counted. */
export function quantityAt(
  reply: SpreadReply,
  kind: 'payload_kg' | 'difference_kg' | 'gain',
  gap_s: number,
): QuantitySummary | null {
  const key = `${kind}.${reply.gaps_s.indexOf(gap_s)}`;
  return reply.summary.quantities.find((each) => each.key === key) ?? null;
}
