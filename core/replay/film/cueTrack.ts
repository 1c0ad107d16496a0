/** Cues made definite by a flight: what is on show, word for word and number for number, at each film time. */
import type { Film, FilmCue, FilmMoment, FilmPlate, FilmPointer } from '../../contract/film.ts';
import { FASTEST, FilmClock, type ClockKnot } from './clock.ts';
import { followWords } from './narration.ts';
import { fillWords, type FilmFacts } from './words.ts';

/** A happening of the flight's log, by which cues find their moment; time in s. */
export interface Happening {
  readonly id: string;
  readonly time_s: number;
}

/** Where the picture looks from, s of film time eased: angle off straight above (rad), zoom, and bodies it keeps in its middle. */
export interface CameraState {
  readonly off_rad: number;
  readonly zoom: number;
  /** Weights of the bodies followed, 0 to 1; what is missing to 1 is the whole flight. */
  readonly follow: readonly { readonly body: string; readonly weight: number }[];
}

/** All that a picture has to know of the film at one instant. Film and mission time in s. */
export interface FilmState {
  readonly film_s: number;
  readonly mission_s: number;
  readonly pace: number;
  readonly cue: number;
  readonly caption: string;
  readonly captionSince_s: number;
  readonly plate: FilmPlate;
  readonly plateSince_s: number;
  /** When the plate gives way to another, or the film ends. */
  readonly plateUntil_s: number;
  readonly camera: CameraState;
  readonly figures: boolean;
  readonly pointer: FilmPointer;
  readonly pointerSince_s: number;
}

export interface ResolvedCue {
  readonly at_s: number;
  readonly arrive: FilmCue['arrive'];
  /** Numbers filled in. */
  readonly caption: string;
  readonly plate: FilmPlate;
  readonly figures: boolean;
  readonly pointer: FilmPointer;
  readonly mission_s: number;
  readonly view: CameraState;
  readonly captionSince_s: number;
  readonly plateSince_s: number;
  readonly viewSince_s: number;
  readonly pointerSince_s: number;
}

export interface CueTrack {
  readonly film: Film;
  readonly clock: FilmClock;
  readonly cues: readonly ResolvedCue[];
  readonly length_s: number;
}

export type CueTrackResult =
  | { readonly ok: true; readonly track: CueTrack }
  /** Sentences for people, each naming its cue. */
  | { readonly ok: false; readonly problems: readonly string[] };

/** A camera moves for so long, film time in s. */
const CAMERA_s = 0.8;
const BESIDE_rad = (80 * Math.PI) / 180;
const ABOVE_rad = 0.35;

/** Mission time (s) of a moment; NaN when the flight has no such event. Mission time in s. */
function momentTime_s(moment: FilmMoment, log: readonly Happening[]): number {
  if (moment.kind === 'time') return moment.time_s;
  const found = log.find((entry) => entry.id === moment.event);
  return found === undefined ? Number.NaN : found.time_s + moment.offset_s;
}

/** Ties a film's cues to a flight by its log, and fills its numbers into the captions. Film and mission time in s; what does not fit is told cue by cue. */
export function resolveCues(told: Film, facts: FilmFacts): CueTrackResult {
  const film = followWords(told);
  const problems: string[] = [];
  const cues: ResolvedCue[] = [];
  film.cues.forEach((cue, i) => {
    const mission_s = momentTime_s(cue.moment, facts.log);
    const before = cues[i - 1];
    if (Number.isNaN(mission_s)) {
      const event = cue.moment.kind === 'event' ? cue.moment.event : '';
      problems.push(
        `Cue ${i + 1}: its moment is at “${event}”, which did not happen in this flight; give it another.`,
      );
    } else if (before !== undefined && cue.arrive === 'run' && mission_s < before.mission_s) {
      problems.push(
        `Cue ${i + 1}: its moment, ${mission_s.toFixed(1)} s, is before that of the cue before, ` +
          `${before.mission_s.toFixed(1)} s; let mission time jump there, or move one of them.`,
      );
    }
    const words = fillWords(cue.caption ?? '', facts);
    if (!words.ok) problems.push(`Cue ${i + 1}: ${words.problem}.`);
    const caption = cue.caption === undefined || !words.ok ? before?.caption : words.text;
    cues.push(resolved(cue, mission_s, caption ?? '', before));
  });
  if (problems.length > 0) return { ok: false, problems };
  const knots = cues.map((cue): ClockKnot => ({
    film_s: cue.at_s,
    mission_s: cue.mission_s,
    jump: cue.arrive === 'jump',
  }));
  const clock = new FilmClock(knots);
  const { pace, from_s } = clock.fastest;
  if (pace > FASTEST) {
    const sentence =
      `From ${from_s.toFixed(1)} s of film on, mission time would run ${pace.toFixed(0)} times as fast; ` +
      `${FASTEST} times is the most. Give that section more film, or let mission time jump.`;
    return { ok: false, problems: [sentence] };
  }
  return { ok: true, track: { film, clock, cues, length_s: film.length_s } };
}

function resolved(
  cue: FilmCue,
  mission_s: number,
  caption: string,
  before: ResolvedCue | undefined,
): ResolvedCue {
  const view: CameraState =
    cue.camera === undefined
      ? (before?.view ?? { off_rad: BESIDE_rad, zoom: 1, follow: [] })
      : {
          off_rad: cue.camera.stance === 'beside' ? BESIDE_rad : ABOVE_rad,
          zoom: cue.camera.zoom,
          follow: cue.camera.follow === undefined ? [] : [{ body: cue.camera.follow, weight: 1 }],
        };
  const plate = cue.plate ?? before?.plate ?? 'map';
  const pointer: FilmPointer = cue.pointer ?? before?.pointer ?? { kind: 'nothing' };
  return {
    at_s: cue.at_s,
    arrive: cue.arrive,
    caption,
    plate,
    figures: cue.figures ?? before?.figures ?? true,
    pointer,
    mission_s,
    view,
    captionSince_s: before !== undefined && before.caption === caption ? before.captionSince_s : cue.at_s,
    plateSince_s: before !== undefined && before.plate === plate ? before.plateSince_s : cue.at_s,
    viewSince_s: cue.camera === undefined ? (before?.viewSince_s ?? cue.at_s) : cue.at_s,
    pointerSince_s: cue.pointer === undefined ? (before?.pointerSince_s ?? cue.at_s) : cue.at_s,
  };
}

/** What the film shows at a film time (s). Pure: the same track and time give the same state. */
export function filmState(track: CueTrack, film_s: number): FilmState {
  const { cues, clock } = track;
  let index = 0;
  while (index + 1 < cues.length && cues[index + 1]!.at_s <= film_s) index += 1;
  const cue = cues[index]!;
  const next = cues.slice(index + 1).find((other) => other.plate !== cue.plate);
  return {
    film_s,
    mission_s: clock.missionAt_s(film_s),
    pace: clock.paceAt(film_s),
    cue: index,
    caption: cue.caption,
    captionSince_s: cue.captionSince_s,
    plate: cue.plate,
    plateSince_s: cue.plateSince_s,
    plateUntil_s: next?.at_s ?? track.length_s,
    camera: cameraAt(cues, index, film_s),
    figures: cue.figures,
    pointer: cue.pointer,
    pointerSince_s: cue.pointerSince_s,
  };
}

/** The camera, eased from the view before over `CAMERA_s`; over a cut of the plate it does not travel. */
function cameraAt(cues: readonly ResolvedCue[], index: number, film_s: number): CameraState {
  const cue = cues[index]!;
  const { view, viewSince_s } = cue;
  const u = (film_s - viewSince_s) / CAMERA_s;
  const from = cues.findLast((other) => other.at_s < viewSince_s);
  if (u >= 1 || from === undefined || from.plate !== cue.plate) return view;
  const share = u * u * (3 - 2 * u);
  const names = [...new Set([...from.view.follow, ...view.follow].map((f) => f.body))];
  const weight = (state: CameraState, body: string): number =>
    state.follow.find((f) => f.body === body)?.weight ?? 0;
  return {
    off_rad: from.view.off_rad + share * (view.off_rad - from.view.off_rad),
    // Zoom is a ratio: it runs evenly in its logarithm.
    zoom: from.view.zoom * (view.zoom / from.view.zoom) ** share,
    follow: names.map((body) => ({
      body,
      weight: weight(from.view, body) + share * (weight(view, body) - weight(from.view, body)),
    })),
  };
}
