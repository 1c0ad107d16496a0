/**
 * Two flights of one vehicle laid beside each other, in time since the main cut-off of each: where they went seen from the
 * side, how fast, and by how much one is ahead.
 */
import type { TrackReader } from '../flight/track.ts';
import { placeAt } from './globe.ts';

/** A path seen from the side: one point a step, for each the time since cut-off (s), distance over the ground and height (m). */
export interface SidePath {
  readonly since_s: readonly number[];
  readonly along_m: readonly number[];
  readonly height_m: readonly number[];
}

/** Instants from `from_s` to `to_s` in steps (s), both ends in; whole multiples of the step in between. Seconds. */
export function instants_s(from_s: number, to_s: number, step_s: number): number[] {
  const inner: number[] = [];
  for (let k = Math.ceil(from_s / step_s); k * step_s <= to_s; k++) inner.push(k * step_s);
  const first = inner[0];
  const last = inner[inner.length - 1];
  return [
    ...(first === undefined || first - from_s > 1e-9 ? [from_s] : []),
    ...inner,
    ...(last === undefined || (to_s - last > 1e-9 && to_s > from_s) ? [to_s] : []),
  ];
}

/**
 * A track from the side over instants since a cut-off at mission time `zero_s` (all s): distance over the ground from where
 * `origin`, the flight's main track, starts, and height above the study's figure of the Earth, both m. The distance is the
 * angle at the Earth's centre times the mean radius of the ground at both ends: exact on a sphere, to 0.3 % on the
 * ellipsoid. Instants outside the track are left out.
 */
export function sidePath(
  reader: TrackReader,
  origin: TrackReader,
  zero_s: number,
  since_s: readonly number[],
): SidePath {
  const there = groundAt(origin, origin.track.start_s);
  const { start_s, end_s } = reader.track;
  const own = since_s.filter((t) => zero_s + t >= start_s && zero_s + t <= end_s);
  const points = own.map((t) => {
    const here = groundAt(reader, zero_s + t);
    const [ax, ay, az] = there.direction;
    const [bx, by, bz] = here.direction;
    // The arc tangent of both products keeps its digits at small angles, which the arc cosine loses.
    const across = Math.hypot(ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx);
    const angle_rad = Math.atan2(across, ax * bx + ay * by + az * bz);
    return { along_m: 0.5 * angle_rad * (there.radius_m + here.radius_m), height_m: here.height_m };
  });
  return {
    since_s: own,
    along_m: points.map((point) => point.along_m),
    height_m: points.map((point) => point.height_m),
  };
}

interface Ground {
  /** Earth-fixed unit vector of the point below. */
  readonly direction: readonly [number, number, number];
  /** From the Earth's centre to the ground there. */
  readonly radius_m: number;
  readonly height_m: number;
}

function groundAt(reader: TrackReader, t_s: number): Ground {
  const place = new Float64Array(4);
  placeAt(reader, t_s, 'earthFixed', place);
  const [x = 0, y = 0, z = 0] = reader.now.state;
  const height_m = place[3]!;
  return {
    direction: [place[0]!, place[1]!, place[2]!],
    radius_m: Math.hypot(x, y, z) - height_m,
    height_m,
  };
}

/** Speed against the turning ground at an instant since a cut-off at mission time `zero_s` (both s), m/s. */
export function speedSince_mps(reader: TrackReader, zero_s: number, since_s: number): number {
  return reader.at(zero_s + since_s).speedRelative_mps;
}
