/** The event log: what happened when, what caused it, and the state before and after. */
import type { SequenceEvent, Trigger } from '../contract/sequence.ts';
import { cartesianToGeodetic } from '../earth/ellipsoid.ts';
import { inertialToEarthFixed } from '../earth/frames.ts';
import { geodesicBetween } from '../earth/geodesic.ts';
import type { CompiledStudy } from './compile.ts';
import { findAscentEvents, findFallEvents } from './found.ts';
import { observePad } from './pad.ts';
import type { LaunchFrame } from './steering/law.ts';
import type { HoldMode } from './planTypes.ts';
import { TrackReader, type Observation, type Track } from './track.ts';

/** A snapshot of a track: SI, degrees for people. Thrust and mass are those of the bodies flying together. */
export interface LogState {
  readonly mass_kg: number;
  readonly thrust_N: number;
  readonly sensed_mps2: number;
}

export interface LogEntry {
  readonly id: string;
  readonly name: string;
  /** Set by the sequence, or found by the flight. */
  readonly cause: 'set' | 'found';
  /** What set it off, in words. */
  readonly trigger: string;
  /** The track on which it happened. */
  readonly track: string;
  readonly time_s: number;
  readonly height_m: number;
  readonly speedRelative_mps: number;
  readonly speedInertial_mps: number;
  readonly flightPathAngle_deg: number;
  readonly downrange_m: number;
  readonly dynamicPressure_Pa: number;
  readonly mach: number;
  readonly before: LogState;
  readonly after: LogState;
}

const DEG = 180 / Math.PI;

/**
 * Collects the log of a recorded flight in order of time; what happens at one instant stands in the order of the
 * sequence, and each of its entries has the state before and after the instant as a whole. Distances are geodesics on
 * the WGS 84 ellipsoid (m).
 */
export function buildLog(
  compiled: CompiledStudy,
  tracks: readonly Track[],
  values: Float64Array,
  launch: LaunchFrame,
): LogEntry[] {
  const entries = tracks.length === 0 ? [] : padEntries(compiled, values, launch);
  const { events } = compiled.study.sequence;
  for (const track of tracks) {
    const reader = new TrackReader(compiled, track, values, launch);
    const write = (what: Happening, time_s: number, atEnd = false): void => {
      const before = snapshot(reader.at(time_s, true));
      const now = reader.at(time_s);
      const after = atEnd ? afterEnd(compiled, now) : snapshot(now);
      entries.push(makeEntry(compiled, what, track.id, now, before, after));
    };
    const main = track.heldAim === null;
    for (const segment of track.segments) {
      if (segment.start_s > track.end_s) break;
      for (const index of segment.fired) write(commandOf(events[index]!), segment.start_s);
    }
    if (main) for (const turn of holdTurns(compiled, track)) write(turn, turn.time_s);
    for (const found of main ? findAscentEvents(reader) : findFallEvents(reader)) {
      write({ ...found, cause: 'found' }, found.time_s);
    }
    if (track.end === 'insertion') {
      for (const index of compiled.plan.firedAtEnd) write(commandOf(events[index]!), track.end_s, true);
      write(compiled.study.target.kind === 'apogee' ? TOP : INSERTION, track.end_s, true);
    }
    if (track.end === 'impact') {
      const trigger = 'height falls through zero';
      write({ id: `${track.id}-impact`, name: 'impact', cause: 'found', trigger }, track.end_s);
    }
  }
  return entries.sort((a, b) => a.time_s - b.time_s);
}

export type Happening = Pick<LogEntry, 'id' | 'name' | 'cause' | 'trigger'>;

/** An entry of a happening at a mission time (s) of a track, with the state before and after; see `buildLog`. */
export function logEntry(
  compiled: CompiledStudy,
  what: Happening,
  reader: TrackReader,
  time_s: number,
): LogEntry {
  const before = snapshot(reader.at(time_s, true));
  const now = reader.at(time_s);
  return makeEntry(compiled, what, reader.track.id, now, before, snapshot(now));
}

/** Where a limit begins and ceases to throttle, and where its engines come to the lower end of their range; s. */
function holdTurns(compiled: CompiledStudy, track: Track): (Happening & { time_s: number })[] {
  const { events } = compiled.study.sequence;
  let before: HoldMode = 'idle';
  let number = 0;
  return track.segments.flatMap((segment) => {
    const { hold, steady } = segment;
    if (steady !== undefined && segment.fired.includes(steady.event)) {
      const { id, name, action } = events[steady.event]!;
      const unknown = compiled.unknowns.find((each) => each.kind === 'level' && each.event === steady.event);
      const lowest = action.kind === 'hold' && steady.level <= (unknown?.lower ?? 1);
      const share = `${(100 * steady.level).toFixed(1)} % of what is commanded`;
      const word = steady.level === 1 && !lowest ? TURNS.idle[0] : lowest ? TURNS.least[0] : share;
      const trigger = lowest ? TURNS.least[1] : 'the throttle whose greatest dynamic pressure is the limit';
      const time_s = segment.start_s;
      return [{ id: `${id}-throttle`, name: `${name}: ${word}`, cause: 'found' as const, trigger, time_s }];
    }
    const mode = hold?.mode ?? 'idle';
    const changed = mode !== before && segment.start_s <= track.end_s;
    before = mode;
    if (!changed || hold === undefined) return [];
    const { id, name } = events[hold.event]!;
    const [word, trigger] = TURNS[mode];
    number += 1;
    return [
      {
        id: `${id}-turn-${number}`,
        name: `${name}: ${word}`,
        cause: 'found' as const,
        trigger,
        time_s: segment.start_s,
      },
    ];
  });
}

const TURNS: Readonly<Record<HoldMode, readonly [string, string]>> = {
  idle: ['full throttle keeps it', 'as commanded, the engines no longer exceed the limit'],
  holding: ['throttling', 'the limit is reached'],
  least: ['throttle at its lower end', 'the limit asks for less than the range of the throttle allows'],
};

const LIFTOFF: Happening = {
  id: 'liftoff',
  name: 'liftoff',
  cause: 'found',
  trigger: 'released with more thrust than weight',
};
const INSERTION: Happening = {
  id: 'insertion',
  name: 'insertion',
  cause: 'found',
  trigger: 'end of the last tail-off',
};

/** The end of a flight that goes up and comes down. */
const TOP: Happening = { ...INSERTION, name: 'end of the ascent', trigger: 'the last event has come about' };

/** A flight that has tracks has lifted off where it was released. */
function commandOf(event: SequenceEvent): Happening {
  if (event.action.kind === 'release') return LIFTOFF;
  return { id: event.id, name: event.name, cause: 'set', trigger: triggerWords(event.trigger) };
}

function makeEntry(
  compiled: CompiledStudy,
  what: Happening,
  track: string,
  now: Observation,
  before: LogState,
  after: LogState,
): LogEntry {
  return {
    ...what,
    track,
    time_s: now.time_s,
    height_m: now.height_m,
    speedRelative_mps: now.speedRelative_mps,
    speedInertial_mps: now.speedInertial_mps,
    flightPathAngle_deg: now.flightPathAngle_rad * DEG,
    downrange_m: downrange_m(compiled, now),
    dynamicPressure_Pa: now.dynamicPressure_Pa,
    mach: now.mach,
    before,
    after,
  };
}

/** Commands given on the pad, on the main track. */
function padEntries(compiled: CompiledStudy, values: Float64Array, launch: LaunchFrame): LogEntry[] {
  const { events } = compiled.study.sequence;
  const { segments } = compiled.plan;
  return segments.flatMap((segment, index) => {
    if (!segment.held) return [];
    const now = observePad(compiled, values, launch, index, segment.start_s);
    const before = observePad(compiled, values, launch, Math.max(0, index - 1), segment.start_s);
    const thrust_N = index === 0 ? 0 : before.thrustNet_N;
    return segment.fired.map((event) =>
      makeEntry(
        compiled,
        commandOf(events[event]!),
        'main',
        now,
        { ...snapshot(before), thrust_N },
        snapshot(now),
      ),
    );
  });
}

/** After insertion nothing burns any more, and what the last events let go is gone. */
function afterEnd(compiled: CompiledStudy, now: Observation): LogState {
  const { branches, segments } = compiled.plan;
  const gone = branches.filter((b) => b.fromBranch < 0 && b.fromSegment === segments.length);
  const mass_kg = gone.reduce((mass, branch) => mass - branch.segments[0]!.mass_kg, now.mass_kg);
  return { mass_kg, thrust_N: 0, sensed_mps2: now.drag_N / mass_kg };
}

/** Geodesic distance from the site to the point below the vehicle, m; on the sphere latitudes are taken as geodetic. */
export function downrange_m(compiled: CompiledStudy, now: Observation): number {
  const { site, earth } = compiled.study;
  const fixed = new Float64Array(3);
  inertialToEarthFixed(
    now.state[0]!,
    now.state[1]!,
    now.state[2]!,
    compiled.earth.rotation_radps * now.time_s,
    fixed,
  );
  const [x = 0, y = 0, z = 0] = fixed;
  const point = {
    latitude_rad: Math.atan2(z, Math.hypot(x, y)),
    longitude_rad: Math.atan2(y, x),
    height_m: 0,
  };
  if (earth.figure === 'ellipsoid') cartesianToGeodetic(x, y, z, point);
  return geodesicBetween(
    site.latitude_deg / DEG,
    site.longitude_deg / DEG,
    point.latitude_rad,
    point.longitude_rad,
  ).distance_m;
}

function snapshot(now: Observation): LogState {
  return { mass_kg: now.mass_kg, thrust_N: now.thrustNet_N, sensed_mps2: now.sensed_mps2 };
}

function way(passing: 'rising' | 'falling'): string {
  return passing === 'rising' ? 'rises through' : 'falls through';
}

/** A trigger in words for people: seconds and kilograms. */
export function triggerWords(trigger: Trigger): string {
  switch (trigger.kind) {
    case 'time':
      return trigger.free === undefined
        ? `mission time ${trigger.time_s} s`
        : `mission time, free from ${trigger.free.earliest_s} to ${trigger.free.latest_s} s`;
    case 'after':
      return trigger.delay_s === 0
        ? `with ${trigger.events.join(' and ')}`
        : `${trigger.delay_s} s after ${trigger.events.join(' and ')}`;
    case 'before':
      return `${trigger.lead_s} s before ${trigger.event}`;
    case 'gap':
      return trigger.gap_s < 0
        ? `${-trigger.gap_s} s before ${trigger.cutoff}`
        : `${trigger.gap_s} s after ${trigger.cutoff}`;
    case 'propellant':
      return trigger.left === 'reserves'
        ? `${trigger.body} down to its reserves`
        : `${trigger.body} down to ${trigger.left.mass_kg} kg`;
    case 'altitude':
      return `height ${way(trigger.passing)} ${trigger.height_m} m`;
    case 'speed':
      return `${trigger.frame === 'inertial' ? 'inertial ' : ''}speed ${way(trigger.passing)} ${trigger.speed_mps} m/s`;
    case 'dynamicPressure':
      return `dynamic pressure ${way(trigger.passing)} ${trigger.pressure_Pa} Pa`;
    case 'sensedAcceleration':
      return `sensed acceleration ${way('rising')} ${trigger.acceleration_mps2} m/s²`;
    case 'heatFlux':
      return `heat flux ${way('falling')} ${trigger.heatFlux_Wpm2} W/m²`;
    case 'verticalSpeed':
      return `vertical speed ${way(trigger.passing)} zero`;
  }
}
