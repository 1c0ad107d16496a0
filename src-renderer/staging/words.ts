/** Ways of staging in words. */
import { fixed } from '../../core/units/figures.ts';
import type { CloseUpOutcome } from '../../core/replay/film/closeUps.ts';
import type { LineChart } from '../../core/replay/lineChart.ts';
import type { SettlingTold } from '../../core/replay/settlingTold.ts';
import type { ModeReply, ModesReply } from '../compute/protocol.ts';

export const VERDICTS: Record<ModeReply['verdict'], string> = {
  works: 'works',
  doubtful: 'doubtful',
  fails: 'fails',
  notSolved: 'not solved',
};

/** The way that carries most of those that work; null when none does. */
export function bestWay(rows: readonly ModeReply[]): ModeReply | null {
  const works = rows.filter((row) => row.verdict === 'works');
  return works.reduce<ModeReply | null>(
    (best, row) => (best === null || row.payload_kg > best.payload_kg ? row : best),
    null,
  );
}

/** Below this, in kg, a tenth of a kilogram of payload is told. */
const FEW_kg = 2000;

/** Decimals with which payloads of these ways are told. */
export function payloadDigits(rows: readonly ModeReply[]): 0 | 1 {
  return rows.some(({ payload_kg }) => payload_kg >= FEW_kg) ? 0 : 1;
}

/** One sentence on which way carries most. */
export function waysSentence({ rows, breakEven }: ModesReply): string {
  const best = bestWay(rows);
  if (best === null) return 'None of these ways of staging works as the study has it.';
  const name = (id: string): string => rows.find((row) => row.id === id)?.name ?? id;
  const digits = payloadDigits(rows);
  const first = `Of the ways that work, “${best.name}” carries most: ${fixed(best.payload_kg, digits)} kg.`;
  if (breakEven === null) return first;
  const { gain_kg, ring_kg } = breakEven;
  const against = breakEven.other === best.id ? 'against it' : `against “${name(breakEven.other)}”`;
  const gain =
    gain_kg >= 0
      ? `Lighting early gains ${fixed(gain_kg, digits)} kg ${against}`
      : `Lighting early costs ${fixed(-gain_kg, digits)} kg ${against}`;
  return `${first} ${gain}${Number.isFinite(ring_kg) && ring_kg > 0 ? `; a ring of ${fixed(ring_kg, 0)} kg would break even` : ''}.`;
}

/** What comes of the parting, in a sentence. */
export function partingSentence({ told, why }: CloseUpOutcome): string {
  if (told === null) return why;
  const { code, touch, rimOut_s, leastRim_m } = told;
  if (touch !== null)
    return (
      `They touch again ${fixed(touch.after_s, 2)} s after release at the ${touch.where}: the gap is ${fixed(touch.gap_m, 2)} m, ` +
      `${fixed(Math.abs(1000 * touch.drift_m), 0)} mm across, ${fixed((Math.abs(touch.tilt_rad) * 180) / Math.PI, 1)}° of tilt.`
    );
  if (code !== 'clear') return told.message;
  const out =
    rimOut_s > 0
      ? `Out of the interstage ${fixed(rimOut_s, 2)} s after release, never nearer to its wall than ${fixed(1000 * leastRim_m, 0)} mm`
      : 'Clear from the release on';
  return `${out}; no touch.`;
}

/** How the propellant lies at ignition, in a sentence. */
export function settlingSentence({ state, ignition_s, settledFrom_s }: SettlingTold): string {
  switch (state) {
    case 'settled':
      return Number.isFinite(settledFrom_s) && settledFrom_s < ignition_s
        ? 'At ignition the propellant is settled.'
        : 'At ignition the propellant is just settled.';
    case 'moving':
      return 'At ignition the propellant is moving: in place or nearly, but nothing holds it.';
    case 'unsettled':
      return 'At ignition the propellant is unsettled: away from its outlet.';
  }
}

/** What is of interest lies within the first metres, m. */
const FAR_m = 30;

/** The gap between the bodies from release, one curve a way of staging; null where no two come apart. */
export function apartChart(rows: readonly ModeReply[], chosen: string): LineChart | null {
  const curves = rows
    .map(({ id, name, apart }) => ({ id, name, near: apart.filter(({ gap_m }) => gap_m <= FAR_m) }))
    .filter(({ near }) => near.length > 1)
    .sort((p, q) => Number(p.id === chosen) - Number(q.id === chosen))
    .map(({ id, name, near }) => ({
      name,
      strong: id === chosen,
      times_s: near.map(({ time_s }) => time_s),
      values: near.map(({ gap_m }) => gap_m),
    }));
  if (curves.length === 0) return null;
  const along = 'seconds from release';
  return {
    title: 'Gap between the bodies',
    unit: 'm',
    along,
    curves,
    limit: Number.NaN,
    spans: [],
    ringed: false,
  };
}
