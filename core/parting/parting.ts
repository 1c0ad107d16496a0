/** A parting of a flight, worked out: how the bodies come apart, whether they touch again, and when it is safe to light. */
import type { CompiledStudy } from '../flight/compile.ts';
import type { FlightRecord } from '../flight/record.ts';
import { flyPhase, samplePhase, timeOfGap_s, type Phase, type PhaseSample } from './phase.ts';
import { partingCase, type PartingCase } from './setup.ts';

export interface Parting {
  readonly case: PartingCase;
  readonly phase: Phase;
  /** Rate of the gap when the engine section is out of the interstage, or, without one, when the strokes have ended, m/s. */
  readonly leavingSpeed_mps: number;
  /** Rate of the gap at the end of the phase, m/s; negative closes. */
  readonly endSpeed_mps: number;
  /** Drift across at the end of the phase, m. */
  readonly endDrift_m: number;
}

export interface SafeIgnition {
  readonly clearance_m: number;
  /**
   * From release to the start command, at least, so that thrust sets in no sooner than the clearance is open: with the
   * upper body's engines silent until then. 0 where it is open at once, NaN when it never opens.
   */
  readonly delay_s: number;
  /** When the clearance is open, s from release. */
  readonly open_s: number;
}

/** How long the phase is followed, s, and to which gap, m. */
export interface PartingSpan {
  readonly longest_s?: number;
  readonly far_m?: number;
}

/**
 * Works out the parting at `link` (a body's id) in a recorded flight of this study. SI. Throws PartingError and BalanceError
 * as `partingCase`; what comes of the parting stands in the phase's code and message.
 */
export function workOutParting(
  compiled: CompiledStudy,
  record: FlightRecord,
  link: string,
  span: PartingSpan = {},
): Parting {
  const own = partingCase(compiled, record, link);
  const phase = flyPhase(own.bodies, own.contact, { ...span, breaks_s: own.breaks_s });
  if (phase.steps.count === 0) {
    const none = Number.NaN;
    return { case: own, phase, leavingSpeed_mps: none, endSpeed_mps: none, endDrift_m: none };
  }
  const strokeEnd_s = timeOfGap_s(
    own.bodies,
    phase.steps,
    Math.max(0, ...own.bodies.pushers.map((pusher) => pusher.stroke_m)),
  );
  const leaving_s = Math.max(phase.rimOut_s, Number.isNaN(strokeEnd_s) ? 0 : strokeEnd_s);
  const end = samplePhase(own.bodies, own.contact, phase.steps, phase.steps.end);
  return {
    case: own,
    phase,
    leavingSpeed_mps: Number.isNaN(leaving_s)
      ? Number.NaN
      : samplePhase(own.bodies, own.contact, phase.steps, leaving_s).speed_mps,
    endSpeed_mps: end.speed_mps,
    endDrift_m: end.drift_m,
  };
}

/** How the bodies stand at times after release (s), clamped to the phase; SI. */
export function partingTable(parting: Parting, times_s: readonly number[]): PhaseSample[] {
  const { case: own, phase } = parting;
  return times_s
    .filter((t) => t <= phase.steps.end)
    .map((t) => samplePhase(own.bodies, own.contact, phase.steps, t));
}

/**
 * The least delay from release to the upper body's start command for a clearance (m), `startDelay_s` (s) after which thrust
 * sets in. The engines are silent meanwhile, motors and springs act; the engine section must be out of the interstage too.
 * Throws as `partingCase`.
 */
export function safeIgnition(
  compiled: CompiledStudy,
  record: FlightRecord,
  link: string,
  clearance_m: number,
  startDelay_s: number,
): SafeIgnition {
  const own = partingCase(compiled, record, link, { idle: true });
  const phase = flyPhase(own.bodies, own.contact, { breaks_s: own.breaks_s, far_m: clearance_m + 1 });
  const open_s =
    phase.steps.count === 0 || phase.code === 'recontact'
      ? Number.NaN
      : Math.max(phase.rimOut_s, timeOfGap_s(own.bodies, phase.steps, clearance_m));
  return { clearance_m, open_s, delay_s: Math.max(0, open_s - startDelay_s) };
}
