import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Film, FilmCue } from '../../../../core/contract/film.ts';
import { validateStudy } from '../../../../core/contract/load.ts';
import { FilmClock } from '../../../../core/replay/film/clock.ts';
import { addCue, changeCue, moveCue, removeCue, shiftFrom } from '../../../../core/replay/film/edit.ts';
import { LEAST_s } from '../../../../core/replay/film/narration.ts';
import { ondelStudy } from '../../../fixtures/study.ts';

const study = ondelStudy();
const cue = (at_s: number, more: Partial<FilmCue> = {}): FilmCue => ({
  ...{ at_s, moment: { kind: 'time', time_s: at_s }, arrive: 'run' },
  ...more,
});
const film: Film = {
  ...{ sheet: 'paper', length_s: 20 },
  cues: [
    cue(0, { caption: 'first', plate: 'map' }),
    cue(5, { plate: 'chart', caption: 'second' }),
    cue(9),
    cue(9, { arrive: 'jump' }),
    cue(14),
  ],
};

const wrong = (edited: Film): string => {
  const loaded = validateStudy({ ...study, film: edited });
  return loaded.ok ? '' : loaded.problems.map((problem) => problem.sentence).join(' ');
};

describe('changes of a film', () => {
  it('make films that the document takes, however they follow one another', () => {
    const step = fc.record({
      kind: fc.constantFrom('move', 'shift', 'add', 'remove'),
      index: fc.integer({ min: 0, max: 7 }),
      time_s: fc.double({ min: -30, max: 40, noNaN: true }),
    });
    fc.assert(
      fc.property(fc.array(step, { maxLength: 25 }), (steps) => {
        let edited = film;
        for (const { kind, index, time_s } of steps) {
          if (kind === 'move') edited = moveCue(edited, index, time_s);
          else if (kind === 'shift') edited = shiftFrom(edited, index, time_s);
          else if (kind === 'add') edited = addCue(edited, time_s, 3).film;
          else edited = removeCue(edited, index);
        }
        expect(wrong(edited)).toBe('');
      }),
      { seed: 21, numRuns: 150 },
    );
  });

  it('keep a moved cue between its neighbours', () => {
    expect(moveCue(film, 1, 100).cues[1]!.at_s).toBe(9 - LEAST_s);
    expect(moveCue(film, 1, -5).cues[1]!.at_s).toBe(LEAST_s);
    expect(moveCue(film, 0, 3)).toBe(film);
  });

  it('take all that follows along in a shift', () => {
    const later = shiftFrom(film, 2, 3);
    expect(later.cues.map((c) => c.at_s)).toEqual([0, 5, 12, 12, 17]);
    expect(later.length_s).toBe(23);
    expect(shiftFrom(film, 2, -100).cues[2]!.at_s).toBeCloseTo(5 + LEAST_s, 9);
  });

  it('leave everything else as it was when a cue goes', () => {
    const without = removeCue(film, 1);
    expect(without.cues.length).toBe(4);
    // The chart stays on show from the next cue on; the words go with their cue.
    expect(without.cues[1]).toEqual({ ...film.cues[2], plate: 'chart' });
    expect(removeCue(film, 0)).toBe(film);
  });

  it('take a part out when it is set to nothing', () => {
    expect(changeCue(film, 1, { plate: undefined }).cues[1]).toEqual(cue(5, { caption: 'second' }));
  });
});

describe('from mission time back to film time', () => {
  const clock = new FilmClock([
    { film_s: 0, mission_s: -5, jump: false },
    { film_s: 4, mission_s: 60, jump: false },
    { film_s: 6, mission_s: 60, jump: false },
    { film_s: 6, mission_s: 140, jump: true },
    { film_s: 16, mission_s: 150, jump: false },
  ]);
  it('finds the first picture that shows it', () => {
    for (const mission_s of [-4, 10, 59.5, 141, 149.9]) {
      const film_s = clock.filmAt_s(mission_s);
      // Found to a microsecond of film at 25 times the pace at most.
      expect(Math.abs(clock.missionAt_s(film_s) - mission_s)).toBeLessThan(1e-4);
    }
    // The start of the hold, and what is jumped over.
    expect(clock.filmAt_s(60)).toBeCloseTo(4, 4);
    expect(clock.filmAt_s(100)).toBeCloseTo(6, 4);
    expect(clock.filmAt_s(1000)).toBe(16);
    expect(clock.filmAt_s(-100)).toBe(0);
  });
});
