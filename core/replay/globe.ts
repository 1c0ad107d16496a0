/**
 * A flight over the globe: paths sampled in latitude, longitude and height, and the orthographic view that shows them. All in
 * double precision; a drawing gets pixels. Unit vectors are Earth-fixed (or fixed at liftoff, in the inertial frame).
 */
import { EARTH_EQUATORIAL_RADIUS_m } from '../constants/physical.ts';
import { geodesicBetween } from '../earth/geodesic.ts';
import type { TrackReader } from '../flight/track.ts';

export type GlobeFrame = 'earthFixed' | 'inertial';

/** A sampled path: for each sample mission time (s), unit vector of the point below, and height (m). */
export interface GlobePath {
  readonly track: number;
  readonly times_s: Float64Array;
  /** Three numbers a sample. */
  readonly directions: Float64Array;
  readonly heights_m: Float64Array;
  /** Whether thrust is on from this sample to the next. */
  readonly powered: Uint8Array;
}

/** Longest time between samples while powered or low, and when coasting, s. */
const FINE_s = 1;
const COARSE_s = 5;

/** Samples a track for the globe in one of the two frames. Seconds and metres. */
export function sampleGlobePath(reader: TrackReader, track: number, frame: GlobeFrame): GlobePath {
  const { start_s, end_s, segments } = reader.track;
  const times: number[] = [];
  for (const segment of segments) {
    const from = Math.max(start_s, segment.start_s);
    const to = Math.min(end_s, segment.end_s);
    if (!(to > from)) continue;
    const step = segment.thrust_N > 0 || segment.thrustRate_Nps > 0 ? FINE_s : COARSE_s;
    const count = Math.max(1, Math.ceil((to - from) / step));
    for (let i = 0; i < count; i++) times.push(from + ((to - from) * i) / count);
  }
  times.push(end_s);
  const directions = new Float64Array(3 * times.length);
  const heights = new Float64Array(times.length);
  const powered = new Uint8Array(times.length);
  const place = new Float64Array(4);
  times.forEach((t, i) => {
    placeAt(reader, t, frame, place);
    directions.set(place.subarray(0, 3), 3 * i);
    heights[i] = place[3]!;
    powered[i] = reader.now.thrustNet_N > 0 ? 1 : 0;
  });
  return { track, times_s: Float64Array.from(times), directions, heights_m: heights, powered };
}

/** Unit vector of the point below (0 to 2) and height in m (3) of a track at mission time t_s, in a frame. */
export function placeAt(reader: TrackReader, t_s: number, frame: GlobeFrame, out: Float64Array): void {
  const now = reader.at(t_s);
  const x = now.state[0]!;
  const y = now.state[1]!;
  const z = now.state[2]!;
  const r = Math.sqrt(x * x + y * y + z * z);
  // The inertial frame coincides with the Earth-fixed one at mission time zero.
  const turn = frame === 'earthFixed' ? -reader.rotation_radps * now.time_s : 0;
  const c = Math.cos(turn);
  const s = Math.sin(turn);
  out[0] = (c * x - s * y) / r;
  out[1] = (s * x + c * y) / r;
  out[2] = z / r;
  out[3] = now.height_m;
}

/** Latitude and longitude of a unit vector, degrees. */
export function toDegrees(x: number, y: number, z: number): { latitude_deg: number; longitude_deg: number } {
  return {
    latitude_deg: (Math.asin(Math.max(-1, Math.min(1, z))) * 180) / Math.PI,
    longitude_deg: (Math.atan2(y, x) * 180) / Math.PI,
  };
}

/** Points of a path at round ground distances from its start, m: index of the sample before and share to the next. */
export function distanceTicks(
  path: GlobePath,
  every_m: number,
): { sample: number; share: number; distance_m: number }[] {
  const ticks: { sample: number; share: number; distance_m: number }[] = [];
  const angles = (i: number): [number, number] => {
    const { latitude_deg, longitude_deg } = toDegrees(
      path.directions[3 * i]!,
      path.directions[3 * i + 1]!,
      path.directions[3 * i + 2]!,
    );
    return [(latitude_deg * Math.PI) / 180, (longitude_deg * Math.PI) / 180];
  };
  const [lat0, lon0] = angles(0);
  // Geodesics are dear, and distance along a path is smooth: a look at every eighth sample finds every tick.
  const stride = 8;
  const last = path.times_s.length - 1;
  let before = 0;
  for (let i = 0; i < last; i += stride) {
    const next = Math.min(i + stride, last);
    const [lat, lon] = angles(next);
    const here = geodesicBetween(lat0, lon0, lat, lon).distance_m;
    for (let mark = (Math.floor(before / every_m) + 1) * every_m; mark <= here; mark += every_m) {
      const along = i + ((next - i) * (mark - before)) / (here - before);
      const sample = Math.min(Math.floor(along), last - 1);
      ticks.push({ sample, share: along - sample, distance_m: mark });
    }
    before = here;
  }
  return ticks;
}

/** An orthographic view: unit vectors to the right, up and toward the eye, pixels an Earth radius, centre of the Earth in px. */
export interface GlobeView {
  readonly right: readonly [number, number, number];
  readonly up: readonly [number, number, number];
  readonly toward: readonly [number, number, number];
  readonly scale_px: number;
  readonly x_px: number;
  readonly y_px: number;
}

type Vector = [number, number, number];

const dot = (a: readonly number[], b: readonly number[]): number =>
  a[0]! * b[0]! + a[1]! * b[1]! + a[2]! * b[2]!;
const cross = (a: readonly number[], b: readonly number[]): Vector => [
  a[1]! * b[2]! - a[2]! * b[1]!,
  a[2]! * b[0]! - a[0]! * b[2]!,
  a[0]! * b[1]! - a[1]! * b[0]!,
];
const unit = (a: readonly number[]): Vector => {
  const n = Math.sqrt(dot(a, a));
  return [a[0]! / n, a[1]! / n, a[2]! / n];
};

/**
 * A view of a path between two samples seen from `off_rad` away from straight above, flight running to the right: 0 is from
 * above, 80° is beside, so that the path rises above the limb. Fits both ends and the highest point into the pane (px).
 */
export function viewOfPath(path: GlobePath, off_rad: number, width_px: number, height_px: number): GlobeView {
  const n = path.times_s.length;
  const at = (i: number): Vector => [
    path.directions[3 * i]!,
    path.directions[3 * i + 1]!,
    path.directions[3 * i + 2]!,
  ];
  const first = at(0);
  const last = at(n - 1);
  const middle = unit([first[0] + last[0], first[1] + last[1], first[2] + last[2]]);
  const chord: Vector = [last[0] - first[0], last[1] - first[1], last[2] - first[2]];
  const along =
    dot(chord, chord) > 1e-16 ? unit(cross(cross(middle, chord), middle)) : unit(cross([0, 0, 1], middle));
  const across = cross(middle, along);
  const c = Math.cos(off_rad);
  const s = Math.sin(off_rad);
  const toward: Vector = [
    c * middle[0] - s * across[0],
    c * middle[1] - s * across[1],
    c * middle[2] - s * across[2],
  ];
  const up = cross(toward, along);
  let left = Infinity;
  let right = -Infinity;
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < n; i++) {
    const d = at(i);
    const lift = 1 + path.heights_m[i]! / EARTH_EQUATORIAL_RADIUS_m;
    left = Math.min(left, dot(d, along));
    right = Math.max(right, lift * dot(d, along));
    low = Math.min(low, dot(d, up));
    high = Math.max(high, lift * dot(d, up));
  }
  const wide = Math.max(right - left, 0.02);
  const tall = Math.max(high - low, 0.01);
  const scale = Math.min((0.78 * width_px) / wide, (0.56 * height_px) / tall);
  return {
    right: along,
    up,
    toward,
    scale_px: scale,
    x_px: width_px / 2 - (scale * (left + right)) / 2,
    y_px: 0.5 * height_px + (scale * (low + high)) / 2,
  };
}

/** The view turned about the vertical and horizontal axes of the screen by angles in rad, about the pane's point (px). */
export function turnView(view: GlobeView, yaw_rad: number, pitch_rad: number): GlobeView {
  const turn = (v: readonly number[], axis: readonly number[], angle: number): Vector => {
    const c = Math.cos(angle);
    const s = Math.sin(angle);
    const k = dot(axis, v) * (1 - c);
    const w = cross(axis, v);
    return [
      c * v[0]! + s * w[0] + k * axis[0]!,
      c * v[1]! + s * w[1] + k * axis[1]!,
      c * v[2]! + s * w[2] + k * axis[2]!,
    ];
  };
  const right1 = turn(view.right, view.up, yaw_rad);
  const toward1 = turn(view.toward, view.up, yaw_rad);
  const toward = unit(turn(toward1, right1, pitch_rad));
  const right = unit(right1);
  return { ...view, right, toward, up: cross(toward, right) };
}

/** Pixel of a direction (unit vector) at a height in m; `hidden` behind the Earth. Writes x, y, depth into `out`. */
export function project(
  view: GlobeView,
  x: number,
  y: number,
  z: number,
  height_m: number,
  out: Float64Array,
): boolean {
  const lift = 1 + height_m / EARTH_EQUATORIAL_RADIUS_m;
  const px = lift * (x * view.right[0] + y * view.right[1] + z * view.right[2]);
  const py = lift * (x * view.up[0] + y * view.up[1] + z * view.up[2]);
  const depth = lift * (x * view.toward[0] + y * view.toward[1] + z * view.toward[2]);
  out[0] = view.x_px + view.scale_px * px;
  out[1] = view.y_px - view.scale_px * py;
  out[2] = depth;
  return depth >= 0 || px * px + py * py >= 1;
}
