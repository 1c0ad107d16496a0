/** A flight whose freed body flies home: the flown return in place of its ballistic fall, in the track and in the log. */
import { findFallEvents } from '../flight/found.ts';
import { logEntry, type LogEntry } from '../flight/log.ts';
import type { CompiledStudy } from '../flight/compile.ts';
import type { CompiledReturn } from '../recovery/compile.ts';
import { stagnationHeating_Wpm2 } from '../recovery/heating.ts';
import { flyHome, type HomePath } from '../recovery/homePath.ts';
import type { ReturnPhase } from '../recovery/legs.ts';
import type { ReturnStart } from '../recovery/start.ts';
import type { TrackReader } from '../flight/track.ts';
import { StepStore } from '../ode/dense.ts';
import { readTrack, type FlightData } from './flightData.ts';

/** Burns whose begin and end stand in the log, and how they are called there. */
const BURNS: Partial<Record<ReturnPhase, string>> = {
  boostback: 'Boostback',
  entry: 'Entry burn',
  landing: 'Landing burn',
};

/**
 * The flight with a solved return (numbers in SI and radians) in place of its body's fall; from where the recorded flight has
 * it part, so that the path is continuous. The same flight where the return does not fly from there, or no piece is that body's.
 */
export function withHome(
  compiled: CompiledStudy,
  flight: FlightData,
  home: CompiledReturn,
  values: Float64Array,
  start: ReturnStart,
): FlightData {
  const at = flight.tracks.findIndex(({ bodies }, i) => i > 0 && bodies.includes(home.body));
  const piece = flight.tracks[at];
  const parted = piece?.segments[0];
  if (piece === undefined || parted === undefined) return flight;
  const state = new Float64Array(piece.steps.dimension);
  StepStore.fromArrays(piece.steps).sample(piece.start_s, state);
  const from = { ...start, time_s: piece.start_s, state: state.slice(0, 6) };
  const flown = flyHome(home, values, from, piece.id, piece.bodies, parted);
  if (flown === null) return flight;
  const { track, path } = flown;
  const tracks = flight.tracks.map((each, i) =>
    i === at ? { ...track, steps: track.steps.toArrays(), home: path } : each,
  );
  const own = { ...flight, tracks };
  const log = [
    ...flight.log.filter((entry) => entry.track !== piece.id || entry.cause === 'set'),
    ...homeEntries(compiled, readTrack(compiled, own, at), path),
  ];
  return { ...own, log: log.sort((p, q) => p.time_s - q.time_s) };
}

function homeEntries(compiled: CompiledStudy, reader: TrackReader, path: HomePath): LogEntry[] {
  const { track } = reader;
  const entries: LogEntry[] = findFallEvents(reader).map((found) =>
    logEntry(compiled, { ...found, cause: 'found' }, reader, found.time_s),
  );
  const plan = compiled.study.returns?.plans[path.plan];
  const write = (id: string, name: string, trigger: string, time_s: number, set = false): void => {
    const cause = set ? 'set' : 'found';
    entries.push(logEntry(compiled, { id: `${track.id}-${id}`, name, cause, trigger }, reader, time_s));
  };
  const turn = path.legs.findIndex(({ phase }) => phase === 'turn');
  if (turn >= 0) {
    const { start_s } = track.segments[turn]!;
    const last = path.legs.findLastIndex(({ phase }) => phase === 'turn');
    write('turn', 'Turn', `as "${path.name}" has it`, start_s, true);
    write('turn-end', 'Turn ends', `as "${path.name}" has it`, track.segments[last]!.end_s, true);
  }
  path.legs.forEach(({ phase }, i) => {
    const name = BURNS[phase];
    if (name === undefined) return;
    const { start_s, end_s } = track.segments[i]!;
    const by = `as solved for "${path.name}"`;
    const edges = phase === 'entry' ? plan?.entry : undefined;
    const isSet = (edge: 'start' | 'end'): boolean => edges !== undefined && edges[edge].kind !== 'free';
    if (path.legs[i - 1]?.phase !== phase) write(phase, name, by, start_s, isSet('start'));
    const last = path.legs[i + 1]?.phase !== phase;
    if (last && phase !== 'landing') write(`${phase}-end`, `${name} ends`, by, end_s, isSet('end'));
  });
  write('touchdown', 'Touchdown', 'the landing burn ends at the ground', track.end_s);
  return entries;
}

/** Stagnation heating at the nose radius of a return's plan where a reader has just looked, W/m². */
export function heatingNow_Wpm2({ now }: TrackReader, { noseRadius_m }: HomePath): number {
  return stagnationHeating_Wpm2(now.density_kgpm3, now.speedAir_mps, noseRadius_m);
}

/** What a flight home meets, against mission time. */
export interface HomeCurves {
  readonly times_s: Float64Array;
  readonly dynamicPressure_Pa: Float64Array;
  readonly heating_Wpm2: Float64Array;
  readonly load_mps2: Float64Array;
  readonly height_m: Float64Array;
}

/** Samples a return for a chart: at the given number of even times, s, and at all ends of its segments. SI. */
export function sampleHome(reader: TrackReader, path: HomePath, count: number): HomeCurves {
  const { start_s, end_s, segments } = reader.track;
  const even = Array.from({ length: count }, (_, i) => start_s + ((end_s - start_s) * i) / (count - 1));
  const times = [
    ...even,
    ...segments.map((segment) => segment.end_s - 1e-6),
    ...segments.map((s) => s.start_s),
  ];
  const times_s = Float64Array.from(times.filter((t) => t >= start_s && t <= end_s)).sort();
  const curve = (): Float64Array => new Float64Array(times_s.length);
  const curves = {
    times_s,
    dynamicPressure_Pa: curve(),
    heating_Wpm2: curve(),
    load_mps2: curve(),
    height_m: curve(),
  };
  times_s.forEach((t, i) => {
    const now = reader.at(t);
    curves.dynamicPressure_Pa[i] = now.dynamicPressure_Pa;
    curves.heating_Wpm2[i] = heatingNow_Wpm2(reader, path);
    curves.load_mps2[i] = now.sensed_mps2;
    curves.height_m[i] = now.height_m;
  });
  return curves;
}
