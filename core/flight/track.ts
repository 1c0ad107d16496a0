/** A recorded path of one flyer: its steps' interpolation coefficients and the segments that it flew. */
import type { StepStore } from '../ode/dense.ts';
import type { DragTable } from '../vehicle/drag.ts';
import type { CompiledStudy } from './compile.ts';
import { hasLedger, hasSaved, Motion } from './motion.ts';
import type { Segment } from './planTypes.ts';
import type { HeldTurn } from './spinTypes.ts';
import { heldLaw } from './steering/spinning.ts';
import type { LaunchFrame, SteeringLaw } from './steering/law.ts';

export type TrackEnd = 'insertion' | 'impact' | 'touchdown' | 'cut short';

export interface Track {
  /** `main`, or the freed bodies' ids joined by +. */
  readonly id: string;
  readonly bodies: readonly number[];
  /** Segments flown, in order; the first starts with the track. */
  readonly segments: readonly Segment[];
  readonly steps: StepStore;
  readonly start_s: number;
  readonly end_s: number;
  readonly end: TrackEnd;
  /** Payload carried, kg. */
  readonly extra_kg: number;
  /** The direction that a freed piece keeps its thrust in, inertial unit vector; null on the main track. */
  readonly heldAim: Float64Array | null;
  /** How that direction turns on, where the piece was let go by a turning stack; null where it stays. */
  readonly heldTurn: HeldTurn | null;
}

/** How a path is steered and dragged that follows no sequence: by segment. */
export interface OwnLaws {
  /** A law that needs nothing but its numbers, started. */
  lawOf(segment: number): SteeringLaw;
  /** Null for the table of the segment's arrangement. */
  dragOf(segment: number): DragTable | null;
}

/** Quantities at one instant of a track. SI; position, velocity and aim in the inertial frame. */
export interface Observation {
  time_s: number;
  readonly state: Float64Array;
  height_m: number;
  /** Speed against the turning ground. */
  speedRelative_mps: number;
  speedInertial_mps: number;
  /** Against the local horizontal (normal to the radius), of the Earth-relative velocity; rad, up positive. */
  flightPathAngle_rad: number;
  /** The same of the inertial velocity. */
  flightPathAngleInertial_rad: number;
  mach: number;
  dynamicPressure_Pa: number;
  /** Of the air outside, kg/m³; and the speed against it, wind included. */
  density_kgpm3: number;
  speedAir_mps: number;
  mass_kg: number;
  /** Thrust less back-pressure, N. */
  thrustNet_N: number;
  drag_N: number;
  /** What an accelerometer on board feels: all but gravity, m/s². */
  sensed_mps2: number;
  /** Thrust direction. */
  readonly aim: Float64Array;
  /** Wind, m/s; nothing in still air. */
  readonly gust: Float64Array;
  segment: number;
}

/** Reads a track at any time. Reused; `at` allocates nothing. */
export class TrackReader {
  readonly now: Observation;
  /** Rate at which the ground turns. */
  readonly rotation_radps: number;
  private readonly motion: Motion;
  private readonly laws: (SteeringLaw | null)[];
  private readonly slope: Float64Array;
  private readonly lawState: Float64Array;
  private segment = -1;

  constructor(
    private readonly compiled: CompiledStudy,
    readonly track: Track,
    values: Float64Array,
    private readonly launch: LaunchFrame,
    private readonly own: OwnLaws | null = null,
  ) {
    const size = track.steps.dimension;
    this.motion = new Motion(compiled.setting, hasLedger(size), hasSaved(size));
    this.rotation_radps = this.motion.rotation_radps;
    this.laws = compiled.makeLaws();
    for (const law of this.laws) law?.read(values);
    this.slope = new Float64Array(size);
    this.lawState = new Float64Array(size);
    this.now = {
      time_s: Number.NaN,
      state: new Float64Array(size),
      height_m: Number.NaN,
      speedRelative_mps: Number.NaN,
      speedInertial_mps: Number.NaN,
      flightPathAngle_rad: Number.NaN,
      flightPathAngleInertial_rad: Number.NaN,
      mach: Number.NaN,
      dynamicPressure_Pa: Number.NaN,
      density_kgpm3: Number.NaN,
      speedAir_mps: Number.NaN,
      mass_kg: Number.NaN,
      thrustNet_N: Number.NaN,
      drag_N: Number.NaN,
      sensed_mps2: Number.NaN,
      aim: this.motion.aim,
      gust: this.motion.gust,
      segment: -1,
    };
  }

  /**
   * Observes the track at mission time t_s (s; clamped to the track). At a boundary between segments the later one is
   * read, unless `before` asks for the state just before it. The result is `now`, overwritten by the next call.
   */
  at(t_s: number, before = false): Observation {
    const { track, now, motion } = this;
    const t = Math.min(Math.max(t_s, track.start_s), track.end_s);
    let step = track.steps.find(t);
    if (before && step > 0 && track.steps.timeOf(step) >= t) step -= 1;
    track.steps.sampleStep(step, t, now.state);
    this.enter(segmentAt(track, track.steps.timeOf(step)));
    motion.setPiece(track.steps.pieceOf(step));
    motion.derivative(t, now.state, this.slope);
    observe(now, motion, this.slope, t);
    return now;
  }

  private enter(index: number): void {
    if (index === this.segment) return;
    const { track, compiled } = this;
    this.segment = index;
    this.now.segment = index;
    let law: SteeringLaw = this.own?.lawOf(index) ?? heldLaw(track.heldAim ?? this.launch.up, track.heldTurn);
    if (track.heldAim === null) {
      for (let s = index; s >= 0; s--) {
        const segment = track.segments[s]!;
        if (segment.lawEvent < 0) continue;
        law = this.laws[segment.lawEvent]!;
        track.steps.sample(segment.start_s, this.lawState);
        law.start(segment.start_s, this.lawState, this.launch);
        break;
      }
    }
    const segment = track.segments[index]!;
    const drag = this.own?.dragOf(index) ?? compiled.drags[segment.arrangement]!;
    this.motion.enter(segment, track.extra_kg, drag, law);
  }
}

/** Index of the segment of a track that holds mission time t_s (s); at a boundary the later one. */
export function segmentAt(track: Track, t_s: number): number {
  let index = 0;
  while (index + 1 < track.segments.length && track.segments[index + 1]!.start_s <= t_s) index += 1;
  return index;
}

function observe(now: Observation, motion: Motion, slope: Float64Array, t_s: number): void {
  const { state } = now;
  const x = state[0]!;
  const y = state[1]!;
  const z = state[2]!;
  const vx = state[3]!;
  const vy = state[4]!;
  const vz = state[5]!;
  const r = Math.sqrt(x * x + y * y + z * z);
  const wx = vx + motion.rotation_radps * y;
  const wy = vy - motion.rotation_radps * x;
  const climb = (x * vx + y * vy + z * vz) / r;
  now.time_s = t_s;
  now.height_m = motion.height_m;
  now.speedRelative_mps = Math.sqrt(wx * wx + wy * wy + vz * vz);
  now.speedInertial_mps = Math.sqrt(vx * vx + vy * vy + vz * vz);
  // The Earth's turning is horizontal, so both velocities climb alike. At rest the vehicle is about to rise.
  now.flightPathAngle_rad =
    now.speedRelative_mps > 1e-6 ? Math.asin(clampUnit(climb / now.speedRelative_mps)) : Math.PI / 2;
  now.flightPathAngleInertial_rad = Math.asin(clampUnit(climb / now.speedInertial_mps));
  now.mach = motion.mach;
  now.dynamicPressure_Pa = 0.5 * motion.density_kgpm3 * motion.speedAir_mps * motion.speedAir_mps;
  now.density_kgpm3 = motion.density_kgpm3;
  now.speedAir_mps = motion.speedAir_mps;
  now.mass_kg = motion.mass_kg;
  now.thrustNet_N = motion.thrustNet_N;
  now.drag_N = motion.drag_N;
  now.sensed_mps2 = Math.hypot(
    slope[3]! - motion.gravity[0]!,
    slope[4]! - motion.gravity[1]!,
    slope[5]! - motion.gravity[2]!,
  );
}

function clampUnit(x: number): number {
  return x > 1 ? 1 : x < -1 ? -1 : x;
}
