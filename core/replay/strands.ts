/** A flight as strands: one a body, with its thrust, engines and propellant against time, and whom it is joined to. */
import type { CompiledStudy } from '../flight/compile.ts';
import type { Segment } from '../flight/planTypes.ts';
import type { FlightData } from './flightData.ts';

export type BodyColour = 1 | 2 | 3 | 4 | 'plain';

/** Linear in time between its ends. */
export interface StrandSpan {
  readonly start_s: number;
  readonly end_s: number;
  /** Vacuum thrust of the body's engines at both ends, N. */
  readonly startThrust_N: number;
  readonly endThrust_N: number;
  /** Engines that burn, also while they come up or go down. */
  readonly engines: number;
  /** Propellant on board over the load at the start, at both ends, 0 to 1. */
  readonly startFill: number;
  readonly endFill: number;
}

export type StrandEnd = 'orbit' | 'down' | 'open';

export interface Strand {
  /** Index of the body in the study. */
  readonly body: number;
  readonly id: string;
  readonly name: string;
  readonly colour: BodyColour;
  readonly spans: readonly StrandSpan[];
  readonly start_s: number;
  readonly end_s: number;
  readonly end: StrandEnd;
  /** Index of the track that the strand follows at its end. */
  readonly track: number;
}

/** From this time on these groups of bodies fly together, each nose first. */
export interface Joining {
  readonly time_s: number;
  readonly groups: readonly (readonly number[])[];
}

export interface StrandSet {
  /** Nose first. */
  readonly strands: readonly Strand[];
  readonly joinings: readonly Joining[];
  readonly start_s: number;
  readonly end_s: number;
  readonly mostThrust_N: number;
}

/** Colour of a body by role and by how many of that role came before it; thrustless pieces are plain. Unitless. */
function bodyColour(role: string, before: number): BodyColour {
  switch (role) {
    case 'upper':
      return before === 0 ? 1 : before === 1 ? 3 : 4;
    case 'booster':
      return before === 0 ? 2 : 4;
    case 'strapOn':
      return 3;
    default:
      return 'plain';
  }
}

/** Colours of all bodies of a study, in its order. Unitless. */
function bodyColours(compiled: CompiledStudy): BodyColour[] {
  const seen = new Map<string, number>();
  return compiled.bodies.map(({ data }) => {
    const before = data.role === 'strapOn' ? 0 : (seen.get(data.role) ?? 0);
    seen.set(data.role, before + 1);
    return bodyColour(data.role, before);
  });
}

/** Bodies nose first: those that ride furthest from the lowest body come first, in file order among equals. Unitless. */
function noseFirst(compiled: CompiledStudy, bodies: readonly number[]): number[] {
  const depth = (body: number): number => {
    let d = 0;
    for (let i = compiled.bodies[body]!.parent; i >= 0; i = compiled.bodies[i]!.parent) d += 1;
    // What hangs on the side of a body belongs below it.
    return compiled.bodies[body]!.data.role === 'strapOn' ? -1 : d;
  };
  return [...bodies].sort((p, q) => depth(q) - depth(p) || p - q);
}

/** The strands of a flight, from the first command to the last body's end; times in seconds, thrust in N. */
export function buildStrands(compiled: CompiledStudy, flight: FlightData): StrandSet {
  const colours = bodyColours(compiled);
  const main = flight.tracks[0];
  if (main === undefined) throw new RangeError('buildStrands: the flight has no track');
  const all = noseFirst(
    compiled,
    compiled.bodies.map((_, i) => i),
  );
  const strands = all.map((body): Strand => {
    const { id, name, load_kg } = compiled.bodies[body]!;
    const own = flight.tracks.findIndex((track, i) => i > 0 && track.bodies.includes(body));
    const track = own < 0 ? 0 : own;
    const onStack = [...flight.padSegments, ...main.segments].filter((s) => s.bodies.includes(body));
    const parted = own < 0 ? [] : flight.tracks[own]!.segments;
    const { end_s, end } = flight.tracks[track]!;
    return {
      body,
      id,
      name,
      colour: colours[body]!,
      spans: clip(toSpans([...onStack, ...parted], body, load_kg), end_s),
      start_s: onStack[0]?.start_s ?? main.start_s,
      end_s,
      end: end === 'insertion' ? 'orbit' : end === 'cut short' ? 'open' : 'down',
      track,
    };
  });
  const ends = flight.tracks.map((track) => track.end_s);
  const starts = [main.start_s, ...flight.padSegments.map((segment) => segment.start_s)];
  return {
    strands,
    joinings: buildJoinings(compiled, flight),
    start_s: Math.min(...starts),
    end_s: Math.max(...ends),
    mostThrust_N: Math.max(
      0,
      ...strands.flatMap((strand) => strand.spans.flatMap((s) => [s.startThrust_N, s.endThrust_N])),
    ),
  };
}

/** Thrust (N), engines and fill of a strand at a time (s); at a jump the later value. Null outside the strand. */
export function strandAt(
  strand: Strand,
  t_s: number,
): { thrust_N: number; engines: number; fill: number } | null {
  if (t_s < strand.start_s || t_s > strand.end_s) return null;
  for (let i = strand.spans.length - 1; i >= 0; i--) {
    const span = strand.spans[i]!;
    if (t_s < span.start_s) continue;
    const share =
      span.end_s > span.start_s ? Math.min(1, (t_s - span.start_s) / (span.end_s - span.start_s)) : 0;
    return {
      thrust_N: span.startThrust_N + share * (span.endThrust_N - span.startThrust_N),
      engines: span.engines,
      fill: span.startFill + share * (span.endFill - span.startFill),
    };
  }
  return null;
}

function toSpans(segments: readonly Segment[], body: number, load_kg: number): StrandSpan[] {
  return segments.map((segment) => {
    const dt = segment.end_s - segment.start_s;
    const burns = segment.burns.filter((burn) => burn.body === body);
    const thrust = burns.reduce((sum, burn) => sum + burn.thrust_N, 0);
    const rate = burns.reduce((sum, burn) => sum + burn.thrustRate_Nps, 0);
    const burned = burns.reduce(
      (sum, burn) => sum + dt * (burn.flow_kgps + 0.5 * dt * burn.flowRate_kgps2),
      0,
    );
    const left = segment.propellant_kg[body]!;
    return {
      start_s: segment.start_s,
      end_s: segment.end_s,
      startThrust_N: thrust,
      endThrust_N: thrust + rate * dt,
      engines: burns.reduce((sum, burn) => sum + burn.engines, 0),
      startFill: load_kg > 0 ? left / load_kg : 0,
      endFill: load_kg > 0 ? (left - burned) / load_kg : 0,
    };
  });
}

function clip(spans: readonly StrandSpan[], end_s: number): StrandSpan[] {
  return spans
    .filter((span) => span.start_s < end_s)
    .map((span) => {
      if (span.end_s <= end_s) return span;
      const share = (end_s - span.start_s) / (span.end_s - span.start_s);
      return {
        ...span,
        end_s,
        endThrust_N: span.startThrust_N + share * (span.endThrust_N - span.startThrust_N),
        endFill: span.startFill + share * (span.endFill - span.startFill),
      };
    });
}

function buildJoinings(compiled: CompiledStudy, flight: FlightData): Joining[] {
  const main = flight.tracks[0]!;
  const whole = flight.padSegments[0]?.bodies ?? main.segments[0]!.bodies;
  const times = [...new Set(flight.tracks.slice(1).map((track) => track.start_s))].sort((p, q) => p - q);
  const start_s = flight.padSegments[0]?.start_s ?? main.start_s;
  const joinings: Joining[] = [{ time_s: start_s, groups: [noseFirst(compiled, whole)] }];
  for (const time_s of times) {
    const freed = flight.tracks
      .slice(1)
      .filter((track) => track.start_s <= time_s)
      .map((track) => track.bodies);
    const gone = new Set(freed.flat());
    const rest = whole.filter((body) => !gone.has(body));
    // A piece that parts again later is listed with all its bodies until then.
    const groups = [rest, ...freed].filter((group) => group.length > 0);
    joinings.push({ time_s, groups: groups.map((group) => noseFirst(compiled, group)) });
  }
  return joinings;
}
