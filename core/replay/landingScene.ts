/** What the pictures of a landing need, worked out once: where it comes down, the plane that is looked at, the way there. */
import { inertialToEarthFixed, localBasis } from '../earth/frames.ts';
import type { CompiledStudy } from '../flight/compile.ts';
import type { Observation, TrackReader } from '../flight/track.ts';
import type { HomePath } from '../recovery/homePath.ts';
import { stationsOf } from '../vehicle/balance.ts';
import { frameOf, placed, type Place } from './bodyFrame.ts';
import { standingBody, type CloseBody } from './closeUp.ts';
import { OPEN } from './closeUpParts.ts';
import { readTrack, type FlightData } from './flightData.ts';

/** Directions are Earth-fixed unit vectors. */
export interface LandingScene {
  readonly compiled: CompiledStudy;
  readonly reader: TrackReader;
  readonly home: HomePath;
  readonly start_s: number;
  readonly end_s: number;
  /** Earth-fixed, m. */
  readonly touchdown: readonly number[];
  readonly up: readonly number[];
  /** In the upright plane in which the body parted, the way that it flew. */
  readonly along: readonly number[];
  /** Above the figure, m. */
  readonly ground_m: number;
  /** Lower end of each body that comes down above that of the lowest, by index, m. */
  readonly stations: ReadonlyMap<number, number>;
  /** What touches first, which is the point that was flown: its station and its distance across, m. */
  readonly feet: Place;
  /** From the feet to the far end along the axis, m. */
  readonly length_m: number;
  /** The way flown, samples denser toward its end, and the ground below: pairs along and up from the touchdown, m. */
  readonly times_s: Float64Array;
  readonly way: Float64Array;
  readonly ground: Float64Array;
  /** 1 where engines burn. */
  readonly powered: Uint8Array;
}

/** Before touchdown samples lie so far apart, s, and each further one by so much more. */
const FINEST_s = 0.04;
const GROWTH = 1.02;

type Vector = [number, number, number];
const cross = (a: readonly number[], b: readonly number[]): Vector => [
  a[1]! * b[2]! - a[2]! * b[1]!,
  a[2]! * b[0]! - a[0]! * b[2]!,
  a[0]! * b[1]! - a[1]! * b[0]!,
];

/** Product of two vectors, in the unit of both. */
export function dot(a: ArrayLike<number>, b: ArrayLike<number>): number {
  return a[0]! * b[0]! + a[1]! * b[1]! + a[2]! * b[2]!;
}

/** An inertial vector (any unit) at a mission time (s) in the axes of the turning Earth. */
export function turnedWithEarth(reader: TrackReader, v: ArrayLike<number>, time_s: number): Float64Array {
  const out = new Float64Array(3);
  inertialToEarthFixed(v[0]!, v[1]!, v[2]!, reader.rotation_radps * time_s, out);
  return out;
}

/** Velocity over the turning ground at what a reader has just read, inertial axes, m/s. */
export function overGround({ rotation_radps }: TrackReader, { state }: Observation): Vector {
  return [state[3]! + rotation_radps * state[1]!, state[4]! - rotation_radps * state[0]!, state[5]!];
}

/** The track of a flight that flies home and of whose bodies all outlines are known; −1 when there is none. Unitless. */
export function landingTrack(compiled: CompiledStudy, { tracks }: FlightData): number {
  return tracks.findIndex(
    ({ home, bodies }) =>
      home !== undefined && bodies.every((body) => compiled.bodies[body]!.data.shape !== undefined),
  );
}

/**
 * Makes the landing of a track (index) of a flight ready to be drawn. Lengths in m. Throws RangeError when that track does not
 * fly home, and BalanceError where a body has no outline.
 */
export function prepareLanding(compiled: CompiledStudy, flight: FlightData, track: number): LandingScene {
  const home = flight.tracks[track]?.home;
  if (home === undefined)
    throw new RangeError(`prepareLanding: received track ${track}, allowed is one that flies home`);
  const reader = readTrack(compiled, flight, track);
  const { start_s, end_s, bodies } = reader.track;
  const { figure } = compiled.setting;
  const parting = reader.at(start_s);
  const normal = cross(
    [...turnedWithEarth(reader, parting.state, start_s)],
    [...turnedWithEarth(reader, overGround(reader, parting), start_s)],
  );
  const down = reader.at(end_s);
  const aim = turnedWithEarth(reader, down.aim, end_s);
  const touchdown = [...turnedWithEarth(reader, down.state, end_s)];
  const [x, y, z] = touchdown as Vector;
  const basis = new Float64Array(9);
  localBasis(figure, x, y, z, basis);
  const up = [...basis.subarray(6)];
  const flat = cross(normal, up);
  const size = Math.hypot(...flat);
  // Who parts straight upward has no plane: then the picture's right is east.
  const along =
    size > 1e-3 * Math.hypot(...touchdown) ? flat.map((v) => v / size) : [...basis.subarray(0, 3)];
  const stations = stationsOf(compiled.bodies, bodies);
  const angle_rad = Math.atan2(dot(aim, up), dot(aim, along));
  const standing = [...stations].map(([body, station_m]) => {
    const frame = frameOf(0, 0, 0, 0);
    return standingBody(compiled, body, { frame, station_m, room: OPEN, turning_radps: 0 }, 0, [], end_s);
  });
  const scene = { compiled, reader, home, start_s, end_s, touchdown, up, along, stations };
  return {
    ...scene,
    ground_m: figure.height_m(x, y, z),
    ...feetOf(standing, angle_rad),
    ...wayOf(scene),
  };
}

/** The lowest place of bodies that stand at an angle, in the bodies' own frame, and how far they reach from there. */
function feetOf(bodies: readonly CloseBody[], angle_rad: number): { feet: Place; length_m: number } {
  const places = bodies.flatMap(({ outline, bells }) => [...outline, ...bells.flat()]);
  const turned = { plane: [0, 0] as const, angle_rad };
  const height = ([station_m, across_m]: Place): number => placed(turned, station_m, across_m)[1];
  const feet = places.reduce((low, each) => (height(each) < height(low) ? each : low));
  return { feet, length_m: Math.max(...places.map(([station_m]) => station_m)) - feet[0] };
}

function wayOf({
  reader,
  start_s,
  end_s,
  touchdown,
  up,
  along,
  compiled,
}: Pick<LandingScene, 'reader' | 'start_s' | 'end_s' | 'touchdown' | 'up' | 'along' | 'compiled'>): Pick<
  LandingScene,
  'times_s' | 'way' | 'ground' | 'powered'
> {
  const { figure } = compiled.setting;
  const times = [end_s, ...reader.track.segments.flatMap((segment) => [segment.start_s])];
  let step_s = FINEST_s;
  for (let t = end_s - step_s; t > start_s; t -= step_s) {
    times.push(t);
    step_s *= GROWTH;
  }
  const times_s = Float64Array.from(new Set(times)).sort();
  const way = new Float64Array(2 * times_s.length);
  const ground = new Float64Array(2 * times_s.length);
  const powered = new Uint8Array(times_s.length);
  const [x0, y0, z0] = touchdown as Vector;
  const ground_m = figure.height_m(x0, y0, z0);
  const out = new Float64Array(3);
  times_s.forEach((t, i) => {
    const now = reader.at(t);
    powered[i] = now.thrustNet_N > 0 ? 1 : 0;
    const p = turnedWithEarth(reader, now.state, t);
    figure.up(p[0]!, p[1]!, p[2]!, out);
    const high_m = now.height_m - ground_m;
    const from = p.map((v, k) => v - touchdown[k]!);
    const below = from.map((v, k) => v - high_m * out[k]!);
    way.set([dot(from, along), dot(from, up)], 2 * i);
    ground.set([dot(below, along), dot(below, up)], 2 * i);
  });
  return { times_s, way, ground, powered };
}
