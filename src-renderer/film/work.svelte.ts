/** The film of the open study in the window: what it is drawn from, its own clock, and a recording that runs. */
import type { Film } from '../../core/contract/film.ts';
import type { FilmFormat } from '../../core/contract/filmChannels.ts';
import type { Study } from '../../core/contract/study.ts';
import { resolveCues, type CueTrack } from '../../core/replay/film/cueTrack.ts';
import { followWords } from '../../core/replay/film/narration.ts';
import type { SweepResult } from '../../core/study/sweep.ts';
import type { Host } from '../bridge/host.ts';
import type { ComputeClient } from '../compute/client.ts';
import { Playback, type Clock, type FrameSource } from '../state/playback.ts';
import type { Answer } from '../state/results.svelte.ts';
import { loadType } from './picture/picture.ts';
import type { FilmScene } from './picture/scene.ts';
import { closeUpsOf, NoAnswer, prepareFilm } from './prepare.ts';
import type { FilmSound } from './sound.ts';
import { recordFilm, type Recorded, type RecordOptions } from './record/recorder.ts';

export type PrepareState =
  | { readonly kind: 'none' }
  | { readonly kind: 'solving'; readonly words: string }
  | { readonly kind: 'ready' }
  /** The sentence says why. */
  | { readonly kind: 'failed'; readonly message: string };

export interface Recording {
  readonly format: FilmFormat;
  readonly done: number;
  readonly of: number;
  readonly left_s: number;
  readonly paused: boolean;
}

/** A film that no one edited is this long, s. */
const LENGTH_s = 60;

export class FilmWork {
  readonly playback: Playback;
  scene = $state.raw<FilmScene | null>(null);
  /** Told by itself; stands in for the study's own while it has none. */
  told = $state.raw<Film | null>(null);
  state = $state.raw<PrepareState>({ kind: 'none' });
  chosen = $state(0);
  recording = $state.raw<Recording | null>(null);
  /** The narration's recording, or other sound to go with the pictures. */
  sound = $state.raw<FilmSound | null>(null);
  /** How the last recording ended. */
  ended = $state.raw<string | null>(null);
  /** Holds the picture recorded last. */
  last: OffscreenCanvas | null = null;
  private wish: 'go' | 'pause' | 'keep' | 'discard' = 'go';
  private client: ComputeClient | null = null;
  private solvedFor: Study | null = null;
  private asked = 0;

  constructor(
    private readonly makeClient: () => ComputeClient,
    frames: FrameSource,
  ) {
    this.playback = new Playback(frames);
  }

  clear(): void {
    this.asked += 1;
    this.client?.cancel();
    this.playback.pause();
    this.scene = null;
    this.told = null;
    this.solvedFor = null;
    this.chosen = 0;
    this.state = { kind: 'none' };
  }

  /** The film of a study: its own, or the one told by itself. */
  filmOf(study: Study): Film | null {
    const film = study.film ?? this.told;
    return film === null ? null : followWords(film);
  }

  /** Cues tied to the flights; the sentences that say what does not fit. */
  cuesOf(study: Study): { track: CueTrack | null; problems: readonly string[] } {
    const film = this.filmOf(study);
    if (film === null || this.scene === null) return { track: null, problems: [] };
    const result = resolveCues(film, this.scene.facts);
    return result.ok ? { track: result.track, problems: [] } : { track: null, problems: result.problems };
  }

  /** Solves what the film of this study needs, unless it stands already; the window's own answers are used where they fit. */
  async prepare(study: Study, answer: Answer | null, sweep: SweepResult | null): Promise<void> {
    if (this.solvedFor !== null && sameFlights(this.solvedFor, study)) return;
    const number = ++this.asked;
    this.client ??= this.makeClient();
    const { client } = this;
    this.solvedFor = study;
    this.state = { kind: 'solving', words: 'Solving the flights of the film …' };
    try {
      await loadType(document.fonts);
      const main =
        answer !== null && answer.settled && sameFlights(answer.study, study)
          ? {
              ...{ study, compiled: answer.compiled, flight: answer.flight, payload_kg: answer.payload_kg },
              settling: answer.reply.settling,
              closeUps: await closeUpsOf(answer.flown, answer.flight, client),
            }
          : undefined;
      const prepared = await prepareFilm(
        study,
        client,
        LENGTH_s,
        (done, of) => {
          if (number === this.asked)
            this.state = { kind: 'solving', words: `Solving the curve of the film, ${done} of ${of} …` };
        },
        { ...(main === undefined ? {} : { main }), sweep },
      );
      if (number !== this.asked) return;
      this.scene = prepared.scene;
      if (study.film === undefined) this.told = prepared.film;
      this.state = { kind: 'ready' };
    } catch (error) {
      if (number !== this.asked) return;
      this.solvedFor = null;
      this.scene = null;
      const message = error instanceof Error ? error.message : String(error);
      this.state = { kind: 'failed', message };
      if (!(error instanceof NoAnswer)) throw error;
    }
  }

  /** Records to a file token of the host; progress stands in `recording`, the end in `ended`. */
  async record(host: Host, token: string, track: CueTrack, options: RecordOptions): Promise<void> {
    const { scene } = this;
    if (scene === null || this.recording !== null) return;
    this.playback.pause();
    this.wish = 'go';
    this.ended = null;
    this.recording = { format: options.format, done: 0, of: 1, left_s: 0, paused: false };
    try {
      const recorded = await recordFilm(host, token, scene, track, options, {
        before: async (done, of, left_s, canvas) => {
          this.last = canvas;
          this.recording = { format: options.format, done, of, left_s, paused: this.wish === 'pause' };
          // Lets the window answer the hand between two pictures.
          do await new Promise((resume) => setTimeout(resume, this.wish === 'pause' ? 100 : 0));
          while (this.wish === 'pause');
          return this.wish === 'go' ? 'go' : this.wish;
        },
      });
      this.ended = endWords(recorded);
    } catch (error) {
      this.ended = error instanceof Error ? error.message : String(error);
    } finally {
      this.recording = null;
    }
  }

  pause(): void {
    this.wish = 'pause';
    if (this.recording !== null) this.recording = { ...this.recording, paused: true };
  }

  resume(): void {
    this.wish = 'go';
  }

  /** Ends the recording; kept, what was recorded stands as a film of its own. */
  stop(keep: boolean): void {
    this.wish = keep ? 'keep' : 'discard';
  }
}

function endWords({ name, frames, of, short, kept }: Recorded): string {
  if (!kept) return 'Called off; nothing of it was kept.';
  if (short !== null) return `“${name}” holds ${frames} of ${of} pictures. ${short}`;
  return `“${name}” is recorded: ${frames} pictures, with captions, chapters, telemetry and cue sheet beside it.`;
}

/** Whether two studies differ in nothing but cues; a second gap is a flight too. */
function sameFlights(one: Study, other: Study): boolean {
  if (one === other) return true;
  const keys = new Set([...Object.keys(one), ...Object.keys(other)] as (keyof Study)[]);
  for (const key of keys) if (key !== 'film' && one[key] !== other[key]) return false;
  return (
    other.film === undefined || one.film === undefined || one.film.compareGap_s === other.film.compareGap_s
  );
}

/** The mission time of a film as a clock, for drawings that follow the flight. */
export function missionClock(playback: Playback, track: CueTrack): Clock {
  return {
    get time_s() {
      return track.clock.missionAt_s(playback.time_s);
    },
    get playing() {
      return playback.playing;
    },
    subscribe: (listener) => playback.subscribe((film_s) => listener(track.clock.missionAt_s(film_s))),
  };
}
