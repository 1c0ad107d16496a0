/** What a close-up shows beside outlines and tanks: engine bells, plumes, springs and pushers, the well of the interstage. */
import type { Link } from '../contract/parting.ts';
import type { Body } from '../contract/vehicle.ts';
import type { CompiledStudy } from '../flight/compile.ts';
import { strokeOfOne } from '../flight/pushes.ts';
import type { FlightRecord } from '../flight/record.ts';
import type { PartingCase } from '../parting/setup.ts';
import { segmentAtTime } from '../parting/thrusts.ts';
import { box, placed, type Frame, type Place } from './bodyFrame.ts';

/** Gas that streams out: a cone from a mouth. */
export interface ClosePlume {
  readonly body: number;
  /** Middle of the mouth, half its width, and which way the gas goes (rad in the picture). */
  readonly mouth: Place;
  readonly halfWidth_m: number;
  readonly angle_rad: number;
  readonly length_m: number;
  /** Thrust over that of all engines in full; 0 when nothing burns. */
  readonly share: number;
}

export type PusherState = 'pushing' | 'spent' | 'failed';

/** One spring or gas pusher from the lower body to where it ends. */
export interface ClosePusher {
  readonly kind: 'springs' | 'pushers';
  readonly ends: readonly [Place, Place];
  readonly state: PusherState;
}

/** Length of a bell over its exit's diameter, and of a plume over its body's diameter; for the picture alone. */
const BELL = 1.3;
const PLUME = 2.2;
const MOTOR_PLUME = 0.8;

/** What engines stand in, where that bounds them: how deep it is and its radius, m; else infinite. */
export interface Room {
  readonly deep_m: number;
  readonly radius_m: number;
}

/** Nothing around an engine. */
export const OPEN: Room = { deep_m: Infinity, radius_m: Infinity };

/** Radius of an engine's exit and how many of a body's engines stand side by side in an elevation; metres. */
function bellRow(body: Body, room: Room): { radius_m: number; count: number; outer_m: number } | null {
  const groups = Object.values(body.engineGroups).filter((group) => group.exitArea_m2 > 0);
  if (groups.length === 0 || body.shape === undefined) return null;
  const radius_m = Math.max(...groups.map((group) => Math.sqrt(group.exitArea_m2 / Math.PI)));
  const total = groups.reduce((sum, group) => sum + group.count, 0);
  const half_m = Math.min(0.5 * body.shape.diameter_m, room.radius_m);
  // Engines on circles hide behind each other; what fits beside each other is seen.
  const count = Math.max(1, Math.min(total, Math.floor(half_m / (1.05 * radius_m))));
  return { radius_m, count, outer_m: count === 1 ? 0 : Math.max(0, half_m - 1.05 * radius_m) };
}

/** Bells at the foot of a body (its station, m) as outlines; as large as the room lets them. */
export function bellsOf(body: Body, frame: Frame, foot_m: number, room: Room): Place[][] {
  const row = bellRow(body, room);
  if (row === null) return [];
  const length_m = Math.min(room.deep_m, 2 * BELL * row.radius_m);
  return Array.from({ length: row.count }, (_, i) => {
    const middle_m = row.count === 1 ? 0 : row.outer_m * (1 - (2 * i) / (row.count - 1));
    return [
      placed(frame, foot_m, middle_m - 0.35 * row.radius_m),
      placed(frame, foot_m, middle_m + 0.35 * row.radius_m),
      placed(frame, foot_m - length_m, middle_m + row.radius_m),
      placed(frame, foot_m - length_m, middle_m - row.radius_m),
    ];
  });
}

/** The plume of a body's engines at mission time t_s (s), of strength 0 when none burns; null for a body without engines. m */
export function enginePlume(
  compiled: CompiledStudy,
  record: FlightRecord,
  own: PartingCase,
  body: number,
  frame: Frame,
  foot_m: number,
  room: Room,
  t_s: number,
): ClosePlume | null {
  const { data } = compiled.bodies[body]!;
  // Before release all bodies fly on the track that goes back furthest.
  const pair = [record.tracks[own.upperTrack]!, record.tracks[own.lowerTrack]!];
  const freed = pair.find((each) => each.bodies.includes(body) && each.start_s <= t_s);
  const track =
    t_s < own.release_s ? pair.reduce((p, q) => (q.start_s < p.start_s ? q : p)) : (freed ?? pair[0]!);
  const segment = segmentAtTime(track.segments, t_s);
  const tau = Math.min(Math.max(0, t_s - segment.start_s), segment.end_s - segment.start_s);
  const thrust_N = segment.burns
    .filter((burn) => burn.body === body)
    .reduce((sum, burn) => sum + burn.thrust_N + tau * burn.thrustRate_Nps, 0);
  const all = Object.values(data.engineGroups).reduce((sum, group) => sum + group.count, 0);
  return plumeOf(data, body, frame, foot_m, room, thrust_N, all);
}

/**
 * Gas of so many of a body's engines, which together give a thrust (N); those at the body's foot (station, m) that fit beside
 * each other are seen, the middle ones where not all burn. Null for a body without engines. Lengths in m.
 */
export function plumeOf(
  data: Body,
  body: number,
  frame: Frame,
  foot_m: number,
  room: Room,
  thrust_N: number,
  engines: number,
): ClosePlume | null {
  const row = bellRow(data, room);
  if (row === null) return null;
  const groups = Object.values(data.engineGroups);
  const all = groups.reduce((sum, group) => sum + group.count, 0);
  const full_N = groups.reduce((sum, group) => sum + group.count * group.thrustVacuum_N, 0);
  const lit = engines >= all ? row.count : Math.max(1, Math.round((row.count * engines) / all));
  const outer_m = row.count === 1 ? 0 : (row.outer_m * (lit - 1)) / (row.count - 1);
  return {
    body,
    mouth: placed(frame, foot_m - Math.min(room.deep_m, 2 * BELL * row.radius_m), 0),
    halfWidth_m: outer_m + row.radius_m,
    angle_rad: frame.angle_rad + Math.PI,
    length_m: PLUME * data.shape!.diameter_m,
    share: Math.min(1, Math.max(0, thrust_N / full_N)),
  };
}

/** Plumes of the link's motors, one on either side, at mission time t_s (s). Retro motors blow forward. Lengths in m. */
export function motorPlumes(
  compiled: CompiledStudy,
  own: PartingCase,
  link: Link,
  upper: Frame,
  lower: Frame,
  t_s: number,
): ClosePlume[] {
  return Object.values(link.mechanisms).flatMap((mechanism): ClosePlume[] => {
    if (mechanism.kind !== 'retro' && mechanism.kind !== 'settling') return [];
    const body = compiled.bodies.findIndex(({ id }) => id === mechanism.body);
    const forward = mechanism.kind === 'retro';
    const frame = forward ? lower : upper;
    const start_s = own.release_s + mechanism.ignitionDelay_s;
    const burns = t_s >= start_s && t_s < start_s + mechanism.burn_s;
    const cant_rad = (mechanism.cant_deg * Math.PI) / 180;
    const diameter_m = compiled.bodies[body]!.data.shape?.diameter_m ?? 2 * mechanism.pitchRadius_m;
    return [1, -1].map((side) => ({
      body,
      mouth: placed(frame, 0, side * mechanism.pitchRadius_m),
      halfWidth_m: 0.02 * diameter_m,
      angle_rad: frame.angle_rad + (forward ? side * cant_rad : Math.PI - side * cant_rad),
      length_m: MOTOR_PLUME * diameter_m,
      share: burns ? 1 : 0,
    }));
  });
}

/** Springs and pushers as they stand across a gap (m) and a tilt (rad); those that failed are as short as when pressed. */
export function pushersOf(link: Link, lower: Frame, gap_m: number, tilt_rad: number): ClosePusher[] {
  return Object.values(link.mechanisms).flatMap((mechanism): ClosePusher[] => {
    if (mechanism.kind !== 'springs' && mechanism.kind !== 'pushers') return [];
    const { stroke_m } = strokeOfOne(mechanism);
    return Array.from({ length: mechanism.count }, (_, k) => {
      const offset_m = -mechanism.pitchRadius_m * Math.cos((2 * Math.PI * k) / mechanism.count);
      const open_m = gap_m - offset_m * Math.sin(tilt_rad);
      const failed = k < mechanism.failed;
      const out_m = failed ? 0 : Math.min(stroke_m, Math.max(0, open_m));
      return {
        kind: mechanism.kind,
        ends: [placed(lower, -stroke_m, offset_m), placed(lower, out_m, offset_m)],
        state: failed ? 'failed' : open_m < stroke_m ? 'pushing' : 'spent',
      };
    });
  });
}

/** The interstage that the upper body's engine section stands in, seen through its wall; null where none is given. m */
export function wellOf({ contact }: PartingCase, lower: Frame): Place[] | null {
  const { rim } = contact;
  if (rim === null) return null;
  // A little deeper than what stands in it; nobody says where its floor is.
  return box(lower, -1.08 * rim.overlap_m, 1.08 * rim.overlap_m, -rim.wallRadius_m, rim.wallRadius_m);
}

/** The engine section of the upper body, as far as it reaches into the interstage; null where no rim is given. m */
export function sectionOf({ contact }: PartingCase, upper: Frame): Place[] | null {
  const { rim } = contact;
  if (rim === null) return null;
  return box(upper, -rim.overlap_m, rim.overlap_m, -rim.sectionRadius_m, rim.sectionRadius_m);
}
