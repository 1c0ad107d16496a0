/** The brief of the open study: the two ways that it compares, solved, and the clock that both are shown by. */
import type { Claim } from '../../core/contract/claims.ts';
import type { Study } from '../../core/contract/study.ts';
import type { ComputeClient } from '../compute/client.ts';
import { loadType } from '../film/picture/picture.ts';
import { makeVariant, type FilmVariant, type SolvedFlight } from '../film/picture/scene.ts';
import { NoAnswer, solvedOf, solveFlight } from '../film/prepare.ts';
import { Playback, type FrameSource } from '../state/playback.ts';
import type { Answer } from '../state/results.svelte.ts';
import { sameFlown } from '../state/spread.ts';
import { pairSpan_s, waysOf, type Way } from './pages.ts';

export interface ShownWay {
  readonly way: Way;
  readonly solved: SolvedFlight;
  readonly variant: FilmVariant;
}

export type BriefState =
  | { readonly kind: 'none' }
  | { readonly kind: 'solving' }
  | { readonly kind: 'ready' }
  /** The sentence says why. */
  | { readonly kind: 'failed'; readonly message: string };

export class BriefWork {
  /** Time since the main cut-off of each way, s. */
  readonly playback: Playback;
  /** The way that a claim is about, then the one it is held against; one alone where nothing is compared. */
  ways = $state.raw<readonly ShownWay[]>([]);
  state = $state.raw<BriefState>({ kind: 'none' });
  page = $state(0);
  /** How many pages there are; the view says. */
  pages = 1;
  private client: ComputeClient | null = null;
  private solvedFor: { study: Study; claim: string } | null = null;
  private asked = 0;

  constructor(
    private readonly makeClient: () => ComputeClient,
    frames: FrameSource,
  ) {
    this.playback = new Playback(frames);
  }

  /** Forgets everything: another study was opened. */
  clear(): void {
    this.asked += 1;
    this.client?.cancel();
    this.playback.pause();
    this.ways = [];
    this.solvedFor = null;
    this.page = 0;
    this.state = { kind: 'none' };
  }

  /** So many pages on, or back when negative; stops at the first and the last. */
  turn(by: number): void {
    this.playback.pause();
    this.page = Math.min(Math.max(0, this.page + by), this.pages - 1);
    this.playback.seek(this.playback.start_s);
  }

  /** Solves both ways unless they stand already for this study and claim; the window's own answer is used where it fits. */
  async prepare(study: Study, claim: Claim | null, answer: Answer | null): Promise<void> {
    const key = JSON.stringify([claim?.baseline, claim?.change]);
    const before = this.solvedFor;
    if (before !== null && before.claim === key && sameFlown(before.study, study, null)) return;
    const number = ++this.asked;
    this.solvedFor = { study, claim: key };
    this.client ??= this.makeClient();
    this.state = { kind: 'solving' };
    try {
      await loadType(document.fonts);
      const shown: ShownWay[] = [];
      for (const way of waysOf(study, claim) ?? [{ name: '', study }]) {
        const solved =
          answer !== null && answer.settled && sameFlown(answer.study, way.study, null)
            ? await solvedOf(way.study, answer, this.client)
            : await solveFlight(way.study, this.client);
        if (number !== this.asked) return;
        shown.push({ way, solved, variant: makeVariant(solved) });
      }
      const { from_s, to_s } = pairSpan_s(shown.map(({ variant }) => variant));
      this.ways = shown;
      this.playback.pause();
      this.playback.setRange(from_s, to_s);
      this.playback.seek(from_s);
      this.state = { kind: 'ready' };
    } catch (error) {
      if (number !== this.asked) return;
      this.solvedFor = null;
      this.ways = [];
      this.state = { kind: 'failed', message: error instanceof Error ? error.message : String(error) };
      if (!(error instanceof NoAnswer)) throw error;
    }
  }
}
