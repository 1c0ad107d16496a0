/**
 * The cues of a new film: the flight told in the order in which it happens, in real time through the staging, and then what
 * the staging is worth. A first draft for an editor, made from the log alone: it knows no vehicle.
 */
import type { Film, FilmCue } from '../../contract/film.ts';
import type { Study } from '../../contract/study.ts';
import type { LogEntry } from '../../flight/log.ts';
import {
  earlyStops,
  lateLanding,
  moment,
  type Add,
  type Homecoming,
  type Stop,
  type ToldCue,
} from './homeStory.ts';
import { filmStaging } from './staging.ts';

export interface StoryOptions {
  /** Wanted film time, s; staging keeps its real time, and the rest is fitted to it. */
  readonly length_s: number;
  /** Gap of a second variant to be set beside the first, s; null for none. */
  readonly compareGap_s: number | null;
  /** Whether there is a curve of payload against the gap to show. */
  readonly sweep: boolean;
  /** Of the braid's knots: a few words by event. */
  readonly notes: ReadonlyMap<string, string>;
  /** Flights home that were solved, in place of falls. */
  readonly homes: readonly Homecoming[];
}

/** A stretch of film: it begins with this cue and takes so long; `real` ones are not stretched or shrunk. */
interface Beat {
  readonly cue: ToldCue;
  readonly wanted_s: number;
  readonly real: boolean;
  /** Mission time that passes in it, s: it must not run faster than can be watched. */
  readonly passes_s: number;
}

/** Staging longer than this is not told in real time, s. */
const LONGEST_REAL_s = 16;
/** A caption stands so long at least before the next, film time, s. */
const READING_s = 2.4;
/** Mission seconds in one of film at most, well below what the clock allows. */
const BRISK = 50;
/** A beat is never shorter than this, s. */
const SHORTEST_s = 2;

/** Cues for a study as it was flown; film and mission time in s. The log must be that of a flight that reached its end. */
export function tellStory(study: Study, log: readonly LogEntry[], options: StoryOptions): Film {
  const time_s = (id: string): number => log.find((entry) => entry.id === id)?.time_s ?? Number.NaN;
  const liftoff_s = time_s('liftoff');
  const insertion_s = time_s('insertion');
  const beats: Beat[] = [];
  const add: Add = (wanted_s, passes_s, cue, real = false) => {
    beats.push({ cue, wanted_s, real, passes_s });
  };

  add(3.5, 0, { moment: moment('liftoff', -1.5), plate: 'title', caption: '', figures: false });
  add(
    6,
    6,
    {
      moment: moment('liftoff', -1.5),
      plate: 'map',
      caption: `{liftoff.mass} leave the ground at ${study.site.name}.`,
      camera: { stance: 'beside', zoom: 1 },
      figures: true,
      pointer: { kind: 'nothing' },
    },
    true,
  );
  const staging = stagingOf(study, log);
  const maxQ_s = time_s('max-q');
  let now_s = liftoff_s + 4.5;
  if (maxQ_s > now_s && !(maxQ_s > (staging?.from_s ?? Infinity))) {
    add(3, maxQ_s - now_s, {
      moment: moment('liftoff', 4.5),
      caption: 'The air thins with height, while the speed grows.',
      pointer: { kind: 'figure', body: study.payload.ridesOn, figure: 'speed' },
    });
    add(3.5, (staging?.from_s ?? insertion_s) - maxQ_s, {
      moment: moment('max-q'),
      caption: 'The air pushes hardest {max-q.height} up: {max-q.pressure}.',
      pointer: { kind: 'knot', event: 'max-q' },
    });
    now_s = maxQ_s;
  }
  if (staging !== null) {
    stagingBeats(study, log, staging, options.notes, add);
    afterStaging(study, log, staging, options.homes, insertion_s, add);
  } else {
    add(6, insertion_s - 4 - now_s, {
      moment: moment('liftoff', now_s - liftoff_s),
      caption: 'On to orbit.',
    });
  }
  add(3, 4, { moment: moment('insertion', -4), caption: '', pointer: { kind: 'nothing' } });
  add(3.5, 0, {
    moment: moment('insertion'),
    caption: 'In orbit, {perigee} by {apogee}, with {payload} of payload.',
    pointer: { kind: 'knot', event: 'insertion' },
  });
  for (const home of options.homes) lateLanding(log, home, insertion_s, add);
  if (options.compareGap_s !== null && staging !== null) {
    add(5.5, 0, {
      moment: moment('insertion'),
      arrive: 'jump',
      plate: 'compare',
      caption:
        'The same vehicle with {compare.gap} of {compare.kind} carries {compare.difference} {compare.change}.',
      figures: false,
      pointer: { kind: 'nothing' },
    });
  }
  if (options.sweep) {
    add(7, 0, {
      moment: moment('insertion'),
      arrive: 'jump',
      plate: 'chart',
      caption: 'Steering and payload solved again at each gap. A second of waiting costs {perSecond}.',
      figures: false,
      pointer: { kind: 'nothing' },
    });
    add(4.5, 0, { moment: moment('insertion'), plate: 'answer', caption: '', figures: false });
  }
  add(4.5, 0, {
    moment: moment('insertion'),
    arrive: 'jump',
    plate: 'assumptions',
    caption: '',
    figures: false,
  });
  add(3.5, 0, { moment: moment('insertion'), plate: 'caution', caption: '', figures: false });
  return fitted(beats, options);
}

/** Gives each beat its film time so that all come to the wanted length, as far as pace and reading allow. */
function fitted(beats: readonly Beat[], options: StoryOptions): Film {
  const real_s = beats.reduce((sum, beat) => sum + (beat.real ? beat.wanted_s : 0), 0);
  const free_s = beats.reduce((sum, beat) => sum + (beat.real ? 0 : beat.wanted_s), 0);
  const factor = Math.max(0.4, (options.length_s - real_s) / free_s);
  let at_s = 0;
  const cues = beats.map(({ cue, wanted_s, real, passes_s }): FilmCue => {
    const placed: FilmCue = { ...cue, at_s: tidy(at_s), arrive: cue.arrive ?? 'run' };
    at_s += real
      ? wanted_s
      : Math.max(SHORTEST_s, wanted_s * factor, passes_s / BRISK, readingTime_s(cue.caption ?? ''));
    return placed;
  });
  return {
    sheet: 'paper',
    length_s: tidy(at_s),
    ...(options.compareGap_s === null ? {} : { compareGap_s: options.compareGap_s }),
    cues,
  };
}

/** Film time (s) that a caption needs: 18 characters a second, a little slower than subtitles at their fastest. */
const readingTime_s = (caption: string): number => caption.length / 18;

/** Milliseconds, so that the file reads well. */
const tidy = (time_s: number): number => Math.round(time_s * 1000) / 1000;

interface Staging {
  readonly from_s: number;
  readonly to_s: number;
  /** The parting of the body that carries the payload, by whose moment the rest is told. */
  readonly last: string;
  readonly last_s: number;
  /** The body that is lit. */
  readonly lit: string;
}

/** The parting that belongs to the gap, and the cuts and lights about it; null without one. */
function stagingOf(study: Study, log: readonly LogEntry[]): Staging | null {
  const staging = filmStaging(study, log);
  if (staging === null) return null;
  const { event: last, parting_s: last_s, lit } = staging;
  const times = nearStaging(study, log, last_s, lit).map((entry) => entry.time_s);
  return {
    from_s: Math.min(last_s, ...times) - 1.5,
    to_s: Math.max(last_s, ...times) + 4,
    last,
    last_s,
    lit,
  };
}

/** Cuts and lights about a parting: cuts up to 20 s before, lights of what flies on up to 40 s after. */
function nearStaging(study: Study, log: readonly LogEntry[], parting_s: number, lit: string): LogEntry[] {
  const { events, finalCutoff } = study.sequence;
  return log.filter((entry) => {
    const action = events.find((event) => event.id === entry.id)?.action;
    if (action === undefined || entry.id === finalCutoff) return false;
    const after_s = entry.time_s - parting_s;
    if (action.kind === 'cut') return after_s > -20 && after_s < 5;
    return action.kind === 'light' && action.body === lit && after_s > -20 && after_s < 40;
  });
}

function stagingBeats(
  study: Study,
  log: readonly LogEntry[],
  staging: Staging,
  notes: ReadonlyMap<string, string>,
  add: Add,
): void {
  const { events } = study.sequence;
  const span_s = staging.to_s - staging.from_s;
  /** Film seconds for one of mission: one where that is not too long. */
  const stretch = Math.min(1, LONGEST_REAL_s / span_s);
  const told = nearStaging(study, log, staging.last_s, staging.lit)
    .map((entry) => ({ entry, action: events.find((event) => event.id === entry.id)!.action }))
    .filter(({ entry }) => entry.id !== staging.last);
  const stops: { at_s: number; caption: string; knot: string }[] = told.map(({ entry, action }) => ({
    at_s: entry.time_s,
    knot: entry.id,
    caption:
      action.kind === 'light'
        ? entry.time_s < staging.last_s
          ? `${bodyName(study, staging.lit)} lights while still joined.`
          : `${bodyName(study, staging.lit)} lights. Until now nothing pushed.`
        : notes.has(entry.id)
          ? `{${entry.id}.name}: {${entry.id}.note}.`
          : `{${entry.id}.name}.`,
  }));
  stops.push({
    at_s: staging.last_s,
    knot: staging.last,
    caption: `{${staging.last}.name} at {${staging.last}.height}, {${staging.last}.speed}.`,
  });
  stops.sort((p, q) => p.at_s - q.at_s);
  // A caption that would stand too short gives way to the one after it; the parting and the ignition stand above the cuts.
  const weight = (knot: string): number =>
    knot === staging.last ? 3 : events.find((event) => event.id === knot)?.action.kind === 'light' ? 2 : 1;
  const kept: typeof stops = [];
  for (const stop of stops) {
    const before = kept[kept.length - 1];
    // A caption may come up to a second after its event.
    const earliest_s = before === undefined ? -Infinity : before.at_s + READING_s / stretch;
    if (stop.at_s + 1 >= earliest_s) kept.push({ ...stop, at_s: Math.max(stop.at_s, earliest_s) });
    else if (weight(stop.knot) > weight(before!.knot))
      kept[kept.length - 1] = { ...stop, at_s: before!.at_s };
  }
  const first = kept[0]!;
  const open_s = Math.max(0, first.at_s - staging.from_s);
  let from_s = staging.from_s;
  const at = (time_s: number): FilmCue['moment'] => moment(staging.last, tidy(time_s - staging.last_s));
  if (open_s > 0) {
    add(
      open_s * stretch,
      open_s,
      {
        moment: at(from_s),
        plate: 'staging',
        caption: stretch === 1 ? 'Now in real time.' : '',
        pointer: { kind: 'nothing' },
      },
      true,
    );
  }
  kept.forEach((stop, i) => {
    from_s = Math.max(staging.from_s, stop.at_s);
    const until_s = kept[i + 1]?.at_s ?? staging.to_s;
    add(
      (until_s - from_s) * stretch,
      until_s - from_s,
      {
        moment: at(from_s),
        plate: 'staging',
        caption: stop.caption,
        pointer: { kind: 'knot', event: stop.knot },
      },
      true,
    );
  });
}

/** What is told between staging and insertion: the body that goes on, those that fly home, and what is still missing. */
function afterStaging(
  study: Study,
  log: readonly LogEntry[],
  staging: Staging,
  homes: readonly Homecoming[],
  insertion_s: number,
  add: Add,
): void {
  const after_s = staging.to_s;
  const flight_s = insertion_s - after_s;
  const look_s = after_s + Math.min(40, 0.15 * flight_s);
  const wide = { stance: 'beside', zoom: 1 } as const;
  const at = (time_s: number): FilmCue['moment'] => moment(staging.last, tidy(time_s - staging.last_s));
  const stops: Stop[] = [
    {
      time_s: after_s,
      wanted_s: 4.5,
      cue: {
        moment: at(after_s),
        plate: 'map',
        caption: `${bodyName(study, staging.lit)} goes on. Orbit is ${minutes(flight_s)} away.`,
        camera: { stance: 'beside', zoom: 2.6, follow: staging.lit },
        pointer: { kind: 'nothing' },
      },
    },
    {
      time_s: look_s,
      wanted_s: 4,
      cue: {
        moment: at(look_s),
        plate: 'map',
        caption: 'What is missing now is speed: this orbit takes {insertion.speed} over the ground.',
        camera: wide,
        pointer: { kind: 'figure', body: study.payload.ridesOn, figure: 'speed' },
      },
    },
  ];
  for (const home of homes) {
    const early = earlyStops(log, home, insertion_s).filter(({ time_s }) => time_s > after_s + 5);
    stops.push(...early);
    // The view goes back to the whole flight, when the last of it is told before the orbit is reached.
    const last = early[early.length - 1];
    if (last !== undefined)
      stops.push({
        time_s: Math.min(last.time_s + 12, insertion_s - 6),
        wanted_s: 2,
        cue: {
          moment: at(Math.min(last.time_s + 12, insertion_s - 6)),
          plate: 'map',
          caption: `${bodyName(study, staging.lit)} is nearly there.`,
          camera: wide,
          pointer: { kind: 'figure', body: study.payload.ridesOn, figure: 'speed' },
        },
      });
  }
  if (homes.length === 0) {
    // A body that parted and lights again by the sequence alone.
    const first = returnOf(study, log, look_s + 5).find((entry) => entry.time_s < insertion_s - 20);
    if (first !== undefined)
      stops.push({
        time_s: first.time_s,
        wanted_s: 4,
        cue: {
          moment: moment(first.id),
          caption: `{${first.id}.name} at {${first.id}.height}: the booster is on its way down.`,
          pointer: { kind: 'knot', event: first.id },
        },
      });
  }
  stops.sort((p, q) => p.time_s - q.time_s);
  stops.forEach(({ time_s, wanted_s, cue }, i) =>
    add(wanted_s, Math.max(0, (stops[i + 1]?.time_s ?? insertion_s - 4) - time_s), cue),
  );
}

/** Lights of bodies that have parted, in order of time. */
function returnOf(study: Study, log: readonly LogEntry[], after_s: number): LogEntry[] {
  return log.filter((entry) => {
    const action = study.sequence.events.find((event) => event.id === entry.id)?.action;
    return action?.kind === 'light' && action.body !== study.payload.ridesOn && entry.time_s > after_s;
  });
}

const bodyName = (study: Study, id: string): string => `The ${study.vehicle.bodies[id]!.name.toLowerCase()}`;

function minutes(span_s: number): string {
  const whole = Math.round(span_s / 60);
  return whole <= 1 ? 'a minute' : `${whole} minutes`;
}
