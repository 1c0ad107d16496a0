/** A flown return as a path that can be stored and read: its steps and segments, and what steers it. */
import type { ReturnPlan } from '../contract/returns.ts';
import type { EarthFigure } from '../earth/figure.ts';
import { RECORD_ACCURACY } from '../flight/accuracy.ts';
import type { Segment } from '../flight/planTypes.ts';
import { FixedLaw } from '../flight/steering/fixed.ts';
import type { SteeringLaw } from '../flight/steering/law.ts';
import type { OwnLaws, Track } from '../flight/track.ts';
import { compileDrag, type DragTable } from '../vehicle/drag.ts';
import type { CompiledReturn } from './compile.ts';
import { ReturnEngine } from './engine.ts';
import type { ReturnPhase, ReturnSteering } from './legs.ts';
import type { ReturnStart } from './start.ts';
import { LandingLaw } from './steering/landing.ts';
import { RetrogradeLaw } from './steering/retrograde.ts';
import { TurnLaw } from './steering/turn.ts';

/** What a path needs beside its steps and segments, as plain data; directions are inertial unit vectors. */
export interface HomePath {
  /** Id of the plan in the study, and its name. */
  readonly plan: string;
  readonly name: string;
  /** By segment. */
  readonly legs: readonly {
    readonly phase: ReturnPhase;
    readonly steering: ReturnSteering;
    readonly tailFirst: boolean;
  }[];
  readonly held: Float64Array;
  readonly turned: Float64Array;
  readonly turnRate_radps: number;
  readonly turnStart_s: number;
  /** Tangents of the landing, see `LandingLaw`; its start and length. */
  readonly lean: Float64Array;
  readonly landingStart_s: number;
  readonly landingLength_s: number;
  readonly noseRadius_m: number;
  readonly limits: ReturnPlan['limits'];
  /** Null where the arrangement's own table holds tail first too. */
  readonly aerodynamics: NonNullable<ReturnPlan['aerodynamics']> | null;
}

/** Steering and drag of a stored path over a figure (m, s). */
export function homeLaws(path: HomePath, figure: EarthFigure): OwnLaws {
  const held = new FixedLaw(path.held);
  const aimed = new FixedLaw(path.turned);
  const turn = new TurnLaw(path.turnRate_radps);
  turn.from.set(path.held);
  turn.to.set(path.turned);
  turn.start(path.turnStart_s);
  const retrograde = new RetrogradeLaw();
  const landing = new LandingLaw(figure);
  landing.lean.set(path.lean);
  landing.length_s = path.landingLength_s;
  landing.start(path.landingStart_s);
  const laws: Record<ReturnSteering, SteeringLaw> = { held, turn, aimed, retrograde, landing };
  const tailFirst: DragTable | null = path.aerodynamics === null ? null : compileDrag(path.aerodynamics);
  return {
    lawOf: (segment) => laws[path.legs[segment]!.steering],
    dragOf: (segment) => (path.legs[segment]!.tailFirst ? tailFirst : null),
  };
}

/** A path with what steers it. */
export interface FlownHome {
  readonly track: Track;
  readonly path: HomePath;
}

/**
 * Flies a solved return once, finely, from a start, under the numbers of the return (SI, radians). `parted` is the first
 * segment of the ballistic piece that it stands in for, with what was on board then (kg). Null when it does not fly.
 */
export function flyHome(
  compiled: CompiledReturn,
  values: Float64Array,
  start: ReturnStart,
  id: string,
  bodies: readonly number[],
  parted: Segment,
): FlownHome | null {
  const engine = new ReturnEngine(compiled, RECORD_ACCURACY);
  if (engine.fly(values, start) !== 'flown') return null;
  const { legs, times_s, steps } = engine;
  const { body, plan } = compiled;
  let left_kg = parted.propellant_kg[body]!;
  const segments: Segment[] = [];
  const flown: HomePath['legs'][number][] = [];
  legs.forEach((leg, i) => {
    const start_s = times_s[i]!;
    const end_s = times_s[i + 1]!;
    // Nothing to draw, and two segments at one time could not be told apart.
    if (!(end_s > start_s)) return;
    const own = engine.segmentOf(i, start_s, end_s - start_s, engine.masses_kg[i]!, bodies);
    const propellant_kg = parted.propellant_kg.map((mass_kg, b) => (b === body ? left_kg : mass_kg));
    left_kg -= engine.burned_kg(leg, end_s - start_s);
    const burns = leg.throttled ? throttled(own.burns, engine.number('landingThrottle')) : own.burns;
    segments.push({ ...own, end_s, arrangement: parted.arrangement, propellant_kg, burns });
    flown.push({ phase: leg.phase, steering: leg.steering, tailFirst: leg.tailFirst });
  });
  const first = (steering: ReturnSteering): number =>
    times_s[legs.findIndex((leg) => leg.steering === steering)]!;
  const landing = engine.lawOf(legs.at(-1)!);
  const turn = engine.lawOf(legs.find((leg) => leg.steering === 'turn')!);
  if (!(landing instanceof LandingLaw) || !(turn instanceof TurnLaw))
    throw new Error('a flight home without a turn or a landing');
  return {
    track: {
      id,
      bodies,
      segments,
      steps,
      start_s: times_s[0]!,
      end_s: engine.endTime_s,
      end: 'touchdown',
      extra_kg: 0,
      heldAim: start.aim,
      heldTurn: null,
    },
    path: {
      plan: compiled.id,
      name: plan.name,
      legs: flown,
      held: start.aim,
      turned: turn.to.slice(),
      turnRate_radps: compiled.turnRate_radps,
      turnStart_s: first('turn'),
      lean: landing.lean.slice(),
      landingStart_s: first('landing'),
      landingLength_s: landing.length_s,
      noseRadius_m: plan.noseRadius_m,
      limits: plan.limits,
      aerodynamics: plan.aerodynamics ?? null,
    },
  };
}

/** Engines that burn at a share of what is said of them. */
function throttled(burns: Segment['burns'], share: number): Segment['burns'] {
  return burns.map((burn) => ({
    ...burn,
    thrust_N: share * burn.thrust_N,
    thrustRate_Nps: share * burn.thrustRate_Nps,
    flow_kgps: share * burn.flow_kgps,
    flowRate_kgps2: share * burn.flowRate_kgps2,
  }));
}
