/**
 * A body on its way home from close by: where it is over the place it comes down at, how it stands, what burns, and how much
 * of its way a picture shows. All places are differences, from the touchdown or from the body's own feet, taken in double
 * precision before anything is drawn: nothing trembles, and what stands on the ground stands on it. Pure functions of time.
 */
import type { Burn, Segment } from '../flight/planTypes.ts';
import type { ReturnPhase } from '../recovery/legs.ts';
import { placed, type Frame, type Place } from './bodyFrame.ts';
import { standingBody, type CloseBody } from './closeUp.ts';
import { OPEN, plumeOf, type ClosePlume } from './closeUpParts.ts';
import { heatingNow_Wpm2 } from './home.ts';
import { dot, overGround, turnedWithEarth, type LandingScene } from './landingScene.ts';

/** One moment. SI; what lies in the picture has two components, along and up at the touchdown. */
export interface LandingView {
  readonly time_s: number;
  readonly phase: ReturnPhase;
  readonly landed: boolean;
  /** The flown point, which is the body's feet, from the touchdown. */
  readonly foot: Place;
  /** Shapes as differences from that point. */
  readonly bodies: readonly CloseBody[];
  readonly plumes: readonly ClosePlume[];
  /** Where up is at the body, in the picture, rad from the picture's own up, to the left positive; 0 at the touchdown. */
  readonly tilt_rad: number;
  /** Over the ground, and through the air, m/s. */
  readonly velocity: Place;
  readonly airVelocity: Place;
  /** Above the touchdown. */
  readonly height_m: number;
  readonly down_mps: number;
  readonly sideways_mps: number;
  readonly thrust_N: number;
  /** Engines that burn, of all; and their thrust over what they give in full. */
  readonly engines: number;
  readonly enginesOfAll: number;
  readonly throttle: number;
  readonly onBoard_kg: number;
  /** Until touchdown. */
  readonly left_s: number;
  /** Of the body's axis from upright, where it is. */
  readonly lean_rad: number;
  /** Of the body's tail from the way that it goes through the air. */
  readonly offAir_rad: number;
  readonly turning_radps: number;
  readonly mach: number;
  readonly dynamicPressure_Pa: number;
  readonly heating_Wpm2: number;
  /** Height of what is to be shown, which falls smoothly with the body. */
  readonly shown_m: number;
}

/** Of the height above the touchdown so much is shown, and at the end so many metres or lengths of the body. */
const ABOVE = 1.25;
const LEAST_m = 60;
const LEAST_LENGTHS = 1.45;
/** The turning rate is read over twice this, s. */
const RATE_s = 0.005;

/**
 * The landing at a mission time (s): before the parting as at it; from touchdown on the body stands where it came down, its
 * engines out. Lengths in m, angles in rad. Every place is good to a millionth of a metre wherever the body is.
 */
export function landingAt(scene: LandingScene, time_s: number): LandingView {
  const { reader, start_s, end_s, up, along, touchdown } = scene;
  const t = Math.min(end_s, Math.max(start_s, time_s));
  const landed = time_s >= end_s;
  const early_s = Math.max(start_s, t - RATE_s);
  const late_s = Math.min(end_s, t + RATE_s);
  const turned = attitudeAt(scene, late_s) - attitudeAt(scene, early_s);
  const turning_radps = landed ? 0 : Math.atan2(Math.sin(turned), Math.cos(turned)) / (late_s - early_s);
  const now = reader.at(t);
  const inPicture = (v: ArrayLike<number>): Place => [dot(v, along), dot(v, up)];
  const place = turnedWithEarth(reader, now.state, t);
  const aim = turnedWithEarth(reader, now.aim, t);
  const ground = overGround(reader, now);
  const air = ground.map((v, k) => v - now.gust[k]!);
  const vertical = upwardAt(scene, place);
  const velocity = turnedWithEarth(reader, ground, t);
  const through = turnedWithEarth(reader, air, t);
  const down_mps = -dot(velocity, vertical);
  const airSpeed = Math.hypot(...through);
  const height_m = now.height_m - scene.ground_m;
  const angle_rad = Math.atan2(dot(aim, up), dot(aim, along));
  const segment = reader.track.segments[now.segment]!;
  const gas = landed ? [] : segment.burns.filter((burn) => thrustOf(burn, segment, t) > 0);
  const shapes = shapesAt(scene, t, angle_rad, turning_radps, gas, segment);
  const full_N = gas.reduce((sum, burn) => sum + fullThrust_N(scene, burn), 0);
  const thrust_N = gas.reduce((sum, burn) => sum + thrustOf(burn, segment, t), 0);
  const flat = inPicture(vertical);
  return {
    time_s,
    phase: scene.home.legs[now.segment]!.phase,
    landed,
    foot: inPicture(place.map((v, k) => v - touchdown[k]!)),
    ...shapes,
    tilt_rad: Math.atan2(-flat[0], flat[1]),
    velocity: landed ? [0, 0] : inPicture(velocity),
    airVelocity: landed ? [0, 0] : inPicture(through),
    height_m: landed ? 0 : height_m,
    down_mps: landed ? 0 : down_mps,
    sideways_mps: landed ? 0 : Math.sqrt(Math.max(0, dot(velocity, velocity) - down_mps * down_mps)),
    thrust_N,
    engines: gas.reduce((sum, burn) => sum + burn.engines, 0),
    enginesOfAll: allEngines(scene),
    throttle: full_N > 0 ? thrust_N / full_N : 0,
    onBoard_kg: [...scene.stations.keys()].reduce((sum, body) => sum + onBoardAt(segment, body, t), 0),
    left_s: end_s - t,
    lean_rad: Math.acos(clampUnit(dot(aim, vertical))),
    offAir_rad: airSpeed > 0 ? Math.acos(clampUnit(-dot(aim, through) / airSpeed)) : 0,
    turning_radps,
    mach: landed ? 0 : now.mach,
    dynamicPressure_Pa: landed ? 0 : now.dynamicPressure_Pa,
    heating_Wpm2: landed ? 0 : heatingNow_Wpm2(reader, scene.home),
    shown_m: Math.hypot(Math.max(LEAST_m, LEAST_LENGTHS * scene.length_m), ABOVE * Math.max(0, height_m)),
  };
}

const clampUnit = (x: number): number => Math.max(-1, Math.min(1, x));

/** Of the body's axis in the picture, rad from along toward up. */
function attitudeAt({ reader, along, up }: LandingScene, t: number): number {
  const aim = turnedWithEarth(reader, reader.at(t).aim, t);
  return Math.atan2(dot(aim, up), dot(aim, along));
}

function upwardAt({ compiled }: LandingScene, place: Float64Array): Float64Array {
  const out = new Float64Array(3);
  compiled.setting.figure.up(place[0]!, place[1]!, place[2]!, out);
  return out;
}

function thrustOf(burn: Burn, segment: Segment, t: number): number {
  return burn.thrust_N + (t - segment.start_s) * burn.thrustRate_Nps;
}

function fullThrust_N({ compiled }: LandingScene, { body, group, engines }: Burn): number {
  return engines * compiled.bodies[body]!.data.engineGroups[group]!.thrustVacuum_N;
}

function allEngines({ compiled, stations }: LandingScene): number {
  return [...stations.keys()]
    .flatMap((body) => Object.values(compiled.bodies[body]!.data.engineGroups))
    .reduce((sum, group) => sum + group.count, 0);
}

/** Propellant of a body at a time of a segment, kg. */
function onBoardAt(segment: Segment, body: number, t: number): number {
  const dt = t - segment.start_s;
  const burned = segment.burns
    .filter((burn) => burn.body === body)
    .reduce((sum, burn) => sum + dt * (burn.flow_kgps + 0.5 * dt * burn.flowRate_kgps2), 0);
  return segment.propellant_kg[body]! - burned;
}

function shapesAt(
  scene: LandingScene,
  t: number,
  angle_rad: number,
  turning_radps: number,
  gas: readonly Burn[],
  segment: Segment,
): Pick<LandingView, 'bodies' | 'plumes'> {
  const { compiled, stations, feet } = scene;
  // The frame's origin lies so that the feet are at zero.
  const reach = placed({ plane: [0, 0], angle_rad }, feet[0], feet[1]);
  const frame: Frame = { plane: [-reach[0], -reach[1]], angle_rad };
  const bodies: CloseBody[] = [];
  const plumes: ClosePlume[] = [];
  for (const [body, station_m] of stations) {
    const standing = { frame, station_m, room: OPEN, turning_radps };
    bodies.push(standingBody(compiled, body, standing, onBoardAt(segment, body, t), [], t));
    const own = gas.filter((burn) => burn.body === body);
    if (own.length === 0) continue;
    const { data } = compiled.bodies[body]!;
    const engines = own.reduce((sum, burn) => sum + burn.engines, 0);
    const thrust_N = own.reduce((sum, burn) => sum + thrustOf(burn, segment, t), 0);
    const full_N = own.reduce((sum, burn) => sum + fullThrust_N(scene, burn), 0);
    const plume = plumeOf(data, body, frame, station_m, OPEN, thrust_N, engines);
    // As strong as those few engines are open: the plume is as narrow as they are few.
    if (plume !== null) plumes.push({ ...plume, share: thrust_N / full_N });
  }
  return { bodies, plumes };
}
