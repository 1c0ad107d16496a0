/** The film of the open study in the window: what it is drawn from, its own clock, and a recording that runs. */
import type { Film } from '../../core/contract/film.ts';
import type { FilmFormat } from '../../core/contract/filmChannels.ts';
import type { Study } from '../../core/contract/study.ts';
import { resolveCues, type CueTrack } from '../../core/replay/film/cueTrack.ts';
import { followWords } from '../../core/replay/film/narration.ts';
import type { SweepResult } from '../../core/study/sweep.ts';
import { HostError, type Host } from '../bridge/host.ts';
import type { ComputeClient } from '../compute/client.ts';
import { Playback, type Clock, type FrameSource } from '../state/playback.ts';
import type { Answer } from '../state/results.svelte.ts';
import { loadType } from './picture/picture.ts';
import type { FilmScene } from './picture/scene.ts';
import { NoAnswer, prepareFilm, solvedOf } from './prepare.ts';
import type { FilmSound } from './sound.ts';
import { Recording as Recorder, type Ending, type Recorded } from './record/recorder.ts';
import type { RecordOptions } from './record/settings.ts';

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
  /** What it takes to begin the last one anew, where what stands is of another recording. */
  other = $state.raw<(() => void) | null>(null);
  /** A small picture of what is being recorded. */
  last = $state.raw<ImageBitmap | null>(null);
  private recorder: Recorder | null = null;
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
          ? await solvedOf(study, answer, client)
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
    this.ended = null;
    this.other = null;
    const { format } = options;
    this.recording = { format, done: 0, of: 1, left_s: 0, paused: false };
    this.recorder = new Recorder(host, scene, track, options, {
      progress: (done, of, left_s) => {
        const paused = this.recording?.paused ?? false;
        this.recording = { format, done, of, left_s, paused };
      },
      glimpse: (picture) => {
        this.last?.close();
        this.last = picture;
      },
    });
    try {
      this.ended = endWords(await this.recorder.run(token));
    } catch (error) {
      this.ended = error instanceof Error ? error.message : String(error);
      if (error instanceof HostError && error.code === 'otherRecording')
        this.other = () => void this.record(host, token, track, { ...options, anew: true });
    } finally {
      this.recording = null;
      this.recorder = null;
      this.last?.close();
      this.last = null;
    }
  }

  pause(): void {
    this.hold(true);
  }

  resume(): void {
    this.hold(false);
  }

  private hold(paused: boolean): void {
    this.recorder?.pause(paused);
    if (this.recording !== null) this.recording = { ...this.recording, paused };
  }

  /** Ends the recording before its end. */
  stop(ending: Ending): void {
    this.recorder?.stop(ending);
  }
}

function endWords({ name, frames, of, short, kept, later }: Recorded): string {
  if (!kept && later && frames === 0)
    return 'Broken off before its first two seconds were whole: nothing was kept, and it begins anew.';
  if (!kept && later)
    return `Broken off after ${frames} of ${of} pictures. Record to “${name}” again, and it goes on from there.`;
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
