/** The numbers of a return's plan that set its knots: where they stand, and what they are when a knot is put elsewhere. */
import type { ReturnEdge, ReturnPlan } from '../contract/returns.ts';
import type { TrackReader } from '../flight/track.ts';
import { edgeValue } from '../recovery/edges.ts';
import type { HomePath } from '../recovery/homePath.ts';
import { heatingNow_Wpm2 } from './home.ts';

export interface HomeKnot {
  /** Where the number stands in the study. */
  readonly path: string;
  /** What it is, after its unit: "km at the start of the entry burn". */
  readonly label: string;
  readonly unit: string;
  /** In that unit; times `perUnit` it is the study's. */
  readonly value: number;
  readonly perUnit: number;
  readonly least: number;
  readonly most: number;
  /** What a key adds, in the unit. */
  readonly step: number;
  /**
   * The number, in the unit, with which the knot would stand at a mission time (s), read off the flight as it is: exact for an
   * earlier time, near for a later one, before which the flight will be another.
   */
  readonly valueAt: (time_s: number) => number;
}

/** Of each edge: the key of its number, its unit, and what people call it. The schema says the same bounds. */
const EDGES = {
  altitude: { key: 'height_m', unit: 'km', perUnit: 1000, step: 0.1, most: 200, what: 'up' },
  speed: { key: 'speed_mps', unit: 'm/s', perUnit: 1, step: 1, most: 12_000, what: '' },
  dynamicPressure: { key: 'pressure_Pa', unit: 'kPa', perUnit: 1000, step: 0.1, most: 10_000, what: '' },
  heating: { key: 'heatFlux_Wpm2', unit: 'W/cm²', perUnit: 1e4, step: 0.1, most: 100_000, what: '' },
} as const;
type SetEdge = Exclude<ReturnEdge, { kind: 'free' }>;

/**
 * The number of the plan that sets a knot of a flown return, by the knot's id; null where the solve finds the knot. The times
 * are those of the reader's flight: s.
 */
export function homeKnot(plan: ReturnPlan, reader: TrackReader, path: HomePath, id: string): HomeKnot | null {
  const own = `${reader.track.id}-`;
  const at = `returns.plans.${path.plan}`;
  if (!id.startsWith(own)) return null;
  const { segments } = reader.track;
  const first = path.legs.findIndex(({ phase }) => phase === 'turn');
  const last = path.legs.findLastIndex(({ phase }) => phase === 'turn');
  switch (id.slice(own.length)) {
    case 'turn': {
      if (first < 0) return null;
      const { wait_s } = plan.turn;
      const { start_s } = segments[first]!;
      const valueAt = (t: number): number => wait_s + t - start_s;
      const words = { path: `${at}.turn.wait_s`, label: 'waited after the tail-off', unit: 's' };
      return { ...words, value: wait_s, perUnit: 1, least: 0, most: 600, step: 0.1, valueAt };
    }
    case 'turn-end': {
      if (first < 0) return null;
      const { pitchRate_degps } = plan.turn;
      const { start_s } = segments[first]!;
      const angle_deg = pitchRate_degps * (segments[last]!.end_s - start_s);
      const valueAt = (t: number): number => angle_deg / Math.max(1e-3, t - start_s);
      const words = { path: `${at}.turn.pitchRate_degps`, label: 'turned', unit: '°/s' };
      return { ...words, value: pitchRate_degps, perUnit: 1, least: 0.1, most: 180, step: 0.1, valueAt };
    }
    case 'entry':
    case 'entry-end': {
      const which = id.endsWith('-end') ? 'end' : 'start';
      const edge = plan.entry?.[which];
      return edge === undefined || edge.kind === 'free' ? null : edgeKnot(edge, which, at, reader, path);
    }
    default:
      return null;
  }
}

function edgeKnot(
  edge: SetEdge,
  which: 'start' | 'end',
  at: string,
  reader: TrackReader,
  path: HomePath,
): HomeKnot {
  const { key, unit, perUnit, step, most, what } = EDGES[edge.kind];
  const lag_s = which === 'start' ? 0 : tailOff_s(reader, path);
  const valueAt = (t: number): number => {
    const now = reader.at(t - lag_s);
    switch (edge.kind) {
      case 'altitude':
        return now.height_m / perUnit;
      case 'speed':
        return now.speedRelative_mps / perUnit;
      case 'dynamicPressure':
        return now.dynamicPressure_Pa / perUnit;
      case 'heating':
        return heatingNow_Wpm2(reader, path) / perUnit;
    }
  };
  const label = `${what === '' ? '' : `${what} `}at the ${which} of the entry burn`;
  const value = edgeValue(edge) / perUnit;
  return {
    path: `${at}.entry.${which}.${key}`,
    label,
    unit,
    value,
    perUnit,
    least: step,
    most,
    step,
    valueAt,
  };
}

/** From where the entry burn's edge is reached until its thrust is gone, where the knot stands, s. */
function tailOff_s(reader: TrackReader, path: HomePath): number {
  const own = reader.track.segments.filter((_, i) => path.legs[i]!.phase === 'entry');
  // What comes first at full thrust lasts until the edge.
  const full = own.find(({ thrust_N, thrustRate_Nps }) => thrust_N > 0 && thrustRate_Nps === 0);
  return full === undefined ? 0 : own[own.length - 1]!.end_s - full.end_s;
}
