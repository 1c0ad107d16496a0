/**
 * Events whose time the solve may move, and a return reserve that it may: the plan is made anew for every value of them. Plans follow from times and propellant
 * alone, so they are exact, and between two changes of the order of events smooth in the times.
 */
import type { CompiledStudy } from './compile.ts';
import { NO_HISTORY } from './history.ts';
import { Planning } from './plan.ts';
import type { FlightPlan } from './planTypes.ts';
import type { CompiledBody } from '../vehicle/structure.ts';

/** Plans of one compiled study under parameter values; keeps the last. Mission times in s. */
export class TimedPlans {
  /** By event: the time that the values give it, NaN for the others. */
  readonly happened_s: number[];
  /** As the plan has them: what one of them protects may be a parameter. */
  readonly bodies: readonly CompiledBody[];
  private readonly kept: { protected_kg: number } | null;
  /** What that body protects beside its return reserve, kg. */
  private readonly beside_kg: number;
  private plan: FlightPlan | null = null;
  private planning: Planning | null = null;

  constructor(private readonly compiled: CompiledStudy) {
    const { bodies, keeper } = compiled;
    this.happened_s = compiled.study.sequence.events.map(() => Number.NaN);
    const own = keeper < 0 ? null : { ...bodies[keeper]! };
    this.kept = own;
    this.beside_kg = own === null ? 0 : own.protected_kg - own.data.propellant!.returnReserve_kg;
    this.bodies = own === null ? bodies : bodies.map((body, i) => (i === keeper ? own : body));
  }

  /** Whether there is any such number. Unitless. */
  get any(): boolean {
    return this.compiled.timed.length > 0 || this.kept !== null;
  }

  /** The plan under parameter values (SI, radians). Throws PlanError when the sequence cannot be flown with those times. */
  at(values: Float64Array): FlightPlan {
    const { compiled } = this;
    if (!this.any) return compiled.plan;
    this.take(values);
    this.planning ??= new Planning(compiled.study, this.bodies, compiled.air);
    this.plan ??= this.planning.make({ ...NO_HISTORY, happened_s: this.happened_s }, compiled.waits);
    return this.plan;
  }

  /** Takes times and reserve from parameter values (SI, radians) without a plan of them. */
  take(values: Float64Array): void {
    const { compiled, happened_s, kept } = this;
    if (kept !== null) {
      const protected_kg = this.beside_kg + values[compiled.parameters.length - 1]!;
      if (protected_kg !== kept.protected_kg) this.plan = null;
      kept.protected_kg = protected_kg;
    }
    for (const parameter of compiled.timed) {
      const { event } = compiled.parameters[parameter]!;
      if (happened_s[event] !== values[parameter]) this.plan = null;
      happened_s[event] = values[parameter]!;
    }
  }
}

/** Whether two plans go through the same spans one by one, only at other times. Unitless. */
export function sameOrder(one: FlightPlan, other: FlightPlan): boolean {
  return (
    one.segments.length === other.segments.length &&
    one.segments.every((segment, i) => {
      const { lawEvent, fired, arrangement, burns } = other.segments[i]!;
      return (
        segment.lawEvent === lawEvent &&
        segment.arrangement === arrangement &&
        segment.burns.length === burns.length &&
        segment.fired.length === fired.length &&
        segment.fired.every((event, k) => event === fired[k])
      );
    })
  );
}

/** Propellant that the flight of a plan burns from its first command to insertion, all bodies, kg. */
export function burnedPropellant_kg({ segments }: FlightPlan): number {
  return segments.reduce((sum, { start_s, end_s, flow_kgps, flowRate_kgps2 }) => {
    const tau = end_s - start_s;
    return sum + tau * (flow_kgps + 0.5 * tau * flowRate_kgps2);
  }, 0);
}

/** Mass at the end of a plan with a payload, both in kg. */
export function endMass_kg({ segments }: FlightPlan, payload_kg: number): number {
  const last = segments[segments.length - 1]!;
  const tau = last.end_s - last.start_s;
  return last.mass_kg + payload_kg - tau * (last.flow_kgps + 0.5 * tau * last.flowRate_kgps2);
}

/** Propellant of a body (index) left at the end of a plan, kg. */
export function propellantLeft_kg({ segments }: FlightPlan, body: number): number {
  const last = segments[segments.length - 1]!;
  const tau = last.end_s - last.start_s;
  return last.burns.reduce(
    (left, burn) =>
      burn.body === body ? left - tau * (burn.flow_kgps + 0.5 * tau * burn.flowRate_kgps2) : left,
    last.propellant_kg[body]!,
  );
}
