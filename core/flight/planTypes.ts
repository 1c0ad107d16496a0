/**
 * The plan of a flight: everything about it that does not depend on where the vehicle is. Engine commands, transients,
 * flows, masses and partings follow from time and propellant alone, so they are worked out once, exactly, and the
 * integrator then runs over segments in which thrust, flow and exit area are linear in time.
 */

import type { Push } from './pushes.ts';
import type { SpinKick } from './spinTypes.ts';

/** One batch of engines with a common history within a segment. */
export interface Burn {
  readonly body: number;
  readonly group: string;
  readonly engines: number;
  /** Vacuum thrust of the batch at the segment's start, N, and its rate, N/s. */
  readonly thrust_N: number;
  readonly thrustRate_Nps: number;
  /** Propellant flow of the batch at the segment's start, kg/s, and its rate, kg/s². */
  readonly flow_kgps: number;
  readonly flowRate_kgps2: number;
}

/**
 * What a limit makes of its engines: `idle`, they burn as commanded since that keeps the limit; `holding`, they throttle so
 * that it is just met; `least`, they are at the lower end of their range and the limit is exceeded.
 */
export type HoldMode = 'idle' | 'holding' | 'least';

/** A limit in force during a segment, on engines that burn fully; SI, thrust in vacuum, at the segment's start. */
export interface HeldSpan {
  /** The event that put it in force. */
  readonly event: number;
  readonly mode: HoldMode;
  readonly body: number;
  readonly limit_mps2: number;
  /** Of the limited engines as commanded. */
  readonly thrust_N: number;
  readonly flow_kgps: number;
  /** Least share of the commanded throttle that the range of each limited engine allows. */
  readonly least: number;
  /** Of the stack's other engines, with rates. */
  readonly restThrust_N: number;
  readonly restThrustRate_Nps: number;
  readonly restFlow_kgps: number;
  readonly restFlowRate_kgps2: number;
  /** Of the body's own engines among those. */
  readonly ownFlow_kgps: number;
  readonly ownFlowRate_kgps2: number;
  /** Propellant that the limited engines would take after a cut if they burned as commanded, kg. */
  readonly tailOff_kg: number;
  /** The same of the body's other engines, as a parabola in the time since the segment's start: kg, kg/s, kg/s². */
  readonly restTailOff: readonly [number, number, number];
  /** Propellant that throttling has saved since release, at the segment's start, kg. */
  readonly saved_kg: number;
}

/** A span of time between two known happenings. Linear in time since `start_s` where a rate is given. */
export interface Segment {
  readonly start_s: number;
  readonly end_s: number;
  /** Indices of the bodies that fly together. */
  readonly bodies: readonly number[];
  /** Index of the drag table; −1 where there is none and something that is waited for may yet change the bodies. */
  readonly arrangement: number;
  /** Engines, less what a joined body below takes of it, and what mechanisms and their motors give. */
  readonly thrust_N: number;
  readonly thrustRate_Nps: number;
  readonly exitArea_m2: number;
  readonly exitAreaRate_m2ps: number;
  readonly flow_kgps: number;
  readonly flowRate_kgps2: number;
  /** Mass of the bodies at the start, payload not included, kg. */
  readonly mass_kg: number;
  /** Propellant on board of every body of the vehicle at the start, kg, by body index. */
  readonly propellant_kg: readonly number[];
  readonly burns: readonly Burn[];
  /** A limit in force. While it throttles, the rates above are a straight line with the right total; the flight knows more. */
  readonly hold?: HeldSpan;
  /** A hold (event) that is met by one steady throttle, as a share of what is commanded. */
  readonly steady?: { readonly event: number; readonly level: number };
  /** The steering event that takes effect at the start, or −1. */
  readonly lawEvent: number;
  /** Standing on the pad. */
  readonly held: boolean;
  /** Events that happened at the start, in order. */
  readonly fired: readonly number[];
  /** Releases from a turning stack at the start, with the jump of velocity that each gives; left out where there are none. */
  readonly kicks?: readonly SpinKick[];
}

/** The pieces that one parting sets free, flown on by themselves. */
export interface Branch {
  readonly id: string;
  readonly bodies: readonly number[];
  /** Index of the branch that they part from, −1 for the main flight. */
  readonly fromBranch: number;
  /** Index of the segment of that flight at whose start they part. */
  readonly fromSegment: number;
  readonly segments: readonly Segment[];
}

/** A staging gap as planned. */
export interface PlannedGap {
  /** Index of the ignition event. */
  readonly event: number;
  /** Start command less last cut-off command, s. */
  readonly command_s: number;
  /** Between the half-thrust points, s; NaN when either stage has none. */
  readonly effective_s: number;
}

/**
 * Where a state trigger is waited for, the plan holds only as long as none comes about, and it may break off: at a time
 * at which the flight cannot go on unless one has.
 */
export interface FlightPlan {
  readonly segments: readonly Segment[];
  readonly branches: readonly Branch[];
  /** Mission time of each event, NaN when it never happened or had nothing to act on. */
  readonly eventTimes_s: readonly number[];
  /** The same, of those too that had nothing to act on. */
  readonly dueTimes_s: readonly number[];
  /** Whether it stops short after so many segments as were asked for; it then tells nothing of what comes later. */
  readonly open: boolean;
  /** Why the plan breaks off at the end of its last segment; null when that is insertion. */
  readonly brokenOff: BreakOff | null;
  readonly gaps: readonly PlannedGap[];
  readonly release_s: number;
  readonly insertion_s: number;
  /** Events that happened at the very end, after the last segment. */
  readonly firedAtEnd: readonly number[];
  /** Forces of mechanisms that segments hold, motors among them (those with a flow). */
  readonly pushes: readonly Push[];
  /** Mass at release without payload, kg. */
  readonly liftoffMass_kg: number;
}

/** Why a plan goes no further: the path, and what is found there. */
export interface BreakOff {
  readonly path: string;
  readonly reason: string;
}

/** The study asks for something that cannot be planned: names the path, what was found and what is allowed. */
export class PlanError extends Error implements BreakOff {
  readonly path: string;
  readonly reason: string;
  constructor(path: string, reason: string) {
    super(`${path}: ${reason}`);
    this.name = 'PlanError';
    this.path = path;
    this.reason = reason;
  }
}
