import { parseText } from 'media-captions';
import { describe, expect, it } from 'vitest';
import { contentHash } from '../../../../core/contract/contentHash.ts';
import { saveStudy, validateStudy } from '../../../../core/contract/load.ts';
import { filmState, resolveCues } from '../../../../core/replay/film/cueTrack.ts';
import { FRAME_RATES, frameCount } from '../../../../core/replay/film/rate.ts';
import {
  captionSpans,
  chaptersText,
  cueSheetText,
  srtText,
  telemetryCsv,
  vttText,
} from '../../../../core/replay/film/sidecars.ts';
import { tellStory } from '../../../../core/replay/film/story.ts';
import { fillWords, type FilmFacts } from '../../../../core/replay/film/words.ts';
import { buildKnots } from '../../../../core/replay/knots.ts';
import { buildStrands } from '../../../../core/replay/strands.ts';
import { allStudies, flightOf } from '../studies.ts';

const stories = allStudies().flatMap(({ name, study }) =>
  [-2, 0, 10].flatMap((gap) => {
    const { compiled, flight } = flightOf(study, gap);
    // A story is told of an answer: a vehicle that falls with the numbers of another gap has none.
    if (flight.orbit === null) return [];
    const knots = buildKnots(compiled, flight, buildStrands(compiled, flight));
    const notes = new Map(knots.filter((k) => k.note !== '').map((k) => [k.id, k.note]));
    const facts: FilmFacts = {
      log: flight.log,
      notes,
      payload_kg: 25_608.4,
      gap_s: gap,
      perigee_m: 250_000,
      apogee_m: 250_000,
      compare: { gap_s: 10, payload_kg: 24_481.4 },
      slope_kgps: -113.2,
    };
    const film = tellStory(compiled.study, flight.log, {
      length_s: 60,
      compareGap_s: 10,
      sweep: true,
      notes,
      homes: [],
    });
    return [{ name: `${name}, gap ${gap} s`, study: compiled.study, flight, facts, film }];
  }),
);

it('has stories to tell of most studies', () => {
  expect(stories.length).toBeGreaterThan(2 * allStudies().length);
});

describe.each(stories)('the story of $name', ({ study, facts, film }) => {
  const resolved = resolveCues(film, facts);
  if (!resolved.ok) throw new Error(resolved.problems.join(' '));
  const { track } = resolved;

  it('is a film that the document takes, and changes nothing else in it', () => {
    const loaded = validateStudy({ ...study, film });
    expect(loaded.ok ? '' : loaded.problems.map((p) => p.sentence).join(' ')).toBe('');
    if (!loaded.ok) return;
    expect(loaded.study.film).toEqual(film);
    const { film: _, ...rest } = loaded.study;
    expect(saveStudy(rest)).toBe(saveStudy(study));
    expect(contentHash(rest)).toBe(contentHash(study));
  });

  it('is about as long as was asked for', () => {
    // A long coast may need more than its share, since mission time runs some 50 times as fast at most.
    expect(film.length_s).toBeGreaterThan(50);
    expect(film.length_s).toBeLessThan(80);
  });

  it('tells the staging in real time or slower, and nothing faster than can be watched', () => {
    const staging = track.cues.filter((cue) => cue.plate === 'staging');
    expect(staging.length).toBeGreaterThan(0);
    const from_s = staging[0]!.at_s;
    const after = track.cues.find((cue) => cue.at_s > from_s && cue.plate !== 'staging')!;
    for (let t = from_s; t < after.at_s; t += 0.1) {
      const { pace } = filmState(track, t);
      // The longest staging here, a gap of 10 s after an early cut, takes some 26 s: no more than twice the pace.
      expect(pace).toBeGreaterThan(0);
      expect(pace).toBeLessThan(2);
    }
    expect(track.clock.fastest.pace).toBeLessThan(80);
  });

  it('leaves each caption long enough to be read', () => {
    for (const { from_s, to_s, text } of captionSpans(track)) {
      // 21 characters a second are the fastest that guides for subtitling (common practice) allow for adults.
      expect(text.length / (to_s - from_s)).toBeLessThan(21);
      expect(text).not.toMatch(/[{}]|NaN|undefined/);
      expect(text.length).toBeLessThan(115);
    }
  });

  it('gives the same bytes twice, whatever is asked in between', () => {
    const frames = [0, 400, 700, 1203];
    const look = (order: readonly number[]): string =>
      JSON.stringify(order.map((i) => filmState(track, i / 30)).sort((p, q) => p.film_s - q.film_s));
    expect(look(frames)).toBe(look([...frames].reverse()));
    const again = resolveCues(structuredClone(film), facts);
    expect(again.ok && JSON.stringify(again.track.cues)).toBe(JSON.stringify(track.cues));
  });

  it.each(['srt', 'vtt'] as const)('has captions that a player reads, as %s', async (type) => {
    const text = type === 'srt' ? srtText(track) : vttText(track, ['An estimate --> for study']);
    const parsed = await parseText(text, { type, strict: true });
    expect(parsed.errors).toEqual([]);
    const expected = captionSpans(track);
    expect(parsed.cues.map((cue) => cue.text.trim())).toEqual(expected.map((span) => span.text));
    parsed.cues.forEach((cue, i) => {
      // Written to a millisecond.
      expect(Math.abs(cue.startTime - expected[i]!.from_s)).toBeLessThan(0.00051);
      expect(Math.abs(cue.endTime - expected[i]!.to_s)).toBeLessThan(0.00051);
    });
  });

  it('has telemetry with one line a frame that agrees with the clock', () => {
    const rate = FRAME_RATES['29.97']!;
    const source = { id: 'upper', at: (t: number) => (t < 100 ? { height_m: 10 * t, speed_mps: t } : null) };
    const lines = telemetryCsv(track, rate, [source], ['a note']).trimEnd().split('\n');
    expect(lines.length).toBe(2 + frameCount(film.length_s, rate));
    const cells = lines[2 + 600]!.split(',').map(Number);
    expect(cells[1]).toBeCloseTo((600 * 1001) / 30_000, 6);
    // Written to a microsecond.
    expect(cells[2]).toBeCloseTo(track.clock.missionAt_s(cells[1]!), 4);
    expect(cueSheetText(track, rate, 'title', []).split('\n').length).toBe(film.cues.length + 5);
    expect(chaptersText(track)).toMatch(/^00:00 Title\n/);
  });
});

describe('captions with numbers', () => {
  const { facts } = stories[0]!;
  it('take them from the flight', () => {
    const filled = fillWords('{max-q.pressure} at {max-q.time}, {payload}', facts);
    const entry = facts.log.find((e) => e.id === 'max-q')!;
    const kPa = (entry.dynamicPressure_Pa / 1000).toFixed(1);
    expect(filled.ok && filled.text).toContain(`${kPa}\u202FkPa at 1:`);
    expect(filled.ok && filled.text).toContain('25.61\u202Ft');
  });
  it.each([
    ['{nothing}', /nothing that a caption can name; allowed are payload/],
    ['{boostback.height}', /did not happen in this flight/],
    ['{perSecond}', /not known yet/],
    ['{__proto__}', /nothing that a caption can name/],
  ])('say what is wrong with %s', (caption, sentence) => {
    const filled = fillWords(caption, { ...facts, slope_kgps: Number.NaN });
    expect(filled.ok ? '' : filled.problem).toMatch(sentence);
  });
});

describe('a film in the document', () => {
  const { study, film, facts } = stories[0]!;
  const cue = film.cues[3]!;
  it.each([
    [
      'an event that is not there',
      { ...cue, moment: { kind: 'event', event: 'mecco', offset_s: 0 } },
      /film\.cues\.1\.moment\.event.*did you mean "meco"/,
    ],
    [
      'a time before the cue before',
      { ...cue, at_s: 0 },
      /film\.cues\.1\.at_s: received 0, allowed is more than the 0/,
    ],
    ['a body that is not there', { ...cue, camera: { follow: 'uper' } }, /film\.cues\.1\.camera\.follow/],
    ['a key that is not known', { ...cue, speed: 3 }, /film\.cues\.1\.speed/],
  ])('is refused with %s', (_, wrong, sentence) => {
    const loaded = validateStudy({ ...study, film: { ...film, cues: [film.cues[0], wrong] } });
    expect(loaded.ok ? '' : loaded.problems.map((p) => p.sentence).join(' ')).toMatch(sentence);
  });
  it('is refused with cues past its end', () => {
    const loaded = validateStudy({ ...study, film: { ...film, length_s: film.cues.at(-1)!.at_s } });
    expect(loaded.ok ? '' : loaded.problems[0]!.sentence).toMatch(/film\.length_s/);
  });
  it('is told what does not fit the flight, cue by cue', () => {
    const cues = [
      film.cues[0]!,
      { ...cue, at_s: 1, moment: { kind: 'event' as const, event: 'x-apogee', offset_s: 0 } },
      { ...cue, at_s: 2, moment: { kind: 'time' as const, time_s: -500 } },
    ];
    const result = resolveCues({ ...film, cues }, facts);
    expect(result.ok ? [] : result.problems).toEqual([expect.stringMatching(/^Cue 2: .*x-apogee/)]);
    const fast = resolveCues(
      { ...film, cues: [film.cues[0]!, { ...cue, at_s: 1, moment: { kind: 'time', time_s: 400 } }] },
      facts,
    );
    expect(fast.ok ? '' : fast.problems[0]).toMatch(/100 times is the most/);
  });
});
