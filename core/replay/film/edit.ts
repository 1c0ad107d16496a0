/** Changes of a film's cues, as an editor makes them: each takes a film and returns another that the document will take. */
import type { Film, FilmCue } from '../../contract/film.ts';
import { LEAST_s, tidyTime } from './narration.ts';

/** A cue at another film time (s), kept between its neighbours, and freed of its word; the first stays at zero. */
export function moveCue(film: Film, index: number, at_s: number): Film {
  const cue = film.cues[index];
  if (cue === undefined || index === 0) return film;
  const low = film.cues[index - 1]!.at_s + (cue.arrive === 'jump' ? 0 : LEAST_s);
  const next = film.cues[index + 1];
  const high =
    next === undefined ? film.length_s - LEAST_s : next.at_s - (next.arrive === 'jump' ? 0 : LEAST_s);
  const kept = tidyTime(Math.min(Math.max(at_s, low), Math.max(low, high)));
  const { word: _, ...free } = cue;
  return { ...film, cues: film.cues.map((each, i) => (i === index ? { ...free, at_s: kept } : each)) };
}

/** A cue and all after it, and the film's end, later (or sooner) by so much film time, s. */
export function shiftFrom(film: Film, index: number, by_s: number): Film {
  if (index <= 0 || index >= film.cues.length) return film;
  const room = film.cues[index]!.at_s - film.cues[index - 1]!.at_s - LEAST_s;
  const by = Math.max(by_s, -room);
  return {
    ...film,
    length_s: tidyTime(film.length_s + by),
    cues: film.cues.map((cue, i) => (i < index ? cue : { ...cue, at_s: tidyTime(cue.at_s + by) })),
  };
}

/** A new cue at a film time (s), at the mission time (s) that stands there, so that nothing moves yet. */
export function addCue(film: Film, at_s: number, mission_s: number): { film: Film; index: number } {
  const at = tidyTime(Math.min(Math.max(at_s, LEAST_s), film.length_s - LEAST_s));
  const cue: FilmCue = { at_s: at, moment: { kind: 'time', time_s: tidyTime(mission_s) }, arrive: 'run' };
  const taken = film.cues.some((other) => Math.abs(other.at_s - at) < LEAST_s);
  if (taken) return { film, index: film.cues.findIndex((other) => Math.abs(other.at_s - at) < LEAST_s) };
  const index = film.cues.filter((other) => other.at_s < at).length;
  return { film: { ...film, cues: film.cues.toSpliced(index, 0, cue) }, index };
}

/** Without one cue; what it had set from there on goes to the next, so that nothing else changes. The first stays. */
export function removeCue(film: Film, index: number): Film {
  const cue = film.cues[index];
  if (cue === undefined || index === 0) return film;
  const next = film.cues[index + 1];
  const cues = film.cues.toSpliced(index, 1);
  if (next !== undefined) {
    const { at_s: _, moment: __, arrive: ___, caption: ____, word: _____, ...shown } = cue;
    cues[index] = { ...shown, ...next };
  }
  return { ...film, cues };
}

/** A cue with some of its parts changed; a part set to undefined is taken out, and stays as the cue before had it. */
export function changeCue(
  film: Film,
  index: number,
  change: { readonly [K in keyof FilmCue]?: FilmCue[K] | undefined },
): Film {
  const cues = film.cues.map((cue, i): FilmCue => {
    if (i !== index) return cue;
    const merged = { ...cue, ...change };
    return Object.fromEntries(Object.entries(merged).filter(([, value]) => value !== undefined)) as FilmCue;
  });
  return { ...film, cues };
}
