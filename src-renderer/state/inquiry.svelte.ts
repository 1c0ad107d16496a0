/** What the Question view asks beside answer, band and claim: which number is varied, sweeps of it, rates and break-even. */
import type { Study } from '../../core/contract/study.ts';
import { gapPath, numberOf, type NumberChange } from '../../core/study/numbers.ts';
import { usualValues } from '../../core/study/numberSweep.ts';
import type { ExchangeRate } from '../../core/study/rates.ts';
import type { ComputeClient } from '../compute/client.ts';
import { Job } from './job.svelte.ts';

/** A point of the curve that follows the hand; the number in its own unit. */
export interface LivePoint {
  readonly value: number;
  readonly payload_kg: number;
}

export class Inquiry {
  /** The number under the hand beside the gap, by its path; null for the gap alone. */
  varied = $state<string | null>(null);
  /** What the curve is drawn against: a number by its path, null for the gap. */
  axis = $state<string | null>(null);
  /** The curve as it becomes; empty while nothing has been changed since the sweep. */
  live = $state.raw<readonly LivePoint[]>([]);
  /** Rates that were solved again, by path; null where that has no answer. */
  verified = $state.raw<Readonly<Record<string, ExchangeRate | null>>>({});
  readonly numberSweep: Job<'numberSweep'>;
  /** Where the payload of each gap goes, part by part. */
  readonly anatomy: Job<'numberSweep'>;
  readonly rates: Job<'rates'>;
  readonly verify: Job<'verifyRate'>;
  readonly breakEven: Job<'breakEven'>;
  private takenApart: Study | null = null;
  private follower: ComputeClient | null = null;

  constructor(private readonly makeClient: () => ComputeClient) {
    this.numberSweep = new Job('numberSweep', makeClient);
    this.anatomy = new Job('numberSweep', makeClient);
    this.rates = new Job('rates', makeClient);
    this.verify = new Job('verifyRate', makeClient);
    this.breakEven = new Job('breakEven', makeClient);
  }

  /** Forgets everything: another study was opened. */
  clear(): void {
    for (const job of [this.numberSweep, this.anatomy, this.rates, this.verify, this.breakEven]) job.clear();
    this.follower?.cancel();
    this.takenApart = null;
    this.varied = null;
    this.axis = null;
    this.live = [];
    this.verified = {};
  }

  /** Puts a number under the hand and draws the curve against it. */
  vary(study: Study, path: string): void {
    this.varied = path;
    this.showAgainst(study, path);
  }

  /** Draws the curve against a number, or the gap again. */
  showAgainst(study: Study, path: string | null): void {
    this.axis = path;
    this.live = [];
    if (path !== null) this.askNumberSweep(study, path);
  }

  askNumberSweep(study: Study, path: string): void {
    const values = usualValues(study, path);
    const modes = ['reoptimised', 'held'] as const;
    const reference = numberOf(study, path);
    this.live = [];
    void this.numberSweep.ask(study, { study, path, values, reference, modes }, 1 + 2 * values.length);
  }

  /** Takes what each gap (s) costs apart, from no gap on; once for a study. */
  askAnatomy(study: Study, event: string, gaps_s: readonly number[]): void {
    if (this.takenApart === study) return;
    this.takenApart = study;
    const request = {
      study,
      path: gapPath(event),
      values: gaps_s,
      reference: 0,
      modes: ['reoptimised'] as const,
    };
    void this.anatomy.ask(study, request, 1 + gaps_s.length);
  }

  askRates(study: Study): void {
    this.verified = {};
    void this.rates.ask(study, { study }, 1);
  }

  /** Solves one rate again on both sides. */
  async verifyRate(study: Study, path: string): Promise<void> {
    await this.verify.ask(study, { study, path }, 1);
    const { reply, state } = this.verify;
    if (state.kind === 'done' && reply !== null && this.verify.study === study)
      this.verified = { ...this.verified, [path]: reply.rate };
  }

  askBreakEven(study: Study, change: NumberChange, against: string): void {
    void this.breakEven.ask(study, { study, change, against }, 1);
  }

  /** The curve anew for a study that is being changed in another number than the one that it is drawn against. */
  follow(study: Study, changed: string | null, gaps_s: readonly number[]): void {
    const { axis } = this;
    if (changed === axis) return;
    this.follower ??= this.makeClient();
    const modes = ['reoptimised'] as const;
    if (axis !== null) {
      const values = this.numberSweep.reply?.points
        .filter((p) => p.mode === 'reoptimised')
        .map((p) => p.value);
      if (values === undefined || values.length === 0) return;
      const request = { study, path: axis, values, reference: numberOf(study, axis), modes };
      void this.follower.call('numberSweep', request).then((settled) => {
        if (settled.kind !== 'reply' || this.axis !== axis) return;
        this.live = settled.reply.points.map(({ value, payload_kg }) => ({ value, payload_kg }));
      });
    } else if (gaps_s.length > 0) {
      void this.follower.call('sweep', { study, gaps_s, modes, reference_s: 0 }).then((settled) => {
        if (settled.kind !== 'reply' || this.axis !== axis) return;
        this.live = settled.reply.points.map(({ gap_s, payload_kg }) => ({ value: gap_s, payload_kg }));
      });
    }
  }
}
