/**
 * The close-up of a parting: both bodies at true scale in the plane of parting, with attitude, what stands in their tanks, and
 * the gap between them. All places are differences from the upper body's plane of separation, worked out in double precision
 * before anything is drawn, so that nothing trembles at orbital speed. Pure: the same parting and time give the same shapes.
 */
import type { StagingSettling, TankVerdict } from '../parting/settling/staging.ts';
import { sampleAt, type SettlingState } from '../parting/settling/history.ts';
import type { Parting } from '../parting/parting.ts';
import { LOWER, SIZE, standing, UPPER } from '../parting/twoBody.ts';
import type { CompiledStudy } from '../flight/compile.ts';
import type { FlightRecord } from '../flight/record.ts';
import { fillTanks, splitByMixture, tankLength_m } from '../vehicle/tanks.ts';
import { stationsOf } from '../vehicle/balance.ts';

/** A place in the picture, m: first along the stack at release, then across it, toward the sky. */
export type Place = readonly [number, number];

export interface CloseTank {
  readonly id: string;
  readonly outline: readonly Place[];
  /** What the liquid fills: at the bottom, and, displaced, as a sheet along both walls up to its leading edge. */
  readonly liquid: readonly (readonly Place[])[];
  /** Null where no settling was worked out. */
  readonly state: SettlingState | null;
}

export interface CloseBody {
  readonly body: number;
  readonly outline: readonly Place[];
  readonly tanks: readonly CloseTank[];
  /** Against the stack at release, rad, toward the sky positive. */
  readonly attitude_rad: number;
  /** Middle of the plane of separation. */
  readonly plane: Place;
}

export interface CloseUp {
  /** Mission time. */
  readonly time_s: number;
  readonly upper: readonly CloseBody[];
  readonly lower: readonly CloseBody[];
  /** Gap along the lower body, m; 0 before release. */
  readonly gap_m: number;
  readonly drift_m: number;
  readonly tilt_rad: number;
  /** Ends of the gap's dimension line. */
  readonly dimension: readonly [Place, Place];
}

/** A span of the settling strand: one state of all tanks together, mission times, s. */
export interface SettlingSpan {
  readonly start_s: number;
  readonly end_s: number;
  readonly state: SettlingState;
}

/** Thickness of a displaced sheet over the tank's radius; for the picture alone. */
const SHEET = 0.18;

/**
 * The picture at a mission time (s), clamped to the end of the two-body phase; before release the stack stands joined. Tanks
 * are as full as the flight has left them at release. Lengths in m. Throws RangeError where the parting was refused, since
 * there is nothing to show apart, and BalanceError where a body has no outline.
 */
export function closeUpAt(
  compiled: CompiledStudy,
  record: FlightRecord,
  parting: Parting,
  settling: StagingSettling | null,
  time_s: number,
): CloseUp {
  const { case: own, phase } = parting;
  if (phase.steps.count === 0) throw new RangeError(`closeUpAt: ${phase.message}`);
  const y = new Float64Array(SIZE);
  phase.steps.sample(Math.max(0, time_s - own.release_s), y);
  const here = standing(own.bodies, y, { gap_m: 0, drift_m: 0, tilt_rad: 0 });
  const upper = frameOf(y[UPPER]!, y[UPPER + 1]!, y[UPPER + 4]!, -own.bodies.upper.centre_m);
  const lower = frameOf(y[LOWER]!, y[LOWER + 1]!, y[LOWER + 4]!, own.bodies.lower.centre_m);
  const origin = upper.plane;
  const relative = (place: Place): Place => [place[0] - origin[0], place[1] - origin[1]];
  const lowerFrame = { ...lower, plane: relative(lower.plane) };
  const upperFrame = { ...upper, plane: [0, 0] as const };
  const top_m = own.below.length_m;
  return {
    time_s,
    upper: drawGroup(compiled, record, own.upperTrack, own.release_s, upperFrame, 0, settling, time_s),
    // Stations of the lower group count from its foot; its plane of separation is the top of the carrier.
    lower: drawGroup(
      compiled,
      record,
      own.lowerTrack,
      own.release_s,
      lowerFrame,
      -carrierTop_m(compiled, own.link, top_m),
      null,
      time_s,
    ),
    ...here,
    dimension: [lowerFrame.plane, along(lowerFrame, here.gap_m)],
  };
}

interface Frame {
  readonly plane: Place;
  readonly angle_rad: number;
}

function frameOf(s: number, across: number, angle_rad: number, offset_m: number): Frame {
  return { plane: [s + offset_m * Math.cos(angle_rad), across + offset_m * Math.sin(angle_rad)], angle_rad };
}

function along({ plane, angle_rad }: Frame, distance_m: number): Place {
  return [plane[0] + distance_m * Math.cos(angle_rad), plane[1] + distance_m * Math.sin(angle_rad)];
}

/** A place of the body, station above the plane of separation and distance across, in the picture. */
function placed({ plane, angle_rad }: Frame, station_m: number, across_m: number): Place {
  const c = Math.cos(angle_rad);
  const s = Math.sin(angle_rad);
  return [plane[0] + station_m * c - across_m * s, plane[1] + station_m * s + across_m * c];
}

function carrierTop_m(compiled: CompiledStudy, link: string, fallback_m: number): number {
  const carrier = compiled.bodies[compiled.bodies.find((body) => body.id === link)!.parent]!;
  return carrier.data.shape?.length_m ?? fallback_m;
}

function drawGroup(
  compiled: CompiledStudy,
  record: FlightRecord,
  track: number,
  release_s: number,
  frame: Frame,
  foot_m: number,
  settling: StagingSettling | null,
  time_s: number,
): CloseBody[] {
  const segment = record.tracks[track]!.segments.find((each) => each.end_s > release_s)!;
  const stations = stationsOf(compiled.bodies, segment.bodies);
  return segment.bodies.map((body) => {
    const { data, id } = compiled.bodies[body]!;
    const station_m = foot_m + stations.get(body)!;
    const sides =
      data.mixtureRatio === undefined
        ? null
        : splitByMixture(segment.propellant_kg[body]!, data.mixtureRatio);
    const tanks = sides === null ? [] : fillTanks(data, sides);
    return {
      body,
      attitude_rad: frame.angle_rad,
      plane: frame.plane,
      outline: outlineOf(data.shape!, station_m, frame),
      tanks: tanks.flatMap(({ id: tank, tank: shape, liquid_m }): CloseTank[] => {
        if (shape.station_m === undefined) return [];
        const foot = station_m + shape.station_m;
        const verdict =
          settling?.body === id ? settling.tanks.find((each) => each.history.fill.id === tank) : undefined;
        return [
          {
            id: tank,
            outline: box(frame, foot, tankLength_m(shape), -shape.radius_m, shape.radius_m),
            ...liquidOf(frame, foot, liquid_m, shape.radius_m, verdict, time_s),
          },
        ];
      }),
    };
  });
}

function liquidOf(
  frame: Frame,
  foot_m: number,
  liquid_m: number,
  radius_m: number,
  verdict: TankVerdict | undefined,
  time_s: number,
): Pick<CloseTank, 'liquid' | 'state'> {
  const sample = verdict === undefined ? null : sampleAt(verdict.history, time_s);
  const displaced_m = sample?.displaced_m ?? 0;
  // What stands as a sheet along the wall is missing at the bottom: areas of the section across are kept.
  const sheet_m = SHEET * radius_m;
  const level_m = Math.max(0, liquid_m - (displaced_m * sheet_m) / (radius_m - sheet_m));
  const sheets =
    displaced_m > 0
      ? [-1, 1].map((side) => {
          const wall = side * radius_m;
          const inner = side * (radius_m - sheet_m);
          const top_m = liquid_m + displaced_m - level_m;
          return box(frame, foot_m + level_m, top_m, Math.min(wall, inner), Math.max(wall, inner));
        })
      : [];
  return {
    liquid: [box(frame, foot_m, level_m, -radius_m, radius_m), ...sheets],
    state: sample?.state ?? null,
  };
}

function box(frame: Frame, foot_m: number, length_m: number, from_m: number, to_m: number): Place[] {
  return [
    placed(frame, foot_m, from_m),
    placed(frame, foot_m + length_m, from_m),
    placed(frame, foot_m + length_m, to_m),
    placed(frame, foot_m, to_m),
  ];
}

function outlineOf(
  shape: NonNullable<CompiledStudy['bodies'][number]['data']['shape']>,
  station_m: number,
  frame: Frame,
): Place[] {
  const rings: [number, number][] = [[0, 0.5 * shape.diameter_m]];
  for (const step of shape.steps) {
    const before = rings[rings.length - 1]!;
    rings.push([step.station_m, before[1]], [step.station_m, 0.5 * step.diameter_m]);
  }
  rings.push([shape.length_m, rings[rings.length - 1]![1]]);
  const right = rings.map(([s, r]) => placed(frame, station_m + s, r));
  const left = [...rings].reverse().map(([s, r]) => placed(frame, station_m + s, -r));
  return [...right, ...left];
}

/** The settling of all tanks together as spans for a strand: the worst state at each time, s. */
export function settlingSpans(settling: StagingSettling): SettlingSpan[] {
  const order: SettlingState[] = ['unsettled', 'moving', 'settled'];
  const spans: SettlingSpan[] = [];
  const first = settling.tanks[0]!.history.samples;
  first.forEach(({ time_s }, i) => {
    const states = settling.tanks.map(({ history }) => history.samples[i]!.state);
    const state = order.find((each) => states.includes(each))!;
    const last = spans[spans.length - 1];
    const end_s = first[i + 1]?.time_s ?? time_s;
    if (last?.state === state) spans[spans.length - 1] = { ...last, end_s };
    else if (end_s > time_s) spans.push({ start_s: time_s, end_s, state });
  });
  return spans;
}
