/** A parting's close-up as plain data: worked out once at even times, then read at any time between them. */
import { compileStudy, type CompiledStudy } from '../../flight/compile.ts';
import { recordFlight, type FlightRecord } from '../../flight/record.ts';
import { PartingError, withFailedPushers, withPushedParting } from '../../parting/links.ts';
import { workOutParting, type Parting } from '../../parting/parting.ts';
import { timeOfGap_s, type Opening, type PhaseCode } from '../../parting/phase.ts';
import { ignitionEvent, settlingBefore } from '../../parting/settling/ignition.ts';
import type { StagingSettling } from '../../parting/settling/staging.ts';
import { BalanceError } from '../../vehicle/balance.ts';
import type { Place } from '../bodyFrame.ts';
import { closeUpAt, touchAt, type CloseBody, type CloseUp } from '../closeUp.ts';
import { tellSettling, type SettlingTold } from '../settlingTold.ts';

/** Where and when bodies touch again. */
export interface CloseTouch {
  /** From release, s. */
  readonly after_s: number;
  readonly where: 'rim of the interstage' | 'plane of separation';
  /** In the picture of that time, m. */
  readonly place: Place;
  readonly gap_m: number;
  readonly drift_m: number;
  readonly tilt_rad: number;
}

/** What came of a parting, beside its pictures. SI. */
export interface PartingTold {
  readonly code: PhaseCode;
  /** One sentence. */
  readonly message: string;
  readonly opening: Opening;
  /** In the joint just before release; positive presses the bodies together. */
  readonly joint_N: number;
  /** From release; 0 without a rim, NaN when the engine section never leaves the interstage. */
  readonly rimOut_s: number;
  readonly leastRim_m: number;
  readonly touch: CloseTouch | null;
  readonly settling: SettlingTold | null;
}

export interface CloseUps {
  /** Mission time of the first view, of the release and of the last view, s. */
  readonly start_s: number;
  readonly release_s: number;
  readonly end_s: number;
  readonly step_s: number;
  /** At the start and every step after it; the last one at the end, which may be nearer. */
  readonly views: readonly CloseUp[];
  /** The stack's axis at release above the local horizontal, rad. */
  readonly climb_rad: number;
  readonly told: PartingTold;
}

/** Pictures of a parting, or the sentence that says why there are none; what came of it where that is known. */
export interface CloseUpOutcome {
  readonly views: CloseUps | null;
  readonly why: string;
  readonly told: PartingTold | null;
}

/** Close enough that nothing moves by more than two millimetres from a straight line in between: half of 20 m/s² over 10 ms. */
const STEP_s = 0.02;
/** So long before release the first view is, s. */
const BEFORE_s = 3;
const LONGEST_s = 6;
const FAR_m = 160;

/**
 * The close-ups of the parting at a link (a body's id), for the parameter values (SI, radians) of the study's flight: the
 * stack flies as solved, and the parting's mechanisms act as they do in `workOutParting`, so many of their springs and
 * pushers failed. No views where the study says too little for a picture (outlines, masses), where the bodies do not part,
 * and where they part sideways. Times in s, lengths in m.
 */
export function workOutCloseUps(
  compiled: CompiledStudy,
  values: Float64Array,
  link: string,
  failed = 0,
): CloseUpOutcome {
  const none = (why: string, told: PartingTold | null = null): CloseUpOutcome => ({ views: null, why, told });
  if (compiled.bodies.find(({ id }) => id === link)?.data.role === 'strapOn')
    return none('It goes off sideways; the close-up shows bodies that part along their axis.');
  try {
    const pushed = compileStudy(withFailedPushers(withPushedParting(compiled.study, link), link, failed));
    const record = recordFlight(pushed, values);
    const parting = workOutParting(pushed, record, link, { longest_s: LONGEST_s, far_m: FAR_m });
    const event = ignitionEvent(pushed, link);
    const settling = event === null ? null : settlingBefore(pushed, record, link, event);
    const told = tellParting(pushed, parting, settling);
    if (parting.phase.steps.count === 0) return none(parting.phase.message, told);
    return { views: sample(pushed, record, parting, settling, told), why: '', told };
  } catch (error) {
    if (error instanceof PartingError || error instanceof BalanceError)
      return none(error.message.endsWith('.') ? error.message : `${error.message}.`);
    throw error;
  }
}

/** The views alone, for a film: null where there are none. As `workOutCloseUps`: SI, radians. */
export function sampleCloseUps(compiled: CompiledStudy, values: Float64Array, link: string): CloseUps | null {
  return workOutCloseUps(compiled, values, link).views;
}

/** The gap at which a way of staging is pictured, over the diameter of the plane of separation. */
const PICTURED = 0.45;

/**
 * One view of a parting for a small picture: when the gap first is about half a diameter wide, or at the end where it never
 * is. Null where there is nothing to show apart. Times in s, lengths in m; throws BalanceError without outlines.
 */
export function pictureOfParting(
  compiled: CompiledStudy,
  record: FlightRecord,
  parting: Parting,
): CloseUps | null {
  const { case: own, phase } = parting;
  if (phase.steps.count === 0) return null;
  const open_s = timeOfGap_s(own.bodies, phase.steps, PICTURED * 2 * own.contact.planeRadius_m);
  const end_s = own.release_s + (Number.isNaN(open_s) ? phase.steps.end : open_s);
  const views = [own.release_s, end_s].map((t) => closeUpAt(compiled, record, parting, null, t));
  return {
    ...{ start_s: own.release_s, release_s: own.release_s, end_s, step_s: end_s - own.release_s, views },
    climb_rad: climbOf(parting),
    told: tellParting(compiled, parting, null),
  };
}

function climbOf({ case: { bodies } }: Parting): number {
  return Math.asin(Math.max(-1, Math.min(1, bodies.vertical[0])));
}

function tellParting(
  compiled: CompiledStudy,
  parting: Parting,
  settling: StagingSettling | null,
): PartingTold {
  const { case: own, phase } = parting;
  const place = touchAt(parting);
  const { recontact } = phase;
  return {
    code: phase.code,
    message: phase.message,
    opening: phase.opening,
    joint_N: own.joint_N,
    rimOut_s: phase.rimOut_s,
    leastRim_m: phase.leastRim_m,
    touch:
      recontact === null || place === null
        ? null
        : {
            after_s: recontact.time_s,
            where: recontact.place,
            place,
            gap_m: recontact.gap_m,
            drift_m: recontact.drift_m,
            tilt_rad: recontact.tilt_rad,
          },
    settling: settling === null ? null : tellSettling(compiled, settling),
  };
}

function sample(
  compiled: CompiledStudy,
  record: FlightRecord,
  parting: Parting,
  settling: StagingSettling | null,
  told: PartingTold,
): CloseUps {
  const { release_s } = parting.case;
  const start_s = release_s - BEFORE_s;
  const end_s = release_s + Math.min(LONGEST_s, parting.phase.steps.end);
  const count = Math.ceil((end_s - start_s) / STEP_s - 1e-9);
  const views = Array.from({ length: count + 1 }, (_, i) =>
    closeUpAt(compiled, record, parting, settling, Math.min(end_s, start_s + i * STEP_s)),
  );
  return { start_s, release_s, end_s, step_s: STEP_s, views, climb_rad: climbOf(parting), told };
}

/** The close-up at a mission time (s): before the first view that one, after the last that, between two their straight mean. m */
export function closeUpBetween({ start_s, end_s, step_s, views }: CloseUps, time_s: number): CloseUp {
  const clamped_s = Math.min(end_s, Math.max(start_s, time_s));
  const index = Math.min(views.length - 1, Math.floor((clamped_s - start_s) / step_s + 1e-9));
  const from = views[index]!;
  const to = views[Math.min(views.length - 1, index + 1)]!;
  const span_s = to.time_s - from.time_s;
  const share = span_s > 0 ? Math.min(1, Math.max(0, (clamped_s - from.time_s) / span_s)) : 0;
  if (share === 0) return { ...from, time_s };
  const number = (p: number, q: number): number => (p === q ? p : p + share * (q - p));
  const place = (p: Place, q: Place): Place => [number(p[0], q[0]), number(p[1], q[1])];
  const pair = (p: readonly [Place, Place], q: readonly [Place, Place]): [Place, Place] => [
    place(p[0], q[0]),
    place(p[1], q[1]),
  ];
  const places = (p: readonly Place[], q: readonly Place[]): Place[] =>
    p.map((each, i) => place(each, q[i]!));
  const bodies = (p: readonly CloseBody[], q: readonly CloseBody[]): CloseBody[] =>
    p.map((body, i) => ({
      ...body,
      outline: places(body.outline, q[i]!.outline),
      bells: body.bells.map((bell, k) => places(bell, q[i]!.bells[k]!)),
      plane: place(body.plane, q[i]!.plane),
      attitude_rad: number(body.attitude_rad, q[i]!.attitude_rad),
      turning_radps: number(body.turning_radps, q[i]!.turning_radps),
      tanks: body.tanks.map((tank, k) => {
        const other = q[i]!.tanks[k]!;
        return {
          ...tank,
          outline: places(tank.outline, other.outline),
          liquid: tank.liquid.map((each, l) => places(each, other.liquid[l] ?? each)),
        };
      }),
    }));
  return {
    time_s,
    upper: bodies(from.upper, to.upper),
    lower: bodies(from.lower, to.lower),
    gap_m: number(from.gap_m, to.gap_m),
    drift_m: number(from.drift_m, to.drift_m),
    tilt_rad: number(from.tilt_rad, to.tilt_rad),
    speed_mps: number(from.speed_mps, to.speed_mps),
    rim_m: number(from.rim_m, to.rim_m),
    dimension: pair(from.dimension, to.dimension),
    drift: pair(from.drift, to.drift),
    plumes: from.plumes.map((plume, i) => ({
      ...plume,
      mouth: place(plume.mouth, to.plumes[i]!.mouth),
      angle_rad: number(plume.angle_rad, to.plumes[i]!.angle_rad),
      share: number(plume.share, to.plumes[i]!.share),
    })),
    pushers: from.pushers.map((pusher, i) => ({ ...pusher, ends: pair(pusher.ends, to.pushers[i]!.ends) })),
    well: from.well === null || to.well === null ? null : places(from.well, to.well),
    section: from.section === null || to.section === null ? null : places(from.section, to.section),
  };
}
