/**
 * The close-up of a parting: both bodies at true scale in the plane of parting, with attitude, what stands in their tanks, and
 * the gap between them. All places are differences from the upper body's plane of separation, worked out in double precision
 * before anything is drawn, so that nothing trembles at orbital speed. Pure: the same parting and time give the same shapes.
 */
import type { StagingSettling, TankVerdict } from '../parting/settling/staging.ts';
import { sampleAt, type SettlingState } from '../parting/settling/history.ts';
import type { Parting } from '../parting/parting.ts';
import { samplePhase } from '../parting/phase.ts';
import type { PartingCase } from '../parting/setup.ts';
import { LOWER, SIZE, standing, UPPER } from '../parting/twoBody.ts';
import type { CompiledStudy } from '../flight/compile.ts';
import type { FlightRecord } from '../flight/record.ts';
import { fillTanks, splitByMixture, tankLength_m } from '../vehicle/tanks.ts';
import { BalanceError, stationsOf } from '../vehicle/balance.ts';
import { touchPlace } from '../parting/clearance.ts';
import { frameOf, placed, type Frame, type Place } from './bodyFrame.ts';
import { drawTank, tankPart, type DrawnTank } from './closeUpTank.ts';
import {
  bellsOf,
  enginePlume,
  motorPlumes,
  OPEN,
  pushersOf,
  sectionOf,
  wellOf,
  type ClosePlume,
  type ClosePusher,
  type Room,
} from './closeUpParts.ts';

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
  readonly bells: readonly (readonly Place[])[];
  /** Against the stack at release, rad, toward the sky positive. */
  readonly attitude_rad: number;
  readonly turning_radps: number;
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
  /** Rate of the gap, m/s. */
  readonly speed_mps: number;
  /** Least distance across to the interstage's wall, m; +Infinity where none is given. */
  readonly rim_m: number;
  /** Ends of the gap's dimension line, and of the drift's: from where the axis of the lower body is to the upper body's. */
  readonly dimension: readonly [Place, Place];
  readonly drift: readonly [Place, Place];
  readonly plumes: readonly ClosePlume[];
  readonly pushers: readonly ClosePusher[];
  /** The interstage of the lower body, and the part of the upper body that stands in it; null where no rim is given. */
  readonly well: readonly Place[] | null;
  readonly section: readonly Place[] | null;
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
  const after_s = Math.max(0, time_s - own.release_s);
  const y = new Float64Array(SIZE);
  phase.steps.sample(after_s, y);
  const here = standing(own.bodies, y, { gap_m: 0, drift_m: 0, tilt_rad: 0 });
  const { speed_mps, rim_m } = samplePhase(own.bodies, own.contact, phase.steps, after_s);
  const { upper, lower } = framesOf(own, y);
  const scene: Scene = { compiled, record, own, time_s };
  const { rim } = own.contact;
  const room = rim === null ? OPEN : { deep_m: rim.overlap_m, radius_m: rim.sectionRadius_m };
  // Stations of the lower group count from its foot; its plane of separation is the top of the carrier.
  const foot_m = -carrierTop_m(compiled, own.link, own.below.length_m);
  const above = drawGroup(scene, own.upperTrack, upper, 0, room, settling, y[UPPER + 5]!);
  const below = drawGroup(scene, own.lowerTrack, lower, foot_m, OPEN, null, y[LOWER + 5]!);
  const link = compiled.study.vehicle.bodies[own.link]!.link ?? { parting: 'pushed', mechanisms: {} };
  const reached = placed(lower, here.gap_m, 0);
  return {
    time_s,
    upper: above.bodies,
    lower: below.bodies,
    ...here,
    // Joined, it moves with the stack.
    speed_mps: time_s < own.release_s ? 0 : speed_mps,
    rim_m,
    dimension: [lower.plane, reached],
    drift: [reached, upper.plane],
    plumes: [...above.plumes, ...below.plumes, ...motorPlumes(compiled, own, link, upper, lower, time_s)],
    pushers: pushersOf(link, lower, here.gap_m, here.tilt_rad),
    well: wellOf(own, lower),
    section: sectionOf(own, upper),
  };
}

/** Both bodies' frames as differences from the upper one's plane of separation. */
function framesOf(own: PartingCase, y: Float64Array): { upper: Frame; lower: Frame } {
  const upper = frameOf(y[UPPER]!, y[UPPER + 1]!, y[UPPER + 4]!, -own.bodies.upper.centre_m);
  const lower = frameOf(y[LOWER]!, y[LOWER + 1]!, y[LOWER + 4]!, own.bodies.lower.centre_m);
  const [s, across] = upper.plane;
  return {
    upper: { ...upper, plane: [0, 0] },
    lower: { ...lower, plane: [lower.plane[0] - s, lower.plane[1] - across] },
  };
}

/** Where in the picture of its time the bodies touch again, m; null where they do not. */
export function touchAt({ case: own, phase }: Parting): Place | null {
  if (phase.recontact === null) return null;
  const y = new Float64Array(SIZE);
  phase.steps.sample(phase.recontact.time_s, y);
  const [along, across] = touchPlace(own.bodies, own.contact, y);
  return placed(framesOf(own, y).lower, along, across);
}

interface Scene {
  readonly compiled: CompiledStudy;
  readonly record: FlightRecord;
  readonly own: PartingCase;
  readonly time_s: number;
}

function carrierTop_m(compiled: CompiledStudy, link: string, fallback_m: number): number {
  const carrier = compiled.bodies[compiled.bodies.find((body) => body.id === link)!.parent]!;
  return carrier.data.shape?.length_m ?? fallback_m;
}

function drawGroup(
  { compiled, record, own, time_s }: Scene,
  track: number,
  frame: Frame,
  foot_m: number,
  room: Room,
  settling: StagingSettling | null,
  turning_radps: number,
): { bodies: CloseBody[]; plumes: ClosePlume[] } {
  const segment = record.tracks[track]!.segments.find((each) => each.end_s > own.release_s)!;
  const stations = stationsOf(compiled.bodies, segment.bodies);
  const plumes: ClosePlume[] = [];
  const bodies = segment.bodies.map((body): CloseBody => {
    const { id } = compiled.bodies[body]!;
    const station_m = foot_m + stations.get(body)!;
    const around = id === own.link ? room : OPEN;
    const plume = enginePlume(compiled, record, own, body, frame, station_m, around, time_s);
    if (plume !== null) plumes.push(plume);
    const verdicts = settling?.body === id ? settling.tanks : [];
    const onBoard_kg = segment.propellant_kg[body]!;
    const standing = { frame, station_m, room: around, turning_radps };
    return standingBody(compiled, body, standing, onBoard_kg, verdicts, time_s);
  });
  return { bodies, plumes };
}

/** How a body stands in a picture: its frame, the station of its foot there (m), what is around its engines, how it turns. */
export interface Standing {
  readonly frame: Frame;
  readonly station_m: number;
  readonly room: Room;
  readonly turning_radps: number;
}

/**
 * A body's shapes with so much propellant on board (kg) at a mission time (s), displaced in its tanks as the verdicts say.
 * Lengths in m. Needs the body's outline, without which it throws BalanceError.
 */
export function standingBody(
  compiled: CompiledStudy,
  body: number,
  { frame, station_m, room, turning_radps }: Standing,
  onBoard_kg: number,
  verdicts: readonly TankVerdict[],
  time_s: number,
): CloseBody {
  const { data, id } = compiled.bodies[body]!;
  if (data.shape === undefined) throw new BalanceError(id);
  const sides = data.mixtureRatio === undefined ? null : splitByMixture(onBoard_kg, data.mixtureRatio);
  const tanks = sides === null ? [] : fillTanks(data, sides);
  return {
    body,
    attitude_rad: frame.angle_rad,
    turning_radps,
    plane: frame.plane,
    outline: outlineOf(data.shape, station_m, frame),
    bells: bellsOf(data, frame, station_m, room),
    tanks: tanks.flatMap(({ id: tank, tank: shape, liquid_m }): CloseTank[] => {
      if (shape.station_m === undefined) return [];
      const drawn = drawTank(data.shape!, shape, shape.station_m);
      const verdict = verdicts.find((each) => each.history.fill.id === tank);
      const wall_m = [-shape.radius_m, shape.radius_m] as const;
      return [
        {
          id: tank,
          outline: tankPart(frame, station_m, drawn, [0, tankLength_m(shape)], wall_m),
          ...liquidOf(frame, station_m, drawn, liquid_m, verdict, time_s),
        },
      ];
    }),
  };
}

function liquidOf(
  frame: Frame,
  foot_m: number,
  drawn: DrawnTank,
  liquid_m: number,
  verdict: TankVerdict | undefined,
  time_s: number,
): Pick<CloseTank, 'liquid' | 'state'> {
  const sample = verdict === undefined ? null : sampleAt(verdict.history, time_s);
  const displaced_m = sample?.displaced_m ?? 0;
  const { radius_m } = drawn;
  // What stands as a sheet along the wall is missing at the bottom: areas of the section across are kept.
  const sheet_m = SHEET * radius_m;
  const level_m = Math.max(0, liquid_m - (displaced_m * sheet_m) / (radius_m - sheet_m));
  const sheets =
    displaced_m > 0
      ? [-1, 1].map((side) => {
          const wall = side * radius_m;
          const inner = side * (radius_m - sheet_m);
          const across = [Math.min(wall, inner), Math.max(wall, inner)] as const;
          return tankPart(frame, foot_m, drawn, [level_m, liquid_m + displaced_m], across);
        })
      : [];
  return {
    liquid: [tankPart(frame, foot_m, drawn, [0, level_m], [-radius_m, radius_m]), ...sheets],
    state: sample?.state ?? null,
  };
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
