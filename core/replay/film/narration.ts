/** When each word of a narration is spoken, and cues that come with a word. Times are film time in s. */
import type { Film, FilmCue, FilmNarration } from '../../contract/film.ts';
import { wordsIn } from '../../units/wordsIn.ts';

export interface SpokenWord {
  readonly text: string;
  readonly at_s: number;
  readonly until_s: number;
  /** Its time was read off a recording. */
  readonly lined: boolean;
}

/** Cues are never nearer to one another than this, film time in s, but where mission time jumps. */
export const LEAST_s = 0.1;

/**
 * Shares of time, in letters: a word takes as long as its letters and one more; a digit is spoken as a short word; a comma or
 * a full stop is a rest. Common practice in reading aloud, no source: only the shares matter, the rate is the narration's own.
 */
const BREATH = 1;
const DIGIT = 3;
const REST_COMMA = 3;
const REST_STOP = 8;

function lettersOf(word: string): number {
  const digits = word.match(/\p{N}/gu)?.length ?? 0;
  const letters = word.match(/\p{L}/gu)?.length ?? 0;
  const rest = /[.!?…]["'”’)]*$/u.test(word) ? REST_STOP : /[,;:–—]["'”’)]*$/u.test(word) ? REST_COMMA : 0;
  return Math.max(1, letters + DIGIT * digits) + BREATH + rest;
}

/** Film time (s) in whole milliseconds, as the document keeps it. */
export const tidyTime = (time_s: number): number => Math.round(time_s * 1000) / 1000;

/**
 * The words with the film time (s) at which each begins and ends. All words together take words ÷ rate; between words lined up
 * with a recording the time between those is shared out; after the last of them the rate holds again. Valid for a narration
 * that the document takes (lined-up words in order).
 */
export function spokenWords(narration: FilmNarration): SpokenWord[] {
  const texts = wordsIn(narration.text);
  const ends = new Float64Array(texts.length + 1);
  texts.forEach((text, i) => {
    ends[i + 1] = ends[i]! + lettersOf(text);
  });
  const total = ends[texts.length]!;
  const secondsEach = total > 0 ? ((60 / narration.wordsPerMinute) * texts.length) / total : 0;
  const lined = new Map(narration.lined.map(({ word, at_s }) => [word, at_s]));
  const knots = [...lined].map(([word, at_s]) => ({ letters: ends[word]!, at_s }));
  if (!lined.has(0)) knots.unshift({ letters: 0, at_s: narration.from_s });
  const last = knots[knots.length - 1]!;
  const at = (letters: number): number => {
    const next = knots.findIndex((knot) => knot.letters > letters);
    if (next <= 0) return last.at_s + (letters - last.letters) * secondsEach;
    const [from, to] = [knots[next - 1]!, knots[next]!];
    return from.at_s + ((letters - from.letters) / (to.letters - from.letters)) * (to.at_s - from.at_s);
  };
  return texts.map((text, i) => ({
    ...{ text, at_s: at(ends[i]!), until_s: at(ends[i + 1]!), lined: lined.has(i) },
  }));
}

/**
 * The film with each cue that comes with a word at that word's time (s). Cues between two such keep their share of the way, those
 * after the last and the film's end keep their distance; none overtakes another. The same film where no cue comes with a word.
 */
export function followWords(film: Film): Film {
  const { narration, cues } = film;
  if (narration === undefined || !cues.some((cue) => cue.word !== undefined)) return film;
  const words = spokenWords(narration);
  const knots = [{ old_s: 0, new_s: 0 }];
  for (const { word, at_s } of cues.slice(1)) {
    const spoken = word === undefined ? undefined : words[word];
    if (spoken !== undefined) knots.push({ old_s: at_s, new_s: spoken.at_s });
  }
  const moved = (old_s: number): number => {
    const next = knots.findIndex((knot) => knot.old_s > old_s);
    const from = knots[next < 0 ? knots.length - 1 : next - 1]!;
    if (next < 0 || old_s === from.old_s) return from.new_s + (old_s - from.old_s);
    const to = knots[next]!;
    return from.new_s + ((old_s - from.old_s) / (to.old_s - from.old_s)) * (to.new_s - from.new_s);
  };
  const placed: FilmCue[] = [];
  for (const cue of cues) {
    const before = placed[placed.length - 1];
    const own = cue.word === undefined ? undefined : words[cue.word]?.at_s;
    const wished_s = before === undefined ? 0 : tidyTime(own ?? moved(cue.at_s));
    const soonest_s =
      before === undefined ? 0 : tidyTime(before.at_s + (cue.arrive === 'jump' ? 0 : LEAST_s));
    placed.push({ ...cue, at_s: Math.max(wished_s, soonest_s) });
  }
  const last_s = placed[placed.length - 1]!.at_s;
  const length_s = tidyTime(Math.max(moved(film.length_s), last_s + LEAST_s));
  return { ...film, cues: placed, length_s };
}

/** A cue that comes with a word (counted from 0), or with none any more; the first stays at zero. */
export function tieCue(film: Film, index: number, word: number | null): Film {
  if (index === 0) return film;
  const cues = film.cues.map((cue, i): FilmCue => {
    if (i !== index) return cue;
    const { word: _, ...free } = cue;
    return word === null ? free : { ...free, word };
  });
  return followWords({ ...film, cues });
}

/** A word (counted from 0) lined up with a film time (s), kept between the lined-up words beside it; null frees it. */
export function lineUp(film: Film, word: number, at_s: number | null): Film {
  const { narration } = film;
  if (narration === undefined) return film;
  const others = narration.lined.filter((each) => each.word !== word);
  if (at_s === null) return followWords({ ...film, narration: { ...narration, lined: others } });
  const before = others.findLast((each) => each.word < word);
  const after = others.find((each) => each.word > word);
  const least = (words: number): number => 0.05 * words;
  const low =
    before === undefined
      ? word === 0
        ? 0
        : narration.from_s + least(word)
      : before.at_s + least(word - before.word);
  const high = after === undefined ? Infinity : after.at_s - least(after.word - word);
  const at = tidyTime(Math.min(Math.max(at_s, low), Math.max(low, high)));
  const lined = [...others, { word, at_s: at }].sort((p, q) => p.word - q.word);
  return followWords({ ...film, narration: { ...narration, lined } });
}

/**
 * The film with another text: words before and after the changed part keep their lined-up times and their cues; what was tied
 * within it is freed.
 */
export function rewrite(film: Film, text: string): Film {
  const narration: FilmNarration = film.narration ?? { text: '', from_s: 0, wordsPerMinute: 150, lined: [] };
  const old = wordsIn(narration.text);
  const now = wordsIn(text);
  let head = 0;
  while (head < Math.min(old.length, now.length) && old[head] === now[head]) head += 1;
  let tail = 0;
  while (
    tail < Math.min(old.length, now.length) - head &&
    old[old.length - 1 - tail] === now[now.length - 1 - tail]
  )
    tail += 1;
  const kept = (word: number): number | null =>
    word < head ? word : word >= old.length - tail ? word + now.length - old.length : null;
  const cues = film.cues.map((cue): FilmCue => {
    const { word, ...free } = cue;
    const next = word === undefined ? null : kept(word);
    return next === null ? free : { ...free, word: next };
  });
  const lined = narration.lined.flatMap(({ word, at_s }) => {
    const next = kept(word);
    return next === null ? [] : [{ word: next, at_s }];
  });
  if (text.trim() === '') {
    const { narration: _, ...silent } = film;
    return { ...silent, cues };
  }
  return followWords({ ...film, cues, narration: { ...narration, text, lined } });
}
