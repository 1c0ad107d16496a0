/** Where a flight home begins: the body's state at its parting, with what still burns on it. */
import type { CompiledStudy } from '../flight/compile.ts';
import type { FlightEngine } from '../flight/engine.ts';
import { AZIMUTH } from '../flight/compile.ts';
import { EARTH_ROTATION_radps } from '../constants/physical.ts';
import { launchFrame } from '../flight/launch.ts';
import type { Segment } from '../flight/planTypes.ts';
import type { SteeringLaw } from '../flight/steering/law.ts';
import { VerticalLaw } from '../flight/steering/vertical.ts';

/** SI, inertial; the aim is the direction of thrust just before parting, a unit vector. */
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

/**
 * Reads the start of a body's flight home off the last flight with step-size control of an engine. `body` is its index,
 * `reserve_kg` the mass kept for the return (kg). Values in SI and radians. Null when the flight did not come to the parting.
 */
export function startOfReturn(
  engine: FlightEngine,
  body: number,
  reserve_kg: number,
  values: Float64Array,
  laws: (SteeringLaw | null)[],
): ReturnStart | null {
  const { plan, compiled } = engine;
  const parted = plan.branches.find((each) => each.bodies.includes(body));
  const first = parted?.segments[0];
  const quiet = parted?.segments.at(-1);
  if (parted === undefined || first === undefined || quiet === undefined) return null;
  const atEnd = parted.fromSegment >= plan.segments.length;
  const stateAt = (segment: number): Float64Array => engine.stateAt(segment);
  const state = Float64Array.from(atEnd ? engine.end : stateAt(parted.fromSegment)).slice(0, 6);
  const aim = new Float64Array(3);
  aimBefore(compiled, plan.segments, parted.fromSegment, first.start_s, state, stateAt, values, laws, aim);
  return {
    time_s: first.start_s,
    state,
    aim,
    bare_kg: first.mass_kg - reserve_kg,
    reserve_kg,
    tail: parted.segments.slice(0, -1),
    quiet,
  };
}

/** Direction of thrust just before a segment begins, under the law in force then. */
function aimBefore(
  compiled: CompiledStudy,
  segments: readonly Segment[],
  segment: number,
  time_s: number,
  state: Float64Array,
  stateAt: (segment: number) => Float64Array,
  values: Float64Array,
  laws: (SteeringLaw | null)[],
  aim: Float64Array,
): void {
  const launch = launchFrame(compiled.site, values[AZIMUTH]!);
  let law: SteeringLaw = new VerticalLaw();
  law.start(time_s, state, launch);
  for (let s = segment - 1; s >= 0; s--) {
    const event = segments[s]!.lawEvent;
    if (event < 0) continue;
    law = laws[event]!;
    law.read(values);
    law.start(segments[s]!.start_s, segments[s]!.held ? state : stateAt(s), launch);
    break;
  }
  alongAir(compiled, state, aim);
  if (!law.alongAir) law.point(time_s, aim, state);
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
