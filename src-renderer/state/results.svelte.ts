/**
 * Answers to the open study. While the hand moves, the last converged answer stands and is marked as being solved again;
 * at rest the answer is solved anew from its canonical cold start, and only that one counts as settled.
 */
import type { Study } from '../../core/contract/study.ts';
import { compileStudy, type CompiledStudy } from '../../core/flight/compile.ts';
import { readTrack, type FlightData } from '../../core/replay/flightData.ts';
import type { TrackReader } from '../../core/flight/track.ts';
import { asAnswered } from '../../core/solve/answer.ts';
import type { SolveMemory } from '../../core/solve/payload.ts';
import { STEERING_MODES, type SteeringMode, type SweepResult } from '../../core/study/sweep.ts';
import { gapOf_s } from '../../core/study/gap.ts';
import type { ComputeClient } from '../compute/client.ts';
import type { HomewardReply } from '../../core/replay/homeward.ts';
import type { SolveReply } from '../compute/protocol.ts';

/** An answer with all that is needed to draw its flight. */
export interface Answer {
  readonly study: Study;
  /** As it is flown: with what is kept for the return that it was solved with. */
  readonly flown: Study;
  readonly reply: SolveReply;
  readonly payload_kg: number;
  readonly flight: FlightData;
  readonly compiled: CompiledStudy;
  readonly readers: readonly TrackReader[];
  /** Solved from the canonical start; a provisional answer came from a neighbour during a drag. */
  readonly settled: boolean;
  /** What else it was solved with; empty for the study's own answer. */
  readonly with: string;
}

export type SolveState =
  | { readonly kind: 'empty' }
  | { readonly kind: 'solving' }
  | { readonly kind: 'solved' }
  /** The sentence says why and what to try. */
  | { readonly kind: 'failed'; readonly message: string };

export type SweepState =
  | { readonly kind: 'none' }
  | { readonly kind: 'running'; readonly done: number; readonly of: number }
  | { readonly kind: 'done' }
  /** Called off by hand before there was one. */
  | { readonly kind: 'stopped' }
  | { readonly kind: 'failed'; readonly message: string };

/** A pause of the hand this long is rest, ms. */
const REST_ms = 180;

export class Results {
  answer = $state.raw<Answer | null>(null);
  solve = $state.raw<SolveState>({ kind: 'empty' });
  sweep = $state.raw<SweepResult | null>(null);
  sweepStudy = $state.raw<Study | null>(null);
  sweepState = $state.raw<SweepState>({ kind: 'none' });
  private stopping = false;
  private memory: SolveMemory | null = null;
  private rest: ReturnType<typeof setTimeout> | null = null;
  private asked = 0;

  constructor(
    private readonly solver: ComputeClient,
    private readonly sweeper: ComputeClient,
  ) {}

  /** Forgets everything: another study was opened. */
  clear(): void {
    this.stopping = false;
    this.solver.cancel();
    this.sweeper.cancel();
    if (this.rest !== null) clearTimeout(this.rest);
    this.answer = null;
    this.memory = null;
    this.solve = { kind: 'empty' };
    this.sweep = null;
    this.sweepStudy = null;
    this.sweepState = { kind: 'none' };
  }

  /** Solves the study; while the hand moves (`moving`) from the last answer, and from its cold start once at rest. */
  ask(study: Study, moving: boolean): void {
    if (this.rest !== null) clearTimeout(this.rest);
    this.rest = null;
    if (moving && this.memory !== null) {
      void this.run(study, this.memory);
      this.rest = setTimeout(() => void this.run(study, null), REST_ms);
    } else {
      void this.run(study, null);
    }
  }

  /** Puts an answer on show that something else has worked out, until the study is solved again. */
  show(flown: NonNullable<HomewardReply['flown']>, words: string): void {
    const { study, outcome, flight, settling } = flown;
    this.solver.cancel();
    if (this.rest !== null) clearTimeout(this.rest);
    this.rest = null;
    this.asked += 1;
    const none = { reserves: [], kept: null, gapDerivative_kgps: Number.NaN, warm: false };
    const reply = { outcome, flight, settling, ...none };
    this.answer = { ...makeAnswer(study, reply, flight), with: words };
    this.solve = { kind: 'solved' };
  }

  /** Sweeps the gap in the given modes (all when left out). */
  async askSweep(
    study: Study,
    gaps_s: readonly number[],
    reference_s: number,
    modes: readonly SteeringMode[] = STEERING_MODES,
  ): Promise<void> {
    this.stopping = false;
    this.sweepState = { kind: 'running', done: 0, of: 1 + gaps_s.length * modes.length };
    const settled = await this.sweeper.call('sweep', { study, gaps_s, modes, reference_s }, (done, of) => {
      this.sweepState = { kind: 'running', done, of };
    });
    if (settled.kind === 'overtaken') {
      if (this.sweeper.busy) return;
      this.sweepState = { kind: this.sweepAtRest() };
      return;
    }
    if (settled.kind === 'failed') {
      this.sweepState = { kind: 'failed', message: settled.message };
      return;
    }
    const { reference } = settled.reply;
    if (reference.outcome.status !== 'converged') {
      this.sweepState = { kind: 'failed', message: reference.outcome.message };
      return;
    }
    this.sweep = settled.reply;
    this.sweepStudy = study;
    this.sweepState = { kind: 'done' };
  }

  private sweepAtRest(): 'done' | 'stopped' | 'none' {
    return this.sweep !== null ? 'done' : this.stopping ? 'stopped' : 'none';
  }

  cancelSweep(): void {
    this.stopping = true;
    this.sweeper.cancel();
  }

  private async run(study: Study, memory: SolveMemory | null): Promise<void> {
    const number = ++this.asked;
    this.solve = { kind: 'solving' };
    const settled = await this.solver.call('solve', memory === null ? { study } : { study, memory });
    if (settled.kind === 'overtaken') return;
    const newest = number === this.asked;
    if (settled.kind === 'failed') {
      if (newest) this.solve = { kind: 'failed', message: settled.message };
      return;
    }
    const { reply } = settled;
    if (reply.outcome.status !== 'converged' || reply.flight === null) {
      if (newest) this.solve = { kind: 'failed', message: reply.outcome.message };
      return;
    }
    this.memory = reply.outcome.memory;
    this.answer = makeAnswer(study, reply, reply.flight);
    if (newest) this.solve = { kind: 'solved' };
  }
}

function makeAnswer(study: Study, reply: SolveReply, flight: FlightData): Answer {
  const flown = asAnswered(study, reply.kept);
  const compiled = compileStudy(flown);
  return {
    study,
    flown,
    reply,
    payload_kg: reply.outcome.payload_kg,
    flight,
    compiled,
    readers: flight.tracks.map((_, index) => readTrack(compiled, flight, index)),
    settled: !reply.warm,
    with: '',
  };
}

/** Gaps (s) to sweep for a study: the round ones from 0 to 30 s, a few overlaps when its own gap is one, and its own. */
export function sweepGaps_s(study: Study, event: string): number[] {
  const own = gapOf_s(study, event);
  const overlaps = own < 0 ? [-4, -3, -2, -1] : [];
  const gaps = [...overlaps, 0, 5, 10, 15, 20, 25, 30, own];
  return gaps.filter((gap, i) => gaps.indexOf(gap) === i).sort((p, q) => p - q);
}
