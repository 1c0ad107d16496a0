/**
 * Spin release: the stack turns about its common centre of mass when it is let go, and each body keeps the velocity that its
 * own centre of mass has just then. A flight follows one point; joined it stands for the stack's centre, parted for the
 * body's own, so that the velocity jumps at the release by turning rate × offset, across the stack. Momentum is kept: the
 * offsets are as the other side's mass. Elementary mechanics of a rigid body.
 *
 * The jump is put on the state where a segment begins. It follows from the state there, the law in force and the payload, all
 * smoothly, so that a flight over held steps has its derivatives exactly. What parts without turning has none.
 */
import type { Link } from '../contract/parting.ts';
import { balanceOf, BalanceError, lengthOf_m, stationsOf, type Balance } from '../vehicle/balance.ts';
import type { CompiledBody } from '../vehicle/structure.ts';
import { hasLedger } from './motion.ts';
import { PlanError } from './planTypes.ts';
import type { HeldTurn, SpinKick, SpinSide } from './spinTypes.ts';

/** Turning rate of the stack when a link is undone, all its mechanisms together, rad/s; nose toward the sky positive. */
export function turningOf_radps(link: Link): number {
  let sum = 0;
  for (const mechanism of Object.values(link.mechanisms))
    if (mechanism.kind === 'spin') sum += (mechanism.rate_degps * Math.PI) / 180;
  return sum;
}

/** Whether a body parts from a turning stack in flight. Unitless. */
export function spins({ data: { link } }: CompiledBody): boolean {
  return link?.parting === 'pushed' && turningOf_radps(link) !== 0;
}

/**
 * Balance of joined bodies (indices) that weigh `mass_kg` together without payload; what motors have burned is gone from the
 * first body's dry mass. `propellant_kg` is what is on board of each body of the vehicle, by index; `payload` the body (index)
 * that it rides on, and its mass (kg). Throws BalanceError.
 */
export function groupBalance(
  bodies: readonly CompiledBody[],
  group: readonly number[],
  mass_kg: number,
  propellant_kg: readonly number[],
  payload: { readonly body: number; readonly mass_kg: number },
): Balance {
  const given_kg = group.reduce((sum, b) => sum + bodies[b]!.dry_kg + propellant_kg[b]!, 0);
  return balanceOf(
    bodies,
    group,
    (b) => ({
      dry_kg: bodies[b]!.dry_kg - (b === group[0] ? given_kg - mass_kg : 0),
      propellant_kg: propellant_kg[b]!,
    }),
    payload,
  );
}

/** The plane of separation of a link (the body's index) above the foot of the lower side, m. Throws BalanceError. */
export function planeOf_m(bodies: readonly CompiledBody[], below: readonly number[], link: number): number {
  const { parent } = bodies[link]!;
  return stationsOf(bodies, below).get(parent)! + lengthOf_m(bodies[parent]!);
}

/**
 * What the release of a link (the body's index) gives both sides, for the flyer above; null where nothing turns. `mass_kg` and
 * `propellant_kg` are of every body of the vehicle at release, by index; `payloadBody` is an index. Throws PlanError where a
 * body has no outline: nobody knows then where its centre is.
 */
export function spinKick(
  bodies: readonly CompiledBody[],
  link: number,
  split: { readonly above: readonly number[]; readonly below: readonly number[] },
  mass_kg: readonly number[],
  propellant_kg: readonly number[],
  payloadBody: number,
): SpinKick | null {
  const own = bodies[link]!.data.link;
  const rate_radps = own === undefined ? 0 : turningOf_radps(own);
  if (rate_radps === 0) return null;
  const { above, below } = split;
  const none = { body: -1, mass_kg: 0 };
  const massOf = (group: readonly number[]): number => group.reduce((sum, b) => sum + mass_kg[b]!, 0);
  try {
    const up = groupBalance(bodies, above, massOf(above), propellant_kg, none);
    const down = groupBalance(bodies, below, massOf(below), propellant_kg, none);
    const plane_m = planeOf_m(bodies, below, link);
    const payload_m = (group: readonly number[]): number =>
      group.includes(payloadBody)
        ? stationsOf(bodies, group).get(payloadBody)! + lengthOf_m(bodies[payloadBody]!)
        : Number.NaN;
    return {
      rate_radps,
      goesAbove: true,
      above: { mass_kg: up.mass_kg, centre_m: up.centre_m, payload_m: payload_m(above) },
      below: {
        mass_kg: down.mass_kg,
        centre_m: plane_m - down.centre_m,
        payload_m: plane_m - payload_m(below),
      },
    };
  } catch (error) {
    if (!(error instanceof BalanceError)) throw error;
    throw new PlanError(
      error.path,
      'received nothing, allowed is an outline: a spin release asks where the mass is',
    );
  }
}

/** The same release, for the flyer on the other side. Unitless. */
export function otherSide(kick: SpinKick): SpinKick {
  return { ...kick, goesAbove: !kick.goesAbove };
}

/** Jump of a flyer's velocity across the stack, toward the sky positive, m/s, with a payload (kg) on board. */
export function kickSpeed_mps({ rate_radps, goesAbove, above, below }: SpinKick, payload_kg: number): number {
  const up = withPayload(above, payload_kg);
  const down = withPayload(below, payload_kg);
  const apart_mps = rate_radps * (up.centre_m + down.centre_m);
  const all_kg = up.mass_kg + down.mass_kg;
  return goesAbove ? (apart_mps * down.mass_kg) / all_kg : (-apart_mps * up.mass_kg) / all_kg;
}

function withPayload(
  { mass_kg, centre_m, payload_m }: SpinSide,
  payload_kg: number,
): Omit<SpinSide, 'payload_m'> {
  if (Number.isNaN(payload_m)) return { mass_kg, centre_m };
  const all_kg = mass_kg + payload_kg;
  return { mass_kg: all_kg, centre_m: (mass_kg * centre_m + payload_kg * payload_m) / all_kg };
}

/**
 * The direction across an axis that is nearest to the vertical; any, where the axis is vertical. Unit vectors. Throws
 * RangeError when the axis is none.
 */
export function acrossAxis(along: Float64Array, radial: Float64Array): Float64Array {
  const across = (of: ArrayLike<number>): Float64Array => {
    const part = along[0]! * of[0]! + along[1]! * of[1]! + along[2]! * of[2]!;
    const rest = along.map((a, i) => of[i]! - part * a);
    const length = Math.hypot(...rest);
    return length > 1e-6 ? rest.map((x) => x / length) : rest.fill(0);
  };
  for (const of of [radial, [0, 0, 1], [1, 0, 0]]) {
    const found = across(of);
    if (found.some((x) => x !== 0)) return found;
  }
  throw new RangeError('acrossAxis: the axis is no unit vector');
}

/** The direction across the stack at a state (m): the axis is the direction of thrust just before release. Unit vectors. */
function acrossStack(aim: Float64Array, y: Float64Array): Float64Array {
  const r = Math.hypot(y[0]!, y[1]!, y[2]!);
  return acrossAxis(aim, Float64Array.of(y[0]! / r, y[1]! / r, y[2]! / r));
}

/**
 * Puts releases on a state (inertial; m, m/s; in place): `aim` is the direction of thrust just before, a unit vector, and
 * `payload_kg` rides in the vehicle. Where the state has a ledger (speed against ground that turns at `rotation_radps`), the
 * jump counts as the impulse that it is: as much ideal velocity, and as steering loss what of it is not gained along the path.
 */
export function applyKicks(
  kicks: readonly SpinKick[],
  payload_kg: number,
  aim: Float64Array,
  y: Float64Array,
  rotation_radps: number,
): void {
  const across = acrossStack(aim, y);
  let jump_mps = 0;
  for (const kick of kicks) jump_mps += kickSpeed_mps(kick, payload_kg);
  const ground = (): number =>
    Math.hypot(y[3]! + rotation_radps * y[1]!, y[4]! - rotation_radps * y[0]!, y[5]!);
  const before_mps = ground();
  for (let i = 0; i < 3; i++) y[3 + i] = y[3 + i]! + jump_mps * across[i]!;
  if (!hasLedger(y.length)) return;
  const ideal_mps = Math.abs(jump_mps);
  y[6] = y[6]! + ideal_mps;
  y[10] = y[10]! + ideal_mps - (ground() - before_mps);
}

/** How a piece goes on turning that these releases have set free, null where none turned; arguments as `applyKicks`, in s. */
export function turnAfter(
  kicks: readonly SpinKick[] | undefined,
  aim: Float64Array,
  y: Float64Array,
  since_s: number,
): HeldTurn | null {
  // The last one sets it free.
  const last = kicks?.at(-1);
  return last === undefined ? null : { since_s, rate_radps: last.rate_radps, across: acrossStack(aim, y) };
}
