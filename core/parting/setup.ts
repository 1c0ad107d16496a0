/** From a recorded flight to the two bodies that part in it. */
import type { Link } from '../contract/parting.ts';
import { AZIMUTH, type CompiledStudy } from '../flight/compile.ts';
import { launchFrame } from '../flight/launch.ts';
import type { Segment } from '../flight/planTypes.ts';
import { impingementOf, strokeOfOne } from '../flight/pushes.ts';
import type { FlightRecord } from '../flight/record.ts';
import { acrossAxis, groupBalance, planeOf_m, turningOf_radps } from '../flight/spin.ts';
import { TrackReader, type Observation, type Track } from '../flight/track.ts';
import type { Balance } from '../vehicle/balance.ts';
import type { Contact } from './clearance.ts';
import { PartingError } from './links.ts';
import { engineThrust_N, massOf_kg, motorThrust_N, segmentAtTime } from './thrusts.ts';
import type { PartingBody, PlacedPusher, TwoBodies } from './twoBody.ts';

/** A parting of a recorded flight, ready for the two-body phase. SI. */
export interface PartingCase {
  /** Id of the body whose link is undone. */
  readonly link: string;
  /** Mission time. */
  readonly release_s: number;
  readonly bodies: TwoBodies;
  readonly contact: Contact;
  /** Times from release at which a force jumps. */
  readonly breaks_s: readonly number[];
  /** Indices of the flight's tracks that the two bodies follow from release on. */
  readonly upperTrack: number;
  readonly lowerTrack: number;
  readonly above: Balance;
  readonly below: Balance;
  /** The plane's first and second axis, inertial unit vectors: along the stack, and across it toward the sky. */
  readonly along: Float64Array;
  readonly across: Float64Array;
  /** In the joint just before release; positive presses the bodies together. */
  readonly joint_N: number;
}

/** How finely, and for how long after release, the flight's tracks are read, s. */
const NODE_s = 0.05;
const HORIZON_s = 30;

interface Side {
  readonly index: number;
  readonly track: Track;
  readonly reader: TrackReader;
  /** Segments from release on. */
  readonly segments: readonly Segment[];
  readonly extra_kg: number;
}

/**
 * The two bodies at the release of `link` (a body's id) in a recorded flight of this study. With `idle` the upper body's
 * engines stay off unless they burn or come up at release. SI; see `twoBody.ts` for frames. Throws PartingError when the
 * flight never came to that parting or parted there without its mechanisms, BalanceError when a body has no outline.
 */
export function partingCase(
  compiled: CompiledStudy,
  record: FlightRecord,
  link: string,
  options: { readonly idle?: boolean } = {},
): PartingCase {
  const { study, bodies } = compiled;
  const data: Link = study.vehicle.bodies[link]?.link ?? { parting: 'pushed', mechanisms: {} };
  if (data.parting === 'instant' && Object.keys(data.mechanisms).length > 0) {
    throw new PartingError(
      `vehicle.bodies.${link}.link.parting: received "instant", allowed is "pushed": the flight must feel the mechanisms`,
    );
  }
  const event = study.sequence.events.findIndex(
    ({ action }) => action.kind === 'part' && action.link === link,
  );
  const release_s = event < 0 ? Number.NaN : record.plan.eventTimes_s[event]!;
  const upperIndex = bodies.findIndex((body) => body.id === link);
  const lowerIndex = bodies[upperIndex]?.parent ?? -1;
  const launch = launchFrame(compiled.site, record.values[AZIMUTH]!);
  const sideOf = (body: number): Side | null => {
    const index = record.tracks.findIndex(
      (track) => track.start_s <= release_s && track.end_s > release_s && flies(track, body, release_s),
    );
    if (index < 0) return null;
    const track = record.tracks[index]!;
    return {
      index,
      track,
      reader: new TrackReader(compiled, track, record.values, launch),
      segments: track.segments.filter((segment) => segment.end_s > release_s),
      extra_kg: track.extra_kg,
    };
  };
  const upper = sideOf(upperIndex);
  const lower = sideOf(lowerIndex);
  if (upper === null || lower === null || upper.index === lower.index) {
    throw new PartingError(
      `link: received "${link}", which the flight never undoes; allowed is a link that it does. ${record.status.message}`,
    );
  }
  const stack = upper.track.start_s < release_s ? upper.reader : lower.reader;
  const joined = stack.at(release_s, true);
  const along = joined.aim.slice();
  const position = joined.state.slice(0, 3);
  const r = Math.hypot(...position);
  const radial = position.map((x) => x / r);
  const across = acrossAxis(along, radial);
  const { atmosphere } = compiled.setting;
  atmosphere.evaluate(joined.height_m, atmosphere.pieceAt(joined.height_m));
  const pressure_Pa = atmosphere.pressure_Pa;
  // Just before release, all along the axis: the upper body is carried by the joint and by its own thrust.
  const sensed_mps2 = (joined.thrustNet_N - joined.drag_N) / joined.mass_kg;
  const before = stack.track.segments[joined.segment]!;
  const group = upper.segments[0]!.bodies;
  const own_N =
    engineThrust_N(before, group, release_s, pressure_Pa) +
    motorThrust_N(record.plan, group, release_s - 1e-9);

  const above = balance(compiled, upper);
  const below = balance(compiled, lower);
  const top_m = planeOf_m(bodies, lower.segments[0]!.bodies, upperIndex);
  const axes = { along, across };
  const idle = options.idle === true && upper.segments[0]!.burns.length === 0;
  const make = (
    side: Side,
    balanced: Balance,
    centre_m: number,
    aimed: boolean,
    off: boolean,
  ): PartingBody => {
    const own = side.segments[0]!.bodies;
    const seen = (read: (now: Observation) => number): ((t_s: number) => number) =>
      tabulate(side, release_s, read);
    return {
      mass_kg: (t) => massOf_kg(segmentAtTime(side.segments, release_s + t), side.extra_kg, release_s + t),
      inertia_kgm2: balanced.inertia_kgm2,
      centre_m,
      engine_N: off
        ? () => 0
        : (t) => engineThrust_N(segmentAtTime(side.segments, release_s + t), own, release_s + t, pressure_Pa),
      aim: aimed
        ? { along: seen(({ aim }) => dot(aim, along)), across: seen(({ aim }) => dot(aim, across)) }
        : null,
      motor_N: (t) => motorThrust_N(record.plan, own, release_s + t),
      dragAlong_N: seen(
        (now) => -now.drag_N * dot(airDirection(now.state, compiled.earth.rotation_radps), axes.along),
      ),
      dragAcross_N: seen(
        (now) => -now.drag_N * dot(airDirection(now.state, compiled.earth.rotation_radps), axes.across),
      ),
    };
  };
  const upperBody = make(upper, above, above.centre_m, true, idle);
  const radius_m = 0.5 * bodies[upperIndex]!.data.shape!.diameter_m;
  return {
    link,
    release_s,
    bodies: {
      upper: upperBody,
      lower: make(lower, below, top_m - below.centre_m, false, false),
      pushers: placePushers(data),
      impingement: impingementOf(data),
      plume_N: idle
        ? () => 0
        : (t) => engineThrust_N(segmentAtTime(upper.segments, release_s + t), [upperIndex], release_s + t, 0),
      turning_radps: turningOf_radps(data),
      gradient_ps2: compiled.earth.gm_m3ps2 / (r * r * r),
      vertical: [dot(radial, along), dot(radial, across)],
    },
    contact: {
      planeRadius_m: radius_m,
      rim:
        data.rim === undefined
          ? null
          : {
              overlap_m: data.rim.overlap_m,
              wallRadius_m: radius_m,
              sectionRadius_m: radius_m - data.rim.clearance_m,
            },
    },
    breaks_s: breaksOf(record, [upper, lower], release_s),
    upperTrack: upper.index,
    lowerTrack: lower.index,
    above,
    below,
    along,
    across,
    joint_N: above.mass_kg * sensed_mps2 - own_N,
  };
}

function flies(track: Track, body: number, t_s: number): boolean {
  return segmentAtTime(track.segments, t_s).bodies.includes(body);
}

/** Balance of a side at release. */
function balance({ bodies, study }: CompiledStudy, { segments, extra_kg }: Side): Balance {
  const { bodies: group, mass_kg, propellant_kg } = segments[0]!;
  const payload = { body: bodies.findIndex((body) => body.id === study.payload.ridesOn), mass_kg: extra_kg };
  return groupBalance(bodies, group, mass_kg, propellant_kg, payload);
}

function airDirection(state: Float64Array, rotation_radps: number): Float64Array {
  const x = state[3]! + rotation_radps * state[1]!;
  const y = state[4]! - rotation_radps * state[0]!;
  const speed = Math.hypot(x, y, state[5]!);
  return Float64Array.of(x / speed, y / speed, state[5]! / speed);
}

/**
 * What a side's track tells as a function of time from release (s): tables of even steps, one a segment since commands jump
 * between segments; between nodes linear, beyond the last held.
 */
function tabulate(
  side: Side,
  release_s: number,
  read: (now: Observation) => number,
): (t_s: number) => number {
  const tables = side.segments
    .filter((segment) => segment.start_s < release_s + HORIZON_s && segment.start_s < side.track.end_s)
    .map((segment) => {
      const start_s = Math.max(segment.start_s, release_s);
      const end_s = Math.min(segment.end_s, release_s + HORIZON_s, side.track.end_s);
      const count = Math.max(2, Math.ceil((end_s - start_s) / NODE_s));
      const step_s = (end_s - start_s) / count;
      const nodes = Float64Array.from({ length: count + 1 }, (_, k) =>
        read(k === count ? side.reader.at(end_s, true) : side.reader.at(start_s + k * step_s)),
      );
      return { start_s: start_s - release_s, step_s, nodes };
    });
  return (t_s) => {
    let table = tables[0]!;
    for (const each of tables) if (each.start_s <= t_s) table = each;
    const last = table.nodes.length - 1;
    const at = Math.min(last, Math.max(0, (t_s - table.start_s) / table.step_s));
    const i = Math.min(last - 1, Math.floor(at));
    return table.nodes[i]! + (at - i) * (table.nodes[i + 1]! - table.nodes[i]!);
  };
}

/** Springs and pushers one by one, evenly on their circle; the first is away from the sky and fails first. m, N. */
function placePushers(link: Link): PlacedPusher[] {
  return Object.values(link.mechanisms).flatMap((mechanism): PlacedPusher[] => {
    if (mechanism.kind !== 'springs' && mechanism.kind !== 'pushers') return [];
    const one = strokeOfOne(mechanism);
    return Array.from({ length: mechanism.count }, (_, k) => ({
      ...one,
      offset_m: -mechanism.pitchRadius_m * Math.cos((2 * Math.PI * k) / mechanism.count),
    })).slice(mechanism.failed);
  });
}

function breaksOf(record: FlightRecord, sides: readonly Side[], release_s: number): number[] {
  return [
    ...sides.flatMap(({ segments }) => segments.map((segment) => segment.end_s - release_s)),
    ...record.plan.pushes.flatMap((push) => [push.start_s - release_s, push.end_s - release_s]),
  ];
}

function dot(a: ArrayLike<number>, b: ArrayLike<number>): number {
  return a[0]! * b[0]! + a[1]! * b[1]! + a[2]! * b[2]!;
}
