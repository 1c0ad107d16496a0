/** What a flight home took and met, as plain numbers; and what a body that is not flown home is allowed. */
import { G0_mps2 } from '../constants/physical.ts';
import type { ReturnAllowance } from '../contract/returns.ts';
import { RECORD_ACCURACY } from '../flight/accuracy.ts';
import type { CompiledBody } from '../vehicle/structure.ts';
import type { CompiledReturn } from './compile.ts';
import { readTouchdown, ReturnEngine, type Touchdown } from './engine.ts';
import type { ReturnPhase } from './legs.ts';
import type { LimitKind } from './peaks.ts';
import type { ReturnStart } from './start.ts';

/** Propellant of a burn (kg) from its command to the end of its tail-off, with mission times (s). */
export interface ReviewedBurn {
  readonly phase: ReturnPhase;
  readonly start_s: number;
  readonly end_s: number;
  readonly propellant_kg: number;
}

/** The greatest value of the whole flight, and in which phase: Pa, W/m² or m/s². */
export interface ReviewedPeak {
  readonly kind: LimitKind;
  readonly phase: ReturnPhase;
  readonly value: number;
  /** NaN when the plan limits none. */
  readonly limit: number;
}

export interface ReturnReview {
  readonly burns: readonly ReviewedBurn[];
  readonly used_kg: number;
  readonly landedMass_kg: number;
  readonly peaks: readonly ReviewedPeak[];
  readonly touchdown_s: number;
  /** Speed over the ground, m/s; distance from the place, in height alone where none is asked for, m. */
  readonly touchdownSpeed_mps: number;
  readonly miss_m: number;
}

/**
 * Flies a solved return once more, finely, and tells what it took and met; SI. Null when the numbers (SI, radians) do not fly.
 */
export function reviewReturn(
  compiled: CompiledReturn,
  start: ReturnStart,
  values: Float64Array,
): ReturnReview | null {
  const { limits } = compiled.plan;
  // All is looked at, whether limited or not.
  const everything = { dynamicPressure_Pa: Infinity, heatFlux_Wpm2: Infinity, load_mps2: Infinity };
  const engine = new ReturnEngine(
    { ...compiled, plan: { ...compiled.plan, limits: everything } },
    RECORD_ACCURACY,
  );
  if (engine.fly(values, start) !== 'flown') return null;
  const burns: ReviewedBurn[] = [];
  engine.legs.forEach((leg, i) => {
    const start_s = engine.times_s[i]!;
    const end_s = engine.times_s[i + 1]!;
    const propellant_kg = engine.burned_kg(leg, end_s - start_s);
    const last = burns.at(-1);
    if (last?.phase === leg.phase)
      burns[burns.length - 1] = { ...last, end_s, propellant_kg: last.propellant_kg + propellant_kg };
    else burns.push({ phase: leg.phase, start_s, end_s, propellant_kg });
  });
  const landing = burns.pop()!;
  const tailOff_kg = engine.number('landingThrottle') * compiled.landingTailOff_kg;
  burns.push({ ...landing, propellant_kg: landing.propellant_kg + tailOff_kg });
  const touchdown: Touchdown = { miss_m: new Float64Array(3), velocity_mps: new Float64Array(3) };
  readTouchdown(compiled, engine.endTime_s, engine.end, touchdown);
  const own = {
    dynamicPressure: limits.dynamicPressure_Pa,
    heating: limits.heatFlux_Wpm2,
    load: limits.load_mps2,
  };
  return {
    burns: burns.filter((burn) => burn.propellant_kg > 0),
    used_kg: engine.used_kg,
    landedMass_kg: engine.endMass_kg - tailOff_kg,
    peaks: engine.peaks.limits.map(({ kind }, limit) => {
      const most = engine.peaks.peaks
        .filter((peak) => peak.limit === limit)
        .reduce((best, peak) => (peak.value > best.value ? peak : best));
      return { kind, phase: most.phase, value: most.value, limit: own[kind] ?? Number.NaN };
    }),
    touchdown_s: engine.endTime_s,
    touchdownSpeed_mps: Math.hypot(...touchdown.velocity_mps),
    miss_m: compiled.place === null ? Math.abs(touchdown.miss_m[2]!) : Math.hypot(...touchdown.miss_m),
  };
}

/** Propellant that an allowance takes, kg. */
export interface AllowedReturn {
  readonly deorbit_kg: number;
  readonly landing_kg: number;
}

/**
 * What an allowance takes of a body's return reserve by the rocket equation, kg: landing with dry mass, residual and flight
 * reserve on board, leaving orbit with the landing's propellant too. Velocities in m/s; back-pressure and losses are to be in
 * them.
 */
export function allowedReturn(body: CompiledBody, allowance: ReturnAllowance): AllowedReturn {
  const { engineGroups, propellant } = body.data;
  const landed = body.dry_kg + (propellant?.residual_kg ?? 0) + (propellant?.flightReserve_kg ?? 0);
  const grow = (group: string, speed_mps: number): number =>
    Math.expm1(speed_mps / (engineGroups[group]!.ispVacuum_s * G0_mps2));
  const landing_kg = landed * grow(allowance.landingGroup, allowance.landing_mps);
  const deorbit_kg = (landed + landing_kg) * grow(allowance.deorbitGroup, allowance.deorbit_mps);
  return { deorbit_kg, landing_kg };
}
