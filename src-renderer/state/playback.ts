/**
 * The clock of the replay. It lives outside reactive state: what moves with time subscribes and writes to the page itself.
 */

/** What a drawing needs of a clock. Mission time in seconds. */
export interface Clock {
  readonly time_s: number;
  /** Whether time runs by itself just now. */
  readonly playing: boolean;
  /** Calls back on every change, at most once a frame while playing. Returns the way to stop. */
  subscribe(listener: (time_s: number) => void): () => void;
}

/** Seconds of mission time in one second of wall time. */
export const RATES: readonly number[] = [0.1, 0.25, 0.5, 1, 2, 5, 10, 20, 50, 100];

/** Requests a callback before the next picture, with a time in milliseconds; returns the way to call it off. */
export type FrameSource = (callback: (now_ms: number) => void) => () => void;

export class Playback implements Clock {
  private now_s = 0;
  private first_s = 0;
  private last_s = 0;
  private isPlaying = false;
  private rateNow = 1;
  private readonly listeners = new Set<(time_s: number) => void>();
  private readonly stateListeners = new Set<() => void>();
  private cancelFrame: (() => void) | null = null;
  private lastFrame_ms = Number.NaN;

  constructor(private readonly frames: FrameSource) {}

  get time_s(): number {
    return this.now_s;
  }

  get start_s(): number {
    return this.first_s;
  }

  get end_s(): number {
    return this.last_s;
  }

  get playing(): boolean {
    return this.isPlaying;
  }

  get rate(): number {
    return this.rateNow;
  }

  subscribe(listener: (time_s: number) => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  /** Calls back when playing, rate or range change, which is seldom. */
  subscribeState(listener: () => void): () => void {
    this.stateListeners.add(listener);
    return () => this.stateListeners.delete(listener);
  }

  /** The span that can be played; the time is kept within it. Seconds. */
  setRange(start_s: number, end_s: number): void {
    this.first_s = start_s;
    this.last_s = Math.max(start_s, end_s);
    this.seek(this.now_s);
    this.changed();
  }

  /** Goes to a time, kept within the range. Seconds. */
  seek(time_s: number): void {
    const next = Math.min(Math.max(time_s, this.first_s), this.last_s);
    if (next === this.now_s) return;
    this.now_s = next;
    for (const listener of this.listeners) listener(next);
  }

  play(): void {
    if (this.isPlaying) return;
    if (this.now_s >= this.last_s) this.seek(this.first_s);
    this.isPlaying = true;
    this.lastFrame_ms = Number.NaN;
    this.request();
    this.changed();
  }

  pause(): void {
    if (!this.isPlaying) return;
    this.isPlaying = false;
    this.cancelFrame?.();
    this.cancelFrame = null;
    this.changed();
  }

  toggle(): void {
    if (this.isPlaying) this.pause();
    else this.play();
  }

  /** Sets the rate to the nearest of `RATES`. */
  setRate(rate: number): void {
    const nearest = RATES.reduce((best, r) =>
      Math.abs(Math.log(r / rate)) < Math.abs(Math.log(best / rate)) ? r : best,
    );
    if (nearest === this.rateNow) return;
    this.rateNow = nearest;
    this.changed();
  }

  /** One rate faster (+1) or slower (−1). */
  changeRate(direction: 1 | -1): void {
    const index = RATES.indexOf(this.rateNow) + direction;
    const rate = RATES[index];
    if (rate !== undefined) this.setRate(rate);
  }

  private request(): void {
    this.cancelFrame = this.frames((now_ms) => {
      if (!this.isPlaying) return;
      if (!Number.isNaN(this.lastFrame_ms)) {
        // A long pause of the page is not made up for: at most a quarter of a second passes in a frame.
        const elapsed_s = Math.min(0.25, (now_ms - this.lastFrame_ms) / 1000);
        this.seek(this.now_s + elapsed_s * this.rateNow);
      }
      this.lastFrame_ms = now_ms;
      if (this.now_s >= this.last_s) this.pause();
      else this.request();
    });
  }

  private changed(): void {
    for (const listener of this.stateListeners) listener();
  }
}
