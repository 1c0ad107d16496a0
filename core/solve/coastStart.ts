/**
 * A start for a solve whose last burn comes after a coast, so that it needs no guess. The ascent up to the cut before the
 * coast is solved by itself, to an ellipse from a parking height up to where the target is entered, with the propellant of the
 * last burn kept aboard; the coast then takes it to the far end of that ellipse, where the last burn makes up the speed that
 * is wanting. What comes out is nearly feasible; closing and the optimum are the programme's business.
 */
import { G0_mps2 } from '../constants/physical.ts';
import type { SequenceEvent } from '../contract/sequence.ts';
import type { Study } from '../contract/study.ts';
import { PAYLOAD, recompile, type CompiledStudy } from '../flight/compile.ts';
import { FlightEngine } from '../flight/engine.ts';
import { PlanError } from '../flight/planTypes.ts';
import type { Coast } from './coast.ts';
import { close, type ColdStart } from './coldStart.ts';
import type { PayloadOptions, PayloadOutcome } from './outcome.ts';
import { OrbitTarget } from './target.ts';

/** Height of the near end of the ellipse, m, unless the target or a limit has another: 100 nautical miles, common practice. */
const PARKING_m = 185_200;
/** What a restart takes of the propellant beyond its ideal velocity, as a share. */
const MARGIN = 1.01;

/**
 * The start for a study with such a coast over the free parameters `free`, from `base` (SI, radians); `solve` solves the
 * ascent. Null when that comes to nothing. `stop` is asked between flights.
 */
export function coastStart(
  engine: FlightEngine,
  coast: Coast,
  free: readonly number[],
  base: Float64Array,
  solve: (compiled: CompiledStudy, options: PayloadOptions) => PayloadOutcome,
  stop: () => boolean = () => false,
): ColdStart | null {
  const { compiled } = engine;
  const { study } = compiled;
  const target = new OrbitTarget(study.target, compiled.earth);
  const earth_m = compiled.earth.radius_m;
  const cutId = study.sequence.events[coast.cut]!.id;
  const limit_m = study.limits?.altitudeAt?.find(({ event }) => event === cutId)?.least_m ?? PARKING_m;
  const near_m = Math.min(earth_m + limit_m, target.radius_m);
  const far_m = target.radius_m;
  const half_m = 0.5 * (near_m + far_m);
  const wanting_mps = target.speed_mps - Math.sqrt(target.gm_m3ps2 * (2 / far_m - 1 / half_m));
  const { thrustVacuum_N, ispVacuum_s, startUp, shutDown } =
    study.vehicle.bodies[coast.body]!.engineGroups[coast.group]!;
  const share = 1 - Math.exp((-MARGIN * wanting_mps) / (ispVacuum_s * G0_mps2));
  // As if it carried nothing at first: ascents that keep more differ little in what they bring up all in all.
  const last = compiled.plan.segments[compiled.plan.segments.length - 1]!;
  const empty_kg = last.bodies.reduce(
    (sum, b) => sum + compiled.bodies[b]!.dry_kg + compiled.bodies[b]!.protected_kg,
    0,
  );
  let kept_kg = (share * empty_kg) / (1 - share);
  let ascent: PayloadOutcome | null = null;
  let part: CompiledStudy | null = null;
  for (let again = 0; again < 2; again++) {
    if (stop()) return null;
    const shortened = ascentOf(compiled, coast, kept_kg, {
      perigee_m: near_m - earth_m,
      apogee_m: far_m - earth_m,
    });
    try {
      part = recompile(part ?? compiled, shortened);
    } catch (error) {
      if (error instanceof PlanError) return null;
      throw error;
    }
    const memory = ascent?.memory ?? null;
    ascent = solve(part, memory === null ? { stop } : { memory, stop });
    if (ascent.status !== 'converged') return null;
    kept_kg = share * ascent.finalMass_kg;
  }
  const values = Float64Array.from(base);
  takeOver(part!, ascent!.values, compiled, values);
  const flow_kgps = (coast.engines * coast.throttle * thrustVacuum_N) / (ispVacuum_s * G0_mps2);
  const burn_s = kept_kg / flow_kgps;
  const up_s = startUp.delay_s + 0.5 * startUp.ramp_s;
  const down_s = shutDown.delay_s + 0.5 * shutDown.ramp_s;
  const set = (event: number, time_s: number): void => {
    const p = compiled.timed.find((each) => compiled.parameters[each]!.event === event);
    if (p === undefined) return;
    const { lower, upper } = compiled.parameters[p]!;
    values[p] = Math.min(upper, Math.max(lower, time_s));
  };
  const ascended = new FlightEngine(part!);
  if (ascended.fly(ascent!.values) !== 'flown') return null;
  const flown = ascended.plan;
  set(coast.cut, flown.dueTimes_s[part!.study.sequence.events.findIndex(({ id }) => id === cutId)]!);
  if (far_m > near_m) {
    const halfTurn_s = Math.PI * Math.sqrt(half_m ** 3 / target.gm_m3ps2);
    const light_s = flown.insertion_s + halfTurn_s - 0.5 * burn_s - up_s;
    set(coast.light, light_s);
    set(coast.end, light_s + up_s + burn_s - down_s);
  } else {
    // Anywhere on the circle will do.
    const light_s = compiled.plan.eventTimes_s[coast.light]!;
    set(coast.end, light_s + up_s + burn_s - down_s);
  }
  return close(engine, free, values, stop) ?? { values, feasible: false };
}

/** The study's ascent up to the cut before the coast, to this ellipse, with so much propellant beyond reserves left (kg). */
function ascentOf(
  { study, bodies, plan }: CompiledStudy,
  { cut, body }: Coast,
  kept_kg: number,
  ellipse: { readonly perigee_m: number; readonly apogee_m: number },
): Study {
  const { events } = study.sequence;
  const cut_s = plan.eventTimes_s[cut]!;
  let own = events.filter(
    (event, i) => i === cut || !(plan.eventTimes_s[i]! > cut_s || event.id === study.sequence.finalCutoff),
  );
  for (let before = -1; before !== own.length;) {
    before = own.length;
    own = own.filter(({ trigger, action }) =>
      [...waitsFor(trigger), ...(action.kind === 'endHold' ? [action.hold] : [])].every((id) =>
        own.some((event) => event.id === id),
      ),
    );
  }
  const { protected_kg } = bodies.find(({ id }) => id === body)!;
  const { inclination_deg, ascendingNode_deg } = study.target;
  const { limits: _limits, ...others } = study;
  return {
    ...others,
    target: {
      ...ellipse,
      ...(inclination_deg === undefined ? {} : { inclination_deg }),
      ...(ascendingNode_deg === undefined ? {} : { ascendingNode_deg }),
    },
    goal: 'mostPayload',
    sequence: {
      ...study.sequence,
      finalCutoff: events[cut]!.id,
      events: own.map((event) =>
        event.id === events[cut]!.id
          ? { ...event, trigger: { kind: 'propellant', body, left: { mass_kg: protected_kg + kept_kg } } }
          : event,
      ),
    },
  };
}

/** The events that a trigger names. */
function waitsFor(trigger: SequenceEvent['trigger']): readonly string[] {
  switch (trigger.kind) {
    case 'after':
      return trigger.events;
    case 'before':
      return [trigger.event];
    case 'gap':
      return [trigger.cutoff];
    default:
      return [];
  }
}

/** Takes over the values (SI, radians) of the numbers that both studies have; the payload only where it is free there. */
function takeOver(from: CompiledStudy, values: Float64Array, to: CompiledStudy, out: Float64Array): void {
  to.parameters.forEach(({ path, free }, p) => {
    const own = from.parameters.findIndex((parameter) => parameter.path === path);
    if (own >= 0 && (free || p !== PAYLOAD)) out[p] = values[own]!;
  });
}
