/** The legs of a flight home: spans in which thrust, flow and exit area are linear in time, and what ends each. */
import { G0_mps2 } from '../constants/physical.ts';
import type { ReturnEdge, ReturnEngines } from '../contract/returns.ts';
import type { EngineGroup } from '../contract/vehicle.ts';
import type { Burn } from '../flight/planTypes.ts';
import { Transient } from '../vehicle/transient.ts';

export type ReturnPhase =
  'tailOff' | 'wait' | 'turn' | 'boostback' | 'coast' | 'entry' | 'descent' | 'landing';
export type ReturnSteering = 'held' | 'turn' | 'aimed' | 'retrograde' | 'landing';

/** How a leg ends. A number is an index into the numbers of the return. */
export type LegEnd =
  | { readonly kind: 'fixed'; readonly duration_s: number }
  /** When the turn is done. */
  | { readonly kind: 'turned' }
  /** After a time that is one of the numbers. */
  | { readonly kind: 'after'; readonly number: number }
  /** At a height, falling, that is one of the numbers. */
  | { readonly kind: 'height'; readonly number: number }
  | { readonly kind: 'edge'; readonly edge: Exclude<ReturnEdge, { kind: 'free' }>; readonly starts: boolean };

/** Thrust and flow at the start of the leg and their rates; at throttle 1 where it is `throttled`. */
export interface Leg {
  readonly phase: ReturnPhase;
  readonly steering: ReturnSteering;
  readonly end: LegEnd;
  readonly burns: readonly Burn[];
  readonly exitArea_m2: number;
  readonly exitAreaRate_m2ps: number;
  /** Whether the landing's throttle scales thrust and flow. */
  readonly throttled: boolean;
  /** Whether the drag is that of flying tail first. */
  readonly tailFirst: boolean;
}

/** A group of engines as it burns: how many, and how far open. */
interface Lit {
  readonly group: string;
  readonly engine: EngineGroup;
  readonly engines: number;
  readonly throttle: number;
}

/** The engines that a list means: all of a group where no number is given. Throttle as a share of vacuum thrust, dimensionless. */
export function litEngines(
  groups: Readonly<Record<string, EngineGroup>>,
  engines: ReturnEngines,
  throttle: number,
): Lit[] {
  return engines.map(({ group, engines: some }) => {
    const engine = groups[group]!;
    return { group, engine, engines: some ?? engine.count, throttle };
  });
}

/** Vacuum thrust (N), flow (kg/s) and exit area (m²) of engines at full burning. */
export function fullBurning(lit: readonly Lit[]): {
  thrust_N: number;
  flow_kgps: number;
  exitArea_m2: number;
} {
  let thrust_N = 0;
  let flow_kgps = 0;
  let exitArea_m2 = 0;
  for (const { engine, engines, throttle } of lit) {
    const thrust = engines * throttle * engine.thrustVacuum_N;
    thrust_N += thrust;
    flow_kgps += thrust / (engine.ispVacuum_s * G0_mps2);
    exitArea_m2 += engines * engine.exitArea_m2;
  }
  return { thrust_N, flow_kgps, exitArea_m2 };
}

type LegShape = Pick<Leg, 'phase' | 'steering' | 'throttled' | 'tailFirst'>;

/**
 * The legs of one burn of a body: its engines come up, burn until `end`, and go down; each span in which thrust is linear is
 * a leg. With `cutAtEnd` the cut is commanded so early that thrust begins to fall where the burn ends, and what is burned
 * after that is told by `tailOff_kg`. Times in s.
 */
export function burnLegs(
  body: number,
  lit: readonly Lit[],
  shape: LegShape,
  end: LegEnd,
  cutAtEnd: boolean,
): Leg[] {
  const up = spans(lit, (transient, engine) => transient.light(0, engine.startUp), []);
  const legs = up.map(({ from_s, to_s, transients }) =>
    makeLeg(body, lit, transients, from_s, shape, { kind: 'fixed', duration_s: to_s - from_s }),
  );
  const full = lit.map(() => new Transient([0], [1]));
  legs.push(makeLeg(body, lit, full, 0, shape, end));
  if (cutAtEnd) return legs;
  const down = spans(lit, (transient, engine) => transient.cut(0, engine.shutDown), [1]);
  for (const { from_s, to_s, transients } of down) {
    legs.push(makeLeg(body, lit, transients, from_s, shape, { kind: 'fixed', duration_s: to_s - from_s }));
  }
  return legs;
}

/** Propellant that engines at full burning take from where their thrust begins to fall, kg: half the ramp. */
export function tailOff_kg(lit: readonly Lit[]): number {
  return lit.reduce((sum, one) => sum + 0.5 * one.engine.shutDown.ramp_s * fullBurning([one]).flow_kgps, 0);
}

interface Span {
  readonly from_s: number;
  readonly to_s: number;
  readonly transients: readonly Transient[];
}

/** The spans between the kinks of all transients after a command at time 0; s. */
function spans(
  lit: readonly Lit[],
  command: (transient: Transient, engine: EngineGroup) => void,
  before: readonly number[],
): Span[] {
  const transients = lit.map(({ engine }) => {
    const transient = new Transient(
      before.map(() => -1),
      before,
    );
    command(transient, engine);
    return transient;
  });
  const found: Span[] = [];
  let from_s = 0;
  for (;;) {
    const to_s = Math.min(...transients.map((transient) => transient.nextBreak_s(from_s)));
    if (to_s === Number.POSITIVE_INFINITY) return found;
    found.push({ from_s, to_s, transients });
    from_s = to_s;
  }
}

function makeLeg(
  body: number,
  lit: readonly Lit[],
  transients: readonly Transient[],
  at_s: number,
  shape: LegShape,
  end: LegEnd,
): Leg {
  let exitArea_m2 = 0;
  let exitAreaRate_m2ps = 0;
  const burns = lit.flatMap((one, i): Burn[] => {
    const fraction = transients[i]!.at(at_s);
    const rate = transients[i]!.rateAfter_ps(at_s);
    if (fraction === 0 && rate === 0) return [];
    const full = fullBurning([one]);
    exitArea_m2 += full.exitArea_m2 * fraction;
    exitAreaRate_m2ps += full.exitArea_m2 * rate;
    return [
      {
        body,
        group: one.group,
        engines: one.engines,
        thrust_N: full.thrust_N * fraction,
        thrustRate_Nps: full.thrust_N * rate,
        flow_kgps: full.flow_kgps * fraction,
        flowRate_kgps2: full.flow_kgps * rate,
      },
    ];
  });
  return { ...shape, end, burns, exitArea_m2, exitAreaRate_m2ps };
}

/** A leg without thrust. */
export function quietLeg(shape: Omit<LegShape, 'throttled'>, end: LegEnd): Leg {
  return { ...shape, throttled: false, end, burns: [], exitArea_m2: 0, exitAreaRate_m2ps: 0 };
}
