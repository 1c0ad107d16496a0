import { describe, expect, it } from 'vitest';
import { Playback, RATES } from '../../../src-renderer/state/playback.ts';

/** A clock on frames that the test hands out. */
function staged() {
  let pending: ((now_ms: number) => void) | null = null;
  const playback = new Playback((callback) => {
    pending = callback;
    return () => {
      pending = null;
    };
  });
  playback.setRange(-2, 100);
  return {
    playback,
    frame: (now_ms: number): void => {
      const callback = pending;
      pending = null;
      callback?.(now_ms);
    },
    waiting: () => pending !== null,
  };
}

describe('Playback', () => {
  it('moves mission time by wall time times rate', () => {
    const { playback, frame } = staged();
    playback.setRate(10);
    playback.play();
    frame(1000);
    frame(1016);
    frame(1032);
    expect(playback.time_s).toBeCloseTo(0.32, 12);
  });

  it('does not make up for a page that slept: at most a quarter of a second a frame', () => {
    const { playback, frame } = staged();
    playback.play();
    frame(0);
    frame(60_000);
    expect(playback.time_s).toBe(0.25);
  });

  it('stops at the end, asks for no more frames, and starts over when played again', () => {
    const { playback, frame, waiting } = staged();
    playback.seek(99.9);
    playback.play();
    frame(0);
    frame(200);
    expect(playback.time_s).toBe(100);
    expect(playback.playing).toBe(false);
    expect(waiting()).toBe(false);
    playback.play();
    expect(playback.time_s).toBe(-2);
  });

  it('keeps its time within the range, also when the range shrinks', () => {
    const { playback } = staged();
    playback.seek(500);
    expect(playback.time_s).toBe(100);
    playback.setRange(0, 40);
    expect(playback.time_s).toBe(40);
    playback.seek(-1);
    expect(playback.time_s).toBe(0);
  });

  it('tells listeners of every change of time and nothing after they have gone', () => {
    const { playback } = staged();
    const heard: number[] = [];
    const leave = playback.subscribe((t) => heard.push(t));
    playback.seek(3);
    playback.seek(3);
    playback.seek(4);
    leave();
    playback.seek(5);
    expect(heard).toEqual([3, 4]);
  });

  it('offers rates from a tenth to a hundred and steps through them', () => {
    const { playback } = staged();
    expect(RATES[0]).toBe(0.1);
    expect(RATES[RATES.length - 1]).toBe(100);
    playback.setRate(90);
    expect(playback.rate).toBe(100);
    playback.changeRate(1);
    expect(playback.rate).toBe(100);
    playback.changeRate(-1);
    expect(playback.rate).toBe(50);
  });
});
