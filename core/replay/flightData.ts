/**
 * A flight as plain data: what a worker sends to whoever draws, and what a results store keeps. Everything is structured
 * cloneable; the paths are interpolation coefficients, so any zoom is exact.
 */
import type { CompiledStudy } from '../flight/compile.ts';
import type { FlightStatus } from '../flight/flightStatus.ts';
import { launchFrame } from '../flight/launch.ts';
import type { Ledger } from '../flight/ledger.ts';
import type { LogEntry } from '../flight/log.ts';
import type { PlannedGap, Segment } from '../flight/planTypes.ts';
import type { FlightRecord } from '../flight/record.ts';
import type { HeldTurn } from '../flight/spinTypes.ts';
import { TrackReader, type Track, type TrackEnd } from '../flight/track.ts';
import { AZIMUTH } from '../flight/compile.ts';
import type { Orbit } from '../earth/orbit.ts';
import { homeLaws, type HomePath } from '../recovery/homePath.ts';
import { StepStore, type StepArrays } from '../ode/dense.ts';

export interface TrackData {
  readonly id: string;
  readonly bodies: readonly number[];
  readonly segments: readonly Segment[];
  readonly steps: StepArrays;
  readonly start_s: number;
  readonly end_s: number;
  readonly end: TrackEnd;
  readonly extra_kg: number;
  readonly heldAim: Float64Array | null;
  readonly heldTurn: HeldTurn | null;
  /** Of a body that flies home: what steers it. */
  readonly home?: HomePath;
}

export interface FlightData {
  readonly status: FlightStatus;
  /** Parameter values flown: SI, radians. */
  readonly values: Float64Array;
  /** The first is the main track, from release to insertion; then the freed pieces. */
  readonly tracks: readonly TrackData[];
  /** Segments before release, standing on the pad. */
  readonly padSegments: readonly Segment[];
  readonly log: readonly LogEntry[];
  readonly ledger: Ledger | null;
  readonly orbit: Orbit | null;
  readonly gaps: readonly PlannedGap[];
  /** Mission time of each event of the sequence as flown, s; NaN when it never happened or had nothing to act on. */
  readonly eventTimes_s: readonly number[];
}

/** A recorded flight as plain data; SI. */
export function packFlight(record: FlightRecord): FlightData {
  return {
    status: record.status,
    values: record.values,
    tracks: record.tracks.map((track) => ({ ...track, steps: track.steps.toArrays() })),
    padSegments: record.plan.segments.filter((segment) => segment.held),
    log: record.log,
    ledger: record.ledger,
    orbit: record.orbit,
    gaps: record.gaps,
    eventTimes_s: record.plan.eventTimes_s,
  };
}

/** A track as it was recorded, its steps readable again; SI. */
function unpackTrack(data: TrackData): Track {
  return { ...data, steps: StepStore.fromArrays(data.steps) };
}

/** A reader of one track of a packed flight, for the study that it was flown with. Mission time in seconds, SI. */
export function readTrack(compiled: CompiledStudy, flight: FlightData, track: number): TrackReader {
  const data = flight.tracks[track];
  if (data === undefined) {
    throw new RangeError(`readTrack: received track ${track}, allowed 0 to ${flight.tracks.length - 1}`);
  }
  const launch = launchFrame(compiled.site, flight.values[AZIMUTH]!);
  const own = data.home === undefined ? null : homeLaws(data.home, compiled.setting.figure);
  return new TrackReader(compiled, unpackTrack(data), flight.values, launch, own);
}
