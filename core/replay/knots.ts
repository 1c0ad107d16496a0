/** Knots of the braid: the moments of a flight's log, each on the strand that it belongs to. */
import { G0_mps2 } from '../constants/physical.ts';
import type { Action } from '../contract/sequence.ts';
import type { CompiledStudy } from '../flight/compile.ts';
import type { FlightData } from './flightData.ts';
import { strandAt, type StrandSet } from './strands.ts';

export interface Knot {
  readonly id: string;
  readonly name: string;
  /** A few words beside the name: engines, a value, a trigger. Empty when there is nothing to say. */
  readonly note: string;
  readonly time_s: number;
  /** The body on whose strand it stands. */
  readonly body: number;
  /** Set by the sequence (a filled diamond), or found by the flight (an open ring). */
  readonly cause: 'set' | 'found';
  /** 1 is shown first; 3 only where there is plenty of room. */
  readonly rank: 1 | 2 | 3;
}

/** Knots in order of time (s); of events at one instant on one strand the more important is kept by the drawing. */
export function buildKnots(compiled: CompiledStudy, flight: FlightData, set: StrandSet): Knot[] {
  const { events } = compiled.study.sequence;
  const indexOf = (id: string): number => compiled.bodies.findIndex((body) => body.id === id);
  const payloadBody = indexOf(compiled.study.payload.ridesOn);
  /** The body that pushes most then; the payload's when nothing pushes. */
  const thickest = (t_s: number, track: number): number => {
    const own = flight.tracks[track]!.bodies;
    let best = track === 0 ? payloadBody : own[0]!;
    let most = 0;
    for (const strand of set.strands) {
      if (track > 0 && !own.includes(strand.body)) continue;
      const thrust = strandAt(strand, t_s)?.thrust_N ?? 0;
      if (thrust > most) {
        most = thrust;
        best = strand.body;
      }
    }
    return best;
  };
  return flight.log.flatMap((entry): Knot[] => {
    const event = events.find((e) => e.id === entry.id);
    const track = flight.tracks.findIndex((t) => t.id === entry.track);
    const base = { id: entry.id, name: entry.name, time_s: entry.time_s, cause: entry.cause };
    if (event === undefined) {
      const first = ['impact', 'Touchdown', 'Boostback', 'Entry burn', 'Landing burn'];
      const rank = entry.id === 'max-q' || entry.id === 'insertion' || first.includes(entry.name) ? 1 : 2;
      if (entry.id === 'liftoff') return [];
      return [
        { ...base, note: foundNote(entry.id, entry), body: thickest(entry.time_s - 1e-6, track), rank },
      ];
    }
    const { action } = event;
    switch (action.kind) {
      case 'release':
        return [];
      case 'hold': {
        const { limit } = action;
        const most =
          limit.kind === 'sensedAcceleration'
            ? `${(limit.acceleration_mps2 / G0_mps2).toFixed(1)} g`
            : `${(limit.pressure_Pa / 1000).toFixed(1)} kPa`;
        const note = `${most} at most`;
        return [{ ...base, note, body: indexOf(action.body), rank: 2 }];
      }
      case 'steer':
      case 'endHold':
        return [{ ...base, note: '', body: thickest(entry.time_s, track), rank: 3 }];
      case 'part': {
        const link = compiled.bodies[indexOf(action.link)]!;
        // It stands on the body that lets go below the link.
        return [{ ...base, note: '', body: link.parent, rank: 1 }];
      }
      default: {
        const body = indexOf(action.body);
        const strand = set.strands.find((s) => s.body === body);
        const before = strand === undefined ? null : strandAt(strand, entry.time_s - 1e-6);
        const groups = compiled.bodies[body]!.data.engineGroups;
        const own = action.group === undefined ? 0 : (groups[action.group]?.count ?? 0);
        return [
          {
            ...base,
            note: commandNote(action, own, before?.engines ?? 0),
            body,
            rank: action.kind === 'throttle' || action.kind === 'shift' ? 2 : 1,
          },
        ];
      }
    }
  });
}

function foundNote(id: string, entry: FlightData['log'][number]): string {
  if (id === 'max-q') return `${(entry.dynamicPressure_Pa / 1000).toFixed(1)} kPa`;
  if (id === 'mach-1') return `${(entry.height_m / 1000).toFixed(1)} km up`;
  if (id.endsWith('-apogee')) return `${(entry.height_m / 1000).toFixed(1)} km`;
  return '';
}

/** What a command does to engines, in a few words; `before` burn on the body just before it, `own` make up its group. */
function commandNote(
  action: Extract<Action, { kind: 'light' | 'cut' | 'throttle' | 'shift' }>,
  own: number,
  before: number,
): string {
  const engines = (n: number): string => (n === 1 ? '1 engine' : `${n} engines`);
  if (action.kind === 'shift') return `${action.ispVacuum_s} s`;
  if (action.kind === 'throttle') return `${Math.round(100 * action.level)} %`;
  if (action.kind === 'light') return engines(action.engines ?? own);
  const stopped = Math.min(before, action.group === undefined ? before : own) - action.keep;
  if (stopped < before) return `${stopped} of ${before} cut`;
  return before > 1 ? `last ${before} cut` : '';
}
