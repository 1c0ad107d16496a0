/** The event log: what happened when, what caused it, and the state before and after. */
import type { Trigger } from '../contract/sequence.ts';
import { cartesianToGeodetic } from '../earth/ellipsoid.ts';
import { inertialToEarthFixed } from '../earth/frames.ts';
import { geodesicBetween } from '../earth/geodesic.ts';
import { EARTH_ROTATION_radps } from '../constants/physical.ts';
import type { CompiledStudy } from './compile.ts';
import { findAscentEvents, findFallEvents } from './found.ts';
import type { LaunchFrame } from './steering/law.ts';
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

/** Collects the log of a recorded flight in order of time. Distances are geodesics on the WGS 84 ellipsoid (m). */
export function buildLog(
  compiled: CompiledStudy,
  tracks: readonly Track[],
  values: Float64Array,
  launch: LaunchFrame,
): LogEntry[] {
  const entries: LogEntry[] = [];
  const { events } = compiled.study.sequence;
  for (const track of tracks) {
    const reader = new TrackReader(compiled, track, values, launch);
    const write = (id: string, name: string, cause: LogEntry['cause'], trigger: string, time_s: number): void => {
      const before = snapshot(reader.at(time_s, true));
      const now = reader.at(time_s);
      entries.push({
        id,
        name,
        cause,
        trigger,
        track: track.id,
        time_s,
        height_m: now.height_m,
        speedRelative_mps: now.speedRelative_mps,
        speedInertial_mps: now.speedInertial_mps,
        flightPathAngle_deg: now.flightPathAngle_rad * DEG,
        downrange_m: downrange_m(compiled, now),
        dynamicPressure_Pa: now.dynamicPressure_Pa,
        mach: now.mach,
        before,
        after: snapshot(now),
      });
    };
    const main = track.heldAim === null;
    if (main) write('liftoff', 'liftoff', 'found', 'released with more thrust than weight', track.start_s);
    for (const segment of track.segments) {
      if (segment.start_s > track.end_s) break;
      for (const index of segment.fired) {
        const event = events[index]!;
        if (event.action.kind === 'release') continue;
        write(event.id, event.name, 'set', triggerWords(event.trigger), segment.start_s);
      }
    }
    for (const found of main ? findAscentEvents(reader) : findFallEvents(reader)) {
      write(found.id, found.name, 'found', found.trigger, found.time_s);
    }
    if (track.end === 'insertion') {
      for (const index of compiled.plan.firedAtEnd) {
        const event = events[index]!;
        write(event.id, event.name, 'set', triggerWords(event.trigger), track.end_s);
      }
      write('insertion', 'insertion', 'found', 'end of the last tail-off', track.end_s);
    }
    if (track.end === 'impact') write(`${track.id}-impact`, 'impact', 'found', 'height falls through zero', track.end_s);
  }
  return entries.sort((a, b) => a.time_s - b.time_s);
}

/** Geodesic distance from the site to the point below the vehicle, m; on the sphere latitudes are taken as geodetic. */
function downrange_m(compiled: CompiledStudy, now: Observation): number {
  const { site, earth } = compiled.study;
  const fixed = new Float64Array(3);
  inertialToEarthFixed(now.state[0]!, now.state[1]!, now.state[2]!, EARTH_ROTATION_radps * now.time_s, fixed);
  const [x = 0, y = 0, z = 0] = fixed;
  const point = { latitude_rad: Math.atan2(z, Math.hypot(x, y)), longitude_rad: Math.atan2(y, x), height_m: 0 };
  if (earth.figure === 'ellipsoid') cartesianToGeodetic(x, y, z, point);
  return geodesicBetween(site.latitude_deg / DEG, site.longitude_deg / DEG, point.latitude_rad, point.longitude_rad)
    .distance_m;
}

function snapshot(now: Observation): LogState {
  return { mass_kg: now.mass_kg, thrust_N: now.thrustNet_N, sensed_mps2: now.sensed_mps2 };
}

/** A trigger in words for people: seconds and kilograms. */
export function triggerWords(trigger: Trigger): string {
  switch (trigger.kind) {
    case 'time':
      return `mission time ${trigger.time_s} s`;
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
  }
}
