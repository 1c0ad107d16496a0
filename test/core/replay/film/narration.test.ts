import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { validateStudy } from '../../../../core/contract/load.ts';
import type { Film, FilmCue, FilmNarration } from '../../../../core/contract/film.ts';
import { removeCue, moveCue } from '../../../../core/replay/film/edit.ts';
import { followWords, lineUp, rewrite, spokenWords, tieCue } from '../../../../core/replay/film/narration.ts';
import { outline } from '../../../../core/replay/film/waveform.ts';
import { ondelStudy } from '../../../fixtures/study.ts';

const study = ondelStudy();
const narration: FilmNarration = {
  text: 'The booster lets go, and nothing burns. For ten seconds it climbs on what it has.',
  ...{ from_s: 2, wordsPerMinute: 120, lined: [] },
};
const cue = (at_s: number, more: Partial<FilmCue> = {}): FilmCue => ({
  ...{ at_s, moment: { kind: 'time', time_s: at_s }, arrive: 'run' },
  ...more,
});
const film: Film = {
  ...{ sheet: 'paper', length_s: 20, narration },
  cues: [cue(0), cue(4), cue(8), cue(8, { arrive: 'jump' }), cue(12)],
};
const wrong = (edited: Film): string => {
  const loaded = validateStudy({ ...study, film: edited });
  return loaded.ok ? '' : loaded.problems.map((problem) => problem.sentence).join(' ');
};

describe('the words of a narration', () => {
  it('take as long together as their number and the rate say', () => {
    const words = spokenWords(narration);
    expect(words).toHaveLength(16);
    expect(words[0]!.at_s).toBe(2);
    // 16 words at 120 a minute are 8 s; what is left is rounding of a sum of 16.
    expect(words.at(-1)!.until_s).toBeCloseTo(10, 12);
  });

  it('follow one another without a hole, longer ones and ends of sentences taking longer', () => {
    const words = spokenWords(narration);
    words.slice(1).forEach((word, i) => expect(word.at_s).toBe(words[i]!.until_s));
    const lasts = (i: number): number => words[i]!.until_s - words[i]!.at_s;
    expect(lasts(1)).toBeGreaterThan(lasts(0));
    expect(words[6]!.text).toBe('burns.');
    expect(lasts(6)).toBeGreaterThan(lasts(5));
  });

  it('stand where they were lined up, and share the time between', () => {
    const lined = spokenWords({ ...narration, lined: [{ word: 7, at_s: 9 }] });
    const free = spokenWords(narration);
    expect(lined[7]).toMatchObject({ at_s: 9, lined: true });
    // Before, all stretched alike; after, the rate holds: the same durations but for rounding.
    const stretch = (9 - 2) / (free[7]!.at_s - 2);
    expect(lined[3]!.at_s - 2).toBeCloseTo(stretch * (free[3]!.at_s - 2), 12);
    expect(lined[12]!.at_s - 9).toBeCloseTo(free[12]!.at_s - free[7]!.at_s, 12);
  });

  it('are kept in order however they are lined up', () => {
    let edited = lineUp(film, 7, 9);
    edited = lineUp(edited, 9, 3);
    expect(edited.narration!.lined.map(({ word }) => word)).toEqual([7, 9]);
    expect(edited.narration!.lined[1]!.at_s).toBeGreaterThan(9);
    edited = lineUp(edited, 7, 100);
    expect(edited.narration!.lined[0]!.at_s).toBeLessThan(edited.narration!.lined[1]!.at_s);
    expect(wrong(edited)).toBe('');
    expect(lineUp(lineUp(edited, 7, null), 9, null).narration).toEqual(narration);
  });
});

describe('cues that come with a word', () => {
  it('stand at that word, and take those between with them in proportion', () => {
    const tied = tieCue(film, 4, 7);
    const word = spokenWords(narration)[7]!;
    // Film times are whole milliseconds.
    expect(tied.cues[4]!.at_s).toBeCloseTo(word.at_s, 3);
    expect(tied.cues[1]!.at_s).toBeCloseTo((4 / 12) * word.at_s, 2);
    expect(tied.length_s - tied.cues[4]!.at_s).toBeCloseTo(8, 9);
    expect(wrong(tied)).toBe('');
  });

  it('move with their word and rest when it rests', () => {
    const tied = tieCue(film, 4, 7);
    const later = lineUp(tied, 7, 15);
    expect(later.cues[4]!.at_s).toBe(15);
    expect(followWords(later)).toEqual(later);
  });

  it('are freed by being moved by hand', () => {
    const moved = moveCue(tieCue(film, 4, 7), 4, 11);
    expect(moved.cues[4]!.word).toBeUndefined();
    expect(followWords(moved).cues[4]!.at_s).toBe(11);
  });

  it('keep to their word when words are written before it, and are freed when it goes', () => {
    const tied = lineUp(tieCue(film, 4, 7), 9, 9);
    const longer = rewrite(tied, narration.text.replace('The booster', 'Now the empty booster'));
    expect(spokenWords(longer.narration!)[longer.cues[4]!.word!]!.text).toBe('For');
    expect(longer.narration!.lined).toEqual([{ word: 11, at_s: 9 }]);
    const without = rewrite(longer, longer.narration!.text.replace(' For ten', ' During ten'));
    expect(without.cues[4]!.word).toBeUndefined();
    expect(wrong(without)).toBe('');
    expect(rewrite(without, '  ').narration).toBeUndefined();
  });

  it('leave a film that the document takes, whatever is done to them', () => {
    const step = fc.record({
      kind: fc.constantFrom('tie', 'line', 'free', 'move', 'remove', 'rate', 'write'),
      index: fc.integer({ min: 0, max: 6 }),
      word: fc.integer({ min: 0, max: 15 }),
      time_s: fc.double({ min: -5, max: 40, noNaN: true }),
    });
    fc.assert(
      fc.property(fc.array(step, { maxLength: 20 }), (steps) => {
        let edited = film;
        for (const { kind, index, word, time_s } of steps) {
          const spoken = edited.narration!.text.split(' ').length;
          if (kind === 'tie' && edited.cues.length > index) edited = tieCue(edited, index, word % spoken);
          else if (kind === 'line') edited = lineUp(edited, word % spoken, time_s);
          else if (kind === 'free') edited = lineUp(edited, word % spoken, null);
          else if (kind === 'move') edited = moveCue(edited, index, time_s);
          else if (kind === 'remove') edited = removeCue(edited, index);
          else if (kind === 'write')
            edited = rewrite(edited, `So ${edited.narration!.text.replace(/ \S+$/, '')}`);
          edited = followWords(edited);
        }
        expect(wrong(edited)).toBe('');
      }),
      // The same cases each time; some 150 find an order that fails when the clamping is taken out.
      { seed: 4, numRuns: 150 },
    );
  });

  it('are told where there is no such word, or words are lined up out of order', () => {
    expect(wrong({ ...film, cues: [cue(0), cue(4, { word: 16 })] })).toMatch(/film\.cues\.1\.word.*0 to 15/);
    const { narration: _, ...silent } = film;
    expect(wrong({ ...silent, cues: [cue(0), cue(4, { word: 1 })] })).toMatch(/nothing is narrated/);
    const lined = [
      { word: 4, at_s: 5 },
      { word: 9, at_s: 5 },
    ];
    expect(wrong({ ...film, narration: { ...narration, lined } })).toMatch(
      /film\.narration\.lined\.1\.at_s.*later than 5/,
    );
  });
});

describe('the outline of a sound', () => {
  it('holds the least and the greatest sample of each piece, and silence outside', () => {
    const samples = Float32Array.from([0.1, -0.5, 0.75, 0.25]);
    expect([...outline(samples, 0, 4, 2)]).toEqual([-0.5, expect.closeTo(0.1, 6), 0, 0.75]);
    expect([...outline(samples, -2, 0, 1)]).toEqual([0, 0]);
    expect([...outline(samples, 1.2, 1.4, 1)]).toEqual([-0.5, 0]);
  });
});
