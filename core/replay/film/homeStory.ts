/** Flights home in the story of a film: what is told of them, and when. A flight without them needs nothing of this. */
import type { FilmCue } from '../../contract/film.ts';
import type { LogEntry } from '../../flight/log.ts';

/** A flight home that was solved. */
export interface Homecoming {
  /** Of the flight's pieces, by which its events are named in the log. */
  readonly track: string;
  /** The body that flies home, and its name. */
  readonly body: string;
  readonly name: string;
  /** Whether it comes down where it left the ground. */
  readonly toSite: boolean;
  /** Whether its landing can be shown from close by: its outlines are known. */
  readonly close: boolean;
}

/** A cue that has no place in film time yet. */
export type ToldCue = Omit<FilmCue, 'at_s' | 'arrive'> & { arrive?: 'jump' };

/** Adds a stretch: wanted film time and the mission time that passes in it, s. */
export type Add = (wanted_s: number, passes_s: number, cue: ToldCue, real?: boolean) => void;

/** So long after (before, when negative) an event of the log, s. */
export const moment = (event: string, offset_s = 0): FilmCue['moment'] => ({
  kind: 'event',
  event,
  offset_s,
});

const named = ({ name }: Homecoming): string => `The ${name.toLowerCase()}`;

/** A moment that is told, mission time in s, with the film time that it wants, s. */
export interface Stop {
  readonly time_s: number;
  readonly wanted_s: number;
  readonly cue: ToldCue;
}

/** A landing takes so much of the film at most, s. */
const LANDING_s = 7.5;
/** A landing this near to the insertion is told after it, s. */
const NEAR_s = 40;

/** Moments of a flight home by their place in the log; null for those that it does not have. */
function homeLog(log: readonly LogEntry[], { track }: Homecoming, what: string): LogEntry | null {
  return log.find((entry) => entry.id === `${track}-${what}`) ?? null;
}

const landsLate = (log: readonly LogEntry[], home: Homecoming, insertion_s: number): boolean =>
  (homeLog(log, home, 'touchdown')?.time_s ?? 0) > insertion_s - NEAR_s;

/** The moments of a flight home that are told in their place: its burns in the thin air, and its landing where that is early. Mission time in s. */
export function earlyStops(log: readonly LogEntry[], home: Homecoming, insertion_s: number): Stop[] {
  const name = named(home);
  const follow = (zoom: number): FilmCue['camera'] => ({ stance: 'beside', zoom, follow: home.body });
  const told = (what: string, wanted_s: number, zoom: number, words: (id: string) => string): Stop[] => {
    const entry = homeLog(log, home, what);
    if (entry === null || entry.time_s > insertion_s - NEAR_s) return [];
    const pointer = { kind: 'knot', event: entry.id } as const;
    const plate = home.close && (what === 'landing' || what === 'touchdown') ? 'landing' : 'map';
    const cue = {
      moment: moment(entry.id),
      plate,
      caption: words(entry.id),
      camera: follow(zoom),
      pointer,
    } as const;
    return [{ time_s: entry.time_s, wanted_s, cue }];
  };
  return [
    ...told(
      'boostback',
      4,
      2.6,
      (id) => `${name} turns round: {${id}.downrange} from the site it burns to fly back.`,
    ),
    ...told(
      'entry',
      4.5,
      4,
      (id) => `${name} falls at {${id}.speed}: a burn {${id}.height} up, before the air gets thick.`,
    ),
    ...told('entry-end', 3, 4, (id) => `{${id}.speed} are left. From here on the air brakes.`),
    ...(landsLate(log, home, insertion_s)
      ? []
      : [
          ...told('landing', 5, 12, (id) => landingWords(id)),
          ...told('touchdown', 3, 12, (id) => touchdownWords(name, home, id)),
        ]),
  ];
}

const landingWords = (id: string): string => `The landing burn begins {${id}.height} up, at {${id}.speed}.`;
const touchdownWords = (name: string, { toSite }: Homecoming, id: string): string =>
  toSite
    ? `${name} stands where it left the ground.`
    : `${name} is down, {${id}.downrange} from the launch site.`;

/** A landing about the time of the insertion or after it (mission time, s): the film goes back to it when the orbit is told. */
export function lateLanding(log: readonly LogEntry[], home: Homecoming, insertion_s: number, add: Add): void {
  const landing = homeLog(log, home, 'landing');
  const touchdown = homeLog(log, home, 'touchdown');
  if (landing === null || touchdown === null || !landsLate(log, home, insertion_s)) return;
  const lead_s = 2;
  const span_s = touchdown.time_s - landing.time_s + lead_s;
  const watched: ToldCue = {
    moment: moment(landing.id, -lead_s),
    arrive: 'jump',
    plate: home.close ? 'landing' : 'map',
    caption: `Meanwhile: ${landingWords(landing.id).replace(/^The/, 'the')}`,
    camera: { stance: 'beside', zoom: 12, follow: home.body },
    pointer: { kind: 'knot', event: landing.id },
  };
  // At half its speed or so, however short the film is.
  add(Math.min(LANDING_s, span_s), span_s, watched, true);
  add(3, 0, {
    moment: moment(touchdown.id),
    caption: touchdownWords(named(home), home, touchdown.id),
    pointer: { kind: 'knot', event: touchdown.id },
  });
}
