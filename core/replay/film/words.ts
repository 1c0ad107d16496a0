/**
 * Captions with numbers in them. A caption names what it means, `{max-q.pressure}` or `{payload}`, and the flight fills the
 * number in, so that no caption goes stale when the study is solved anew.
 */
import type { LogEntry } from '../../flight/log.ts';
import { formatNumber, formatQuantity, formatTime } from '../../units/format.ts';

/** What captions may speak of. SI. */
export interface FilmFacts {
  readonly log: readonly LogEntry[];
  /** Of the braid's knots: a few words by event, such as "10 of 14 cut". */
  readonly notes: ReadonlyMap<string, string>;
  /** Of the answer; NaN for none. */
  readonly payload_kg: number;
  /** The study's own staging gap; NaN for none. */
  readonly gap_s: number;
  readonly perigee_m: number;
  readonly apogee_m: number;
  /** The second variant, once solved. */
  readonly compare: { readonly gap_s: number; readonly payload_kg: number } | null;
  /** Payload for a second of gap from the sweep, negative where waiting costs; NaN without one. */
  readonly slope_kgps: number;
}

type Words = string | null;

/** Quantities of an event by the word after the dot; null where the flight has none. */
const OF_EVENT: Readonly<Record<string, (entry: LogEntry, facts: FilmFacts) => Words>> = {
  name: (entry) => entry.name,
  note: (entry, facts) => facts.notes.get(entry.id) ?? null,
  time: (entry) => formatTime(entry.time_s),
  height: (entry) => formatQuantity(entry.height_m, 'height'),
  speed: (entry) => formatQuantity(entry.speedRelative_mps, 'speed'),
  pressure: (entry) => formatQuantity(entry.dynamicPressure_Pa, 'pressure'),
  downrange: (entry) => formatQuantity(entry.downrange_m, 'distance'),
  mass: (entry) => `${Math.round(entry.after.mass_kg / 1000)}\u202Ft`,
  thrust: (entry) => formatQuantity(entry.after.thrust_N, 'thrust'),
};

/** A length of time without sign, tenths only where there are any. s */
const seconds = (value_s: number): string =>
  `${Number.isInteger(Math.round(10 * value_s) / 10) ? Math.abs(value_s).toFixed(0) : Math.abs(value_s).toFixed(1)}\u202Fs`;
/** A mass without sign; with a decimal where there is little of it. kg */
const kilograms = (value_kg: number): string =>
  `${formatNumber(Math.abs(value_kg), Math.abs(value_kg) < 20 ? 1 : 0)}\u202Fkg`;

/** Tonnes, or kilograms where there are few of them. kg */
const payloadWords = (value_kg: number): string =>
  value_kg < 2000 ? kilograms(value_kg) : formatQuantity(value_kg, 'mass');

const ofAnswer: Readonly<Record<string, (facts: FilmFacts) => Words>> = {
  payload: (f) => known(f.payload_kg, payloadWords),
  gap: (f) => known(f.gap_s, seconds),
  perigee: (f) => known(f.perigee_m, (v) => `${Math.round(v / 1000)}\u202Fkm`),
  apogee: (f) => known(f.apogee_m, (v) => `${Math.round(v / 1000)}\u202Fkm`),
  'compare.gap': (f) => known(f.compare?.gap_s ?? Number.NaN, seconds),
  'compare.payload': (f) => known(f.compare?.payload_kg ?? Number.NaN, payloadWords),
  'compare.kind': (f) => known(f.compare?.gap_s ?? Number.NaN, (v) => (v < 0 ? 'overlap' : 'gap')),
  'compare.change': (f) =>
    known((f.compare?.payload_kg ?? Number.NaN) - f.payload_kg, (v) => (v < 0 ? 'less' : 'more')),
  'compare.difference': (f) =>
    known((f.compare?.payload_kg ?? Number.NaN) - f.payload_kg, (v) => kilograms(v)),
  perSecond: (f) => known(f.slope_kgps, (v) => kilograms(v)),
};

function known(value: number, write: (value: number) => string): Words {
  return Number.isFinite(value) ? write(value) : null;
}

/**
 * A caption with its numbers filled in, or the sentence that says which one is not known. Units as the figures have them:
 * km, m/s, kPa, t, MN, kg, s.
 */
export function fillWords(
  caption: string,
  facts: FilmFacts,
): { readonly ok: true; readonly text: string } | { readonly ok: false; readonly problem: string } {
  const problems: string[] = [];
  const text = caption.replace(/\{([^{}]*)\}/g, (whole, name: string) => {
    const words = wordsOf(name, facts);
    if (typeof words === 'string') return words;
    problems.push(`${whole} ${words.missing}`);
    return whole;
  });
  if (problems[0] !== undefined) return { ok: false, problem: problems[0] };
  // A name that begins a sentence is written as a sentence begins.
  const sentence = caption.startsWith('{') ? text.charAt(0).toUpperCase() + text.slice(1) : text;
  return { ok: true, text: sentence };
}

function wordsOf(name: string, facts: FilmFacts): string | { missing: string } {
  const direct = Object.hasOwn(ofAnswer, name) ? ofAnswer[name] : undefined;
  if (direct !== undefined) {
    return (
      direct(facts) ?? { missing: 'is not known yet: solve the study, the second variant and the sweep' }
    );
  }
  const dot = name.lastIndexOf('.');
  const quantity = name.slice(dot + 1);
  const read = dot > 0 && Object.hasOwn(OF_EVENT, quantity) ? OF_EVENT[quantity] : undefined;
  if (read === undefined) {
    const all = [...Object.keys(ofAnswer), ...Object.keys(OF_EVENT).map((word) => `EVENT.${word}`)];
    return { missing: `is nothing that a caption can name; allowed are ${all.join(', ')}` };
  }
  const entry = facts.log.find((e) => e.id === name.slice(0, dot));
  if (entry === undefined) return { missing: 'names an event that did not happen in this flight' };
  return read(entry, facts) ?? { missing: 'has nothing to say about this event' };
}
