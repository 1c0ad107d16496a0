/** Where a flight home begins: the body's state at its parting, with what still burns on it. */
import type { CompiledStudy } from '../flight/compile.ts';
import type { FlightEngine } from '../flight/engine.ts';
import { AZIMUTH, PAYLOAD } from '../flight/compile.ts';
import { EARTH_ROTATION_radps } from '../constants/physical.ts';
import { launchFrame } from '../flight/launch.ts';
import type { Branch, FlightPlan, Segment } from '../flight/planTypes.ts';
import { applyKicks } from '../flight/spin.ts';
import type { SteeringLaw } from '../flight/steering/law.ts';
import { VerticalLaw } from '../flight/steering/vertical.ts';

/**
 * SI, inertial; the aim is the direction of thrust just before parting, a unit vector. A body let go by a turning stack has the
 * velocity of that; its control holds the axis from then on, until the plan turns it.
 */
export interface ReturnStart {
  readonly time_s: number;
  readonly state: Float64Array;
  readonly aim: Float64Array;
  /** Mass of all that parts together, without what is kept for the return, kg. */
  readonly bare_kg: number;
  /** What the ascent left of the return reserve, kg. */
  readonly reserve_kg: number;
  /** The piece's segments while the sequence's last commands still show: tail-offs. */
  readonly tail: readonly Segment[];
  /** The segment after them, without thrust. */
  readonly quiet: Segment;
}

/** Where a body parts from the main flight of a plan, and under which segment's law. Indices. */
export interface PartingPlace {
  readonly branch: Branch;
  /** Segment of the main flight at whose start it parts; one past the last when that is at its end. */
  readonly segment: number;
  /** Segment that started the law in force just before, −1 when that is the vertical rise. */
  readonly law: number;
}

/** Finds where a body (index) parts in a plan; null where nothing sets it free. Unitless. */
export function partingPlace(plan: FlightPlan, body: number): PartingPlace | null {
  const branch = plan.branches.find((each) => each.bodies.includes(body));
  if (branch === undefined || branch.segments.length === 0) return null;
  const segment = branch.fromSegment;
  const law = plan.segments.slice(0, segment).findLastIndex(({ lawEvent }) => lawEvent >= 0);
  return { branch, segment, law };
}

/**
 * Reads the start of a body's flight home off the last flight with step-size control of an engine. `body` is its index,
 * `reserve_kg` the mass kept for the return (kg). Values in SI and radians; `laws` are the caller's own. Null when the
 * flight did not come to the parting.
 */
export function startOfReturn(
  engine: FlightEngine,
  body: number,
  reserve_kg: number,
  values: Float64Array,
  laws: (SteeringLaw | null)[],
): ReturnStart | null {
  const { plan, compiled } = engine;
  const place = partingPlace(plan, body);
  if (place === null) return null;
  const atEnd = place.segment >= plan.segments.length;
  const state = atEnd ? engine.end : (engine.stateBeforeJump(place.segment) ?? engine.stateAt(place.segment));
  const law = place.law < 0 ? state : engine.stateAt(place.law);
  return startAt(compiled, plan, place, state, law, reserve_kg, values, laws);
}

/**
 * The start from the states (m, m/s) at the parting, before anything jumps, and where the law before it began, in a plan with its pieces; see
 * `startOfReturn`. Masses in kg.
 */
export function startAt(
  compiled: CompiledStudy,
  plan: FlightPlan,
  { branch, law }: PartingPlace,
  atParting: Float64Array,
  atLaw: Float64Array,
  reserve_kg: number,
  values: Float64Array,
  laws: (SteeringLaw | null)[],
): ReturnStart {
  const first = branch.segments[0]!;
  const state = atParting.slice(0, 6);
  const aim = new Float64Array(3);
  alongAir(compiled, state, aim);
  const before = law < 0 ? new VerticalLaw() : laws[plan.segments[law]!.lawEvent]!;
  if (!before.alongAir) {
    const launch = launchFrame(compiled.site, values[AZIMUTH]!);
    const { start_s, held } = plan.segments[Math.max(law, 0)]!;
    before.read(values);
    before.start(start_s, held ? state : atLaw, launch);
    before.point(first.start_s, aim, state);
  }
  if (first.kicks !== undefined)
    applyKicks(first.kicks, values[PAYLOAD]!, aim, state, compiled.earth.rotation_radps);
  return {
    time_s: first.start_s,
    state,
    aim,
    bare_kg: first.mass_kg - reserve_kg,
    reserve_kg,
    tail: branch.segments.slice(0, -1),
    quiet: branch.segments.at(-1)!,
  };
}

/** Direction of the air-relative velocity, wind included; the radius while at rest. */
function alongAir(compiled: CompiledStudy, y: Float64Array, out: Float64Array): void {
  const { figure, wind } = compiled.setting;
  const r = Math.hypot(y[0]!, y[1]!, y[2]!);
  let x = y[3]! + EARTH_ROTATION_radps * y[1]!;
  let yy = y[4]! - EARTH_ROTATION_radps * y[0]!;
  let z = y[5]!;
  if (wind !== null) {
    const height = figure.height_m(y[0]!, y[1]!, y[2]!);
    wind.evaluate(height, wind.pieceAt(height));
    const e = 1 / Math.hypot(y[0]!, y[1]!);
    const north = wind.northward_mps / r;
    x -= (-y[1]! * wind.eastward_mps - y[0]! * y[2]! * north) * e;
    yy -= (y[0]! * wind.eastward_mps - y[1]! * y[2]! * north) * e;
    z -= north / e;
  }
  const speed = Math.hypot(x, yy, z);
  if (speed > 1e-3) out.set([x / speed, yy / speed, z / speed]);
  else out.set([y[0]! / r, y[1]! / r, y[2]! / r]);
}

/** How a body flies where its way home begins. */
export interface PartingFigures {
  readonly height_m: number;
  /** Against the turning ground, and its angle above the horizontal. */
  readonly speed_mps: number;
  readonly angle_rad: number;
}

/** Height, speed over the ground and climb angle at the start of a flight home; m, m/s, rad. */
export function partingFigures({ setting }: CompiledStudy, { state }: ReturnStart): PartingFigures {
  const spin_radps = setting.rotation_radps ?? EARTH_ROTATION_radps;
  const [x = 0, y = 0, z = 0, vx = 0, vy = 0, vz = 0] = state;
  const wx = vx + spin_radps * y;
  const wy = vy - spin_radps * x;
  const speed_mps = Math.hypot(wx, wy, vz);
  const climb = (x * wx + y * wy + z * vz) / Math.hypot(x, y, z);
  return { height_m: setting.figure.height_m(x, y, z), speed_mps, angle_rad: Math.asin(climb / speed_mps) };
}
