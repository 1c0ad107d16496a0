/**
 * Two bodies that have just let go of each other, in the plane of parting: each has place, velocity, attitude and turning
 * rate. The frame falls with the stack and does not turn; its origin is the stack's centre of mass at release, its first
 * axis (s) points along the stack toward the nose, its second (y) across, in the plane, toward the sky. Angles count from s
 * toward y. Time counts from release, s.
 *
 * Forces: engines through the centre of mass along a given direction; motors along the body's own axis; springs and
 * pushers each at its own place, the force along the lower body's axis and at one point for both, so that momentum,
 * angular momentum and the energy of the springs are kept; plume push on the lower body only, along its axis; drag as
 * the flight meets it; the gradient of gravity GM/r³ (3 (d·r̂) r̂ − d). Inertias are those at release.
 */
import type { LinearTable } from '../math/interpolation.ts';
import { SmoothSystem } from '../ode/system.ts';

/** One body of a parting. SI, time from release. */
export interface PartingBody {
  readonly mass_kg: (t_s: number) => number;
  /** About the centre of mass, across the plane. */
  readonly inertia_kgm2: number;
  /** From the plane of separation to the centre of mass, along the body; positive for both. */
  readonly centre_m: number;
  /** Of the engines, less back-pressure. */
  readonly engine_N: (t_s: number) => number;
  /**
   * Direction of that thrust: its parts along s and y, whose length is below 1 where it leaves the plane; the body's own
   * axis when null.
   */
  readonly aim: { readonly along: (t_s: number) => number; readonly across: (t_s: number) => number } | null;
  /** Of motors, along the body's axis; negative pushes it back. */
  readonly motor_N: (t_s: number) => number;
  /** Drag, along s and along y. */
  readonly dragAlong_N: (t_s: number) => number;
  readonly dragAcross_N: (t_s: number) => number;
}

/** One spring or pusher at its place across the axis; its force falls linearly with the gap there until the stroke ends. */
export interface PlacedPusher {
  readonly offset_m: number;
  readonly force_N: number;
  readonly slope_Npm: number;
  readonly stroke_m: number;
}

export interface TwoBodies {
  readonly upper: PartingBody;
  readonly lower: PartingBody;
  readonly pushers: readonly PlacedPusher[];
  /** Share of the plume's thrust that pushes the lower body back, against the gap (m); null for none. */
  readonly impingement: LinearTable | null;
  /** Thrust of the upper body's own engines, N. */
  readonly plume_N: (t_s: number) => number;
  /** Of the joined stack at release, rad/s, nose toward y positive. */
  readonly turning_radps: number;
  /** GM/r³, 1/s², and the vertical in the plane's frame (its length is below 1 when the plane is not upright). */
  readonly gradient_ps2: number;
  readonly vertical: readonly [number, number];
}

/** Ends of strokes this close together, m, are at one place. */
const TOGETHER_m = 1e-9;
/** An edge of the plume's table is met from below to within a root's tolerance; so far on, m, the next piece holds. */
const PAST_EDGE_m = 1e-6;

export const SIZE = 12;
/** Offsets of one body's numbers in the state: s, y, their rates, attitude, turning rate. */
export const UPPER = 0;
export const LOWER = 6;

/** The state at release (m, m/s, rad, rad/s): joined, turning together about their common centre of mass. */
export function stateAtRelease({ upper, lower, turning_radps }: TwoBodies): Float64Array {
  const y = new Float64Array(SIZE);
  const m_u = upper.mass_kg(0);
  const m_l = lower.mass_kg(0);
  const plane_m = (m_l * lower.centre_m - m_u * upper.centre_m) / (m_u + m_l);
  y[UPPER] = plane_m + upper.centre_m;
  y[LOWER] = plane_m - lower.centre_m;
  for (const at of [UPPER, LOWER]) {
    y[at + 3] = turning_radps * y[at]!;
    y[at + 5] = turning_radps;
  }
  return y;
}

/** Where the bodies stand to each other. */
export interface Standing {
  /** Middle of the upper body's plane of separation less that of the lower one's, along and across the lower body. */
  gap_m: number;
  drift_m: number;
  /** Upper less lower attitude, rad. */
  tilt_rad: number;
}

/** Writes how the bodies of a state (m, rad) stand to each other into `out`. */
export function standing(bodies: TwoBodies, y: Float64Array, out: Standing): Standing {
  const { upper, lower } = bodies;
  const cu = Math.cos(y[UPPER + 4]!);
  const su = Math.sin(y[UPPER + 4]!);
  const cl = Math.cos(y[LOWER + 4]!);
  const sl = Math.sin(y[LOWER + 4]!);
  const ds = y[UPPER]! - upper.centre_m * cu - y[LOWER]! - lower.centre_m * cl;
  const dy = y[UPPER + 1]! - upper.centre_m * su - y[LOWER + 1]! - lower.centre_m * sl;
  out.gap_m = ds * cl + dy * sl;
  out.drift_m = dy * cl - ds * sl;
  out.tilt_rad = y[UPPER + 4]! - y[LOWER + 4]!;
  return out;
}

/** The equations of motion; see the top of the file. The driver restarts it after every end of a stroke. */
export class TwoBodySystem extends SmoothSystem {
  readonly dimension = SIZE;
  /** Which pushers still push. */
  readonly pushing: boolean[];
  private share = 0;
  private readonly now: Standing = { gap_m: 0, drift_m: 0, tilt_rad: 0 };

  constructor(readonly bodies: TwoBodies) {
    super();
    this.pushing = bodies.pushers.map(() => true);
  }

  /** Gap at one pusher's place, m, along the lower body's axis. */
  gapAt_m(y: Float64Array, offset_m: number): number {
    const { gap_m, tilt_rad } = standing(this.bodies, y, this.now);
    return gap_m - offset_m * Math.sin(tilt_rad);
  }

  /** The stroke of a pusher (its index) is over: it pushes no more. */
  end(pusher: number): void {
    this.pushing[pusher] = false;
  }

  /** Takes note of ended strokes and of the piece of the plume's table that holds from this state (SI) on. */
  enter(y: Float64Array): void {
    this.bodies.pushers.forEach((pusher, i) => {
      if (this.gapAt_m(y, pusher.offset_m) >= pusher.stroke_m - TOGETHER_m) this.pushing[i] = false;
    });
    const { gap_m } = standing(this.bodies, y, this.now);
    this.share = this.bodies.impingement?.pieceAt(gap_m + PAST_EDGE_m) ?? 0;
  }

  /** Writes the state's rates at time t (s from release) into dydt; m, s, rad. */
  override derivative(t: number, y: Float64Array, dydt: Float64Array): void {
    const { upper, lower, pushers, impingement, gradient_ps2, vertical } = this.bodies;
    const cl = Math.cos(y[LOWER + 4]!);
    const sl = Math.sin(y[LOWER + 4]!);
    const cu = Math.cos(y[UPPER + 4]!);
    const su = Math.sin(y[UPPER + 4]!);
    const { gap_m, tilt_rad } = standing(this.bodies, y, this.now);
    let push_N = 0;
    let torqueUpper = 0;
    let torqueLower = 0;
    for (let i = 0; i < pushers.length; i++) {
      if (!this.pushing[i]!) continue;
      const { offset_m, force_N, slope_Npm } = pushers[i]!;
      const force = force_N - slope_Npm * (gap_m - offset_m * Math.sin(tilt_rad));
      push_N += force;
      // Both forces at the upper body's end of the spring, along the lower body's axis.
      const us = -upper.centre_m * cu - offset_m * su;
      const uy = -upper.centre_m * su + offset_m * cu;
      torqueUpper += us * force * sl - uy * force * cl;
      const ls = y[UPPER]! + us - y[LOWER]!;
      const ly = y[UPPER + 1]! + uy - y[LOWER + 1]!;
      torqueLower -= ls * force * sl - ly * force * cl;
    }
    const plume_N =
      impingement === null ? 0 : impingement.evaluate(gap_m, this.share) * this.bodies.plume_N(t);
    for (const at of [UPPER, LOWER]) {
      const body = at === UPPER ? upper : lower;
      const sense = at === UPPER ? 1 : -1;
      const c = at === UPPER ? cu : cl;
      const s = at === UPPER ? su : sl;
      const m = body.mass_kg(t);
      const engine = body.engine_N(t);
      const motor = body.motor_N(t);
      const along = sense * push_N - (at === LOWER ? plume_N : 0);
      const pull = gradient_ps2 * 3 * (y[at]! * vertical[0] + y[at + 1]! * vertical[1]);
      dydt[at] = y[at + 2]!;
      dydt[at + 1] = y[at + 3]!;
      dydt[at + 2] =
        (engine * (body.aim === null ? c : body.aim.along(t)) +
          motor * c +
          along * cl +
          body.dragAlong_N(t)) /
          m +
        pull * vertical[0] -
        gradient_ps2 * y[at]!;
      dydt[at + 3] =
        (engine * (body.aim === null ? s : body.aim.across(t)) +
          motor * s +
          along * sl +
          body.dragAcross_N(t)) /
          m +
        pull * vertical[1] -
        gradient_ps2 * y[at + 1]!;
      dydt[at + 4] = y[at + 5]!;
      dydt[at + 5] = (at === UPPER ? torqueUpper : torqueLower) / body.inertia_kgm2;
    }
  }
}
