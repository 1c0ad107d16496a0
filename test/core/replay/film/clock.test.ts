import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FilmClock, type ClockKnot } from '../../../../core/replay/film/clock.ts';

const knot = (film_s: number, mission_s: number, jump = false): ClockKnot => ({ film_s, mission_s, jump });

/** Sections of some film time and pace, holds and jumps among them. */
const knots = fc
  .array(
    fc.record({
      span_s: fc.double({ min: 0.05, max: 20, noNaN: true }),
      pace: fc.oneof(fc.constant(0), fc.constant(1), fc.double({ min: 0, max: 100, noNaN: true })),
      jump: fc.boolean(),
    }),
    { minLength: 1, maxLength: 12 },
  )
  .map((sections) => {
    const list = [knot(0, -3)];
    for (const { span_s, pace, jump } of sections) {
      const { film_s, mission_s } = list.at(-1)!;
      list.push(knot(film_s + span_s, jump ? mission_s + 30 : mission_s + span_s * pace, jump));
    }
    return list;
  });

describe('the film clock', () => {
  it('never runs backward, and meets every knot', () => {
    fc.assert(
      fc.property(knots, (list) => {
        const clock = new FilmClock(list);
        const end = list.at(-1)!.film_s;
        let before = -Infinity;
        for (let i = 0; i <= 400; i++) {
          const now = clock.missionAt_s((end * i) / 400);
          // Rounding of a sum of some ten terms of up to 2000 s: 1e-9 s is far above it and far below a frame.
          expect(now).toBeGreaterThanOrEqual(before - 1e-9);
          before = now;
        }
        for (const { film_s, mission_s } of list) expect(clock.missionAt_s(film_s)).toBeCloseTo(mission_s, 7);
      }),
      { seed: 11, numRuns: 200 },
    );
  });

  it('has a pace without a step, which is the slope of the map', () => {
    fc.assert(
      fc.property(knots, (list) => {
        const takes = new FilmClock(list.map((k) => ({ ...k, jump: false })));
        const end = list.at(-1)!.film_s;
        for (let i = 1; i < 300; i++) {
          const t = (end * i) / 300;
          const h = 1e-5;
          const slope = (takes.missionAt_s(t + h) - takes.missionAt_s(t - h)) / (2 * h);
          // A central difference over 2e-5 s: its error is the pace's change in that time, at most 100 × 30 per s ×
          // 1e-5 in the shortest sections, and rounding of 1e-12/1e-5.
          expect(Math.abs(slope - takes.paceAt(t))).toBeLessThan(0.6);
          expect(takes.paceAt(t)).toBeGreaterThanOrEqual(-1e-9);
        }
        for (const { film_s } of list.slice(1, -1)) {
          // The two sides of a knot, a nanosecond apart: the steepest ramp, 100 per 0.016 s, changes by 1e-5 in it.
          expect(takes.paceAt(film_s - 1e-9)).toBeCloseTo(takes.paceAt(film_s + 1e-9), 3);
        }
      }),
      { seed: 12, numRuns: 120 },
    );
  });

  it('is in real time from end to end of a section in real time between faster ones', () => {
    const clock = new FilmClock([knot(0, 0), knot(5, 100), knot(15, 110), knot(20, 400)]);
    for (let t = 5; t <= 15; t += 0.25) {
      expect(clock.paceAt(t)).toBeCloseTo(1, 12);
      expect(clock.missionAt_s(t)).toBeCloseTo(100 + t - 5, 9);
    }
  });

  it('stands still in a hold and until a jump', () => {
    const clock = new FilmClock([knot(0, 10), knot(4, 20), knot(7, 20), knot(9, 300, true), knot(12, 303)]);
    expect(clock.missionAt_s(5.5)).toBe(20);
    expect(clock.missionAt_s(8.999)).toBe(20);
    expect(clock.missionAt_s(9)).toBe(300);
    expect(clock.missionAt_s(30)).toBe(303);
    expect(clock.paceAt(5)).toBe(0);
  });

  it('refuses mission time that runs backward, and says which knot', () => {
    expect(() => new FilmClock([knot(0, 10), knot(4, 5)])).toThrow(
      /knot 1 at 4 s of film and 5 s of mission/,
    );
    expect(() => new FilmClock([])).toThrow(/no knots/);
  });
});
