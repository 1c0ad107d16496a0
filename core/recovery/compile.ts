/** A flight home made ready to be flown many times: its legs, its numbers, its place. */
import type { ReturnPlan } from '../contract/returns.ts';
import { geodeticToCartesian, eastNorthUp } from '../earth/ellipsoid.ts';
import { EARTH_EQUATORIAL_RADIUS_m } from '../constants/physical.ts';
import type { CompiledStudy } from '../flight/compile.ts';
import { PlanError, type FlightPlan } from '../flight/planTypes.ts';
import { compileDrag, type DragTable } from '../vehicle/drag.ts';
import { burnLegs, fullBurning, litEngines, quietLeg, tailOff_kg, type Leg, type LegEnd } from './legs.ts';

const RAD_PER_DEG = Math.PI / 180;
/** No free burn is shorter, s: a held step sequence is stretched, and nothing cannot be. */
const SHORTEST_s = 0.02;

/** What a number of a return stands for. */
export type ReturnRole =
  | 'reserve'
  | 'boostElevation'
  | 'boostAzimuth'
  | 'boostBurn'
  | 'entryHeight'
  | 'entryBurn'
  | 'landingHeight'
  | 'landingThrottle'
  | 'landingBurn'
  | 'leanEastStart'
  | 'leanNorthStart'
  | 'leanEastEnd'
  | 'leanNorthEnd';

/** A number of a flight home; SI and radians, as `Parameter` of a study. */
export interface ReturnNumber {
  readonly role: ReturnRole;
  readonly name: string;
  /** Unit for people: the value times `perUnit` is SI or radians. */
  readonly unit: string;
  readonly perUnit: number;
  readonly scale: number;
  readonly lower: number;
  readonly upper: number;
  /** First leg on which it acts, counted from the end of the tail-off. */
  readonly firstLeg: number;
}

/** The place to land. Earth-fixed position and axes (east, north, up of the figure), m. */
export interface LandingPlace {
  readonly position: Float64Array;
  readonly basis: Float64Array;
}

export interface CompiledReturn {
  readonly study: CompiledStudy;
  readonly id: string;
  readonly plan: ReturnPlan;
  readonly body: number;
  readonly ownDrag: DragTable;
  readonly tailFirstDrag: DragTable;
  readonly legs: readonly Leg[];
  readonly numbers: readonly ReturnNumber[];
  /** Index of each role among the numbers; −1 when the return has none of it. */
  readonly at: Readonly<Record<ReturnRole, number>>;
  /** Null for a landing wherever the path leads. */
  readonly place: LandingPlace | null;
  readonly height_m: number;
  readonly turnRate_radps: number;
  /** Landing thrust (N), flow (kg/s) and tail-off (kg) at throttle 1. */
  readonly landingThrust_N: number;
  readonly landingFlow_kgps: number;
  readonly landingTailOff_kg: number;
  /** What the ascent keeps for it, kg. */
  readonly reserve_kg: number;
}

/**
 * Makes a plan of a study's returns ready. Throws PlanError, naming the path, when there is no such plan, when its body does
 * not part from the flight that carries the payload by itself, or when something of it parts later. `flown` is the plan of a
 * flight in which state triggers have come about, where the study has some.
 */
export function compileReturn(
  study: CompiledStudy,
  id: string,
  flown: FlightPlan = study.plan,
): CompiledReturn {
  const plans = study.study.returns?.plans ?? {};
  const plan = plans[id];
  const path = `returns.plans.${id}`;
  if (plan === undefined) {
    const known = Object.keys(plans).join(', ');
    throw new PlanError(
      path,
      `there is no such return; allowed is ${known === '' ? 'none, as the study has none' : known}`,
    );
  }
  const body = study.bodies.findIndex((each) => each.id === plan.body);
  const branch = flown.branches.findIndex((each) => each.bodies.includes(body));
  const parted = flown.branches[branch];
  if (parted === undefined) {
    throw new PlanError(
      `${path}.body`,
      `received "${plan.body}", which nothing sets free; allowed is a body that a parting leaves behind`,
    );
  }
  if (parted.fromBranch >= 0 || flown.branches.some((each) => each.fromBranch === branch)) {
    throw new PlanError(
      `${path}.body`,
      `received "${plan.body}", which parts from, or loses, another freed piece; allowed is a body that parts once, from the flight with the payload`,
    );
  }
  const { engineGroups, propellant } = study.bodies[body]!.data;
  const last = parted.segments.at(-1);
  if (last === undefined || last.burns.length > 0) {
    throw new PlanError(
      `${path}.body`,
      `received "${plan.body}", whose engines never fall silent after its parting; allowed is a body that all is cut on`,
    );
  }
  const ownDrag = study.drags[last.arrangement]!;
  const { legs, firstLegs } = makeLegs(plan, engineGroups, body);
  const lit = litEngines(engineGroups, plan.landing.engines, 1);
  const { thrust_N, flow_kgps } = fullBurning(lit);
  const least = Math.max(...lit.map(({ engine }) => engine.throttle.least));
  const most = Math.min(...lit.map(({ engine }) => engine.throttle.most)) * (1 - plan.landing.margin);
  if (!(most > 0) || most < least) {
    throw new PlanError(
      `${path}.landing.margin`,
      `leaves a greatest throttle of ${most.toFixed(3)}, below the least of ${least}`,
    );
  }
  const numbers: ReturnNumber[] = [];
  const add = (number: Omit<ReturnNumber, 'firstLeg'>): void => {
    numbers.push({ ...number, firstLeg: firstLegs[number.role] ?? 0 });
  };
  const reserve_kg = propellant?.returnReserve_kg ?? 0;
  const angle = { unit: 'deg', perUnit: RAD_PER_DEG, scale: 5e-3 };
  const seconds = { unit: 's', perUnit: 1, lower: SHORTEST_s };
  // All that it loads.
  const upper = Math.max(reserve_kg + (propellant?.usable_kg ?? 0), 1000);
  add({ role: 'reserve', name: 'return reserve', unit: 'kg', perUnit: 1, scale: 1000, lower: 0, upper });
  if (plan.boostback !== undefined) {
    const quarter = 89 * RAD_PER_DEG;
    const turn = 720 * RAD_PER_DEG;
    add({ ...angle, role: 'boostElevation', name: 'boostback elevation', lower: -quarter, upper: quarter });
    add({ ...angle, role: 'boostAzimuth', name: 'boostback azimuth', lower: -turn, upper: turn });
    add({ ...seconds, role: 'boostBurn', name: 'boostback burn', scale: 0.2, upper: 1000 });
  }
  if (plan.entry?.start.kind === 'free') {
    add({
      role: 'entryHeight',
      name: 'entry burn starts at',
      unit: 'km',
      perUnit: 1000,
      scale: 1000,
      lower: 3000,
      upper: 150_000,
    });
  }
  if (plan.entry?.end.kind === 'free') {
    add({ ...seconds, role: 'entryBurn', name: 'entry burn', scale: 1, upper: 300 });
  }
  add({
    role: 'landingHeight',
    name: 'landing burn starts at',
    unit: 'm',
    perUnit: 1,
    scale: 50,
    lower: 20,
    upper: 30_000,
  });
  add({
    role: 'landingThrottle',
    name: 'landing throttle',
    unit: '',
    perUnit: 1,
    scale: 0.05,
    lower: least,
    upper: most,
  });
  add({ ...seconds, role: 'landingBurn', name: 'landing burn at full', scale: 0.5, upper: 300 });
  const lean = { unit: '', perUnit: 1, scale: 0.05, lower: -3, upper: 3 };
  add({ ...lean, role: 'leanEastStart', name: 'landing lean east, at start' });
  add({ ...lean, role: 'leanNorthStart', name: 'landing lean north, at start' });
  add({ ...lean, role: 'leanEastEnd', name: 'landing lean east, at end' });
  add({ ...lean, role: 'leanNorthEnd', name: 'landing lean north, at end' });
  const at = {} as Record<ReturnRole, number>;
  for (const role of ROLES) at[role] = numbers.findIndex((number) => number.role === role);
  return {
    study,
    id,
    plan,
    body,
    ownDrag,
    tailFirstDrag: plan.aerodynamics === undefined ? ownDrag : compileDrag(plan.aerodynamics),
    legs,
    numbers,
    at,
    ...placeOf(study, plan),
    turnRate_radps: plan.turn.pitchRate_degps * RAD_PER_DEG,
    landingThrust_N: thrust_N,
    landingFlow_kgps: flow_kgps,
    landingTailOff_kg: tailOff_kg(lit),
    reserve_kg,
  };
}

const ROLES: readonly ReturnRole[] = [
  'reserve',
  'boostElevation',
  'boostAzimuth',
  'boostBurn',
  'entryHeight',
  'entryBurn',
  'landingHeight',
  'landingThrottle',
  'landingBurn',
  'leanEastStart',
  'leanNorthStart',
  'leanEastEnd',
  'leanNorthEnd',
];

/** Where a number counts as part of the free ones by its role's place; the order is that of `numbers`, which is this one. */
const index = (plan: ReturnPlan, role: ReturnRole): number => {
  const present = ROLES.filter((each) => {
    if (each.startsWith('boost')) return plan.boostback !== undefined;
    if (each === 'entryHeight') return plan.entry?.start.kind === 'free';
    if (each === 'entryBurn') return plan.entry?.end.kind === 'free';
    return true;
  });
  return present.indexOf(role);
};

function makeLegs(
  plan: ReturnPlan,
  groups: Parameters<typeof litEngines>[0],
  body: number,
): { legs: Leg[]; firstLegs: Partial<Record<ReturnRole, number>> } {
  const legs: Leg[] = [];
  const firstLegs: Partial<Record<ReturnRole, number>> = {};
  const own = { throttled: false, tailFirst: false };
  const { turn, boostback, entry, landing } = plan;
  if (turn.wait_s > 0) {
    const end: LegEnd = { kind: 'fixed', duration_s: turn.wait_s };
    legs.push(quietLeg({ phase: 'wait', steering: 'held', tailFirst: false }, end));
  }
  const turned: LegEnd = { kind: 'turned' };
  firstLegs.boostElevation = legs.length;
  firstLegs.boostAzimuth = legs.length;
  if (turn.burn === undefined) {
    legs.push(quietLeg({ phase: 'turn', steering: 'turn', tailFirst: false }, turned));
  } else {
    const lit = litEngines(groups, turn.burn.engines, turn.burn.throttle);
    legs.push(...burnLegs(body, lit, { ...own, phase: 'turn', steering: 'turn' }, turned, false));
  }
  if (boostback !== undefined) {
    const lit = litEngines(groups, boostback.engines, boostback.throttle);
    const end: LegEnd = { kind: 'after', number: index(plan, 'boostBurn') };
    const burn = burnLegs(body, lit, { ...own, phase: 'boostback', steering: 'aimed' }, end, false);
    firstLegs.boostBurn = legs.length + burn.findIndex((leg) => leg.end === end);
    legs.push(...burn);
  }
  const coast = { phase: 'coast', steering: 'retrograde', tailFirst: true } as const;
  if (entry !== undefined) {
    const start: LegEnd =
      entry.start.kind === 'free'
        ? { kind: 'height', number: index(plan, 'entryHeight') }
        : { kind: 'edge', edge: entry.start, starts: true };
    firstLegs.entryHeight = legs.length;
    legs.push(quietLeg(coast, start));
    const lit = litEngines(groups, entry.engines, entry.throttle);
    const end: LegEnd =
      entry.end.kind === 'free'
        ? { kind: 'after', number: index(plan, 'entryBurn') }
        : { kind: 'edge', edge: entry.end, starts: false };
    const shape = { phase: 'entry', steering: 'retrograde', throttled: false, tailFirst: true } as const;
    const burn = burnLegs(body, lit, shape, end, false);
    firstLegs.entryBurn = legs.length + burn.findIndex((leg) => leg.end === end);
    legs.push(...burn);
  }
  firstLegs.landingHeight = legs.length;
  const phase = entry === undefined ? 'coast' : 'descent';
  legs.push(quietLeg({ ...coast, phase }, { kind: 'height', number: index(plan, 'landingHeight') }));
  const lit = litEngines(groups, landing.engines, 1);
  const shape = { phase: 'landing', steering: 'landing', throttled: true, tailFirst: true } as const;
  const first = legs.length;
  for (const role of ['landingThrottle', 'landingBurn'] as const) firstLegs[role] = first;
  for (const role of ['leanEastStart', 'leanNorthStart', 'leanEastEnd', 'leanNorthEnd'] as const)
    firstLegs[role] = first;
  legs.push(...burnLegs(body, lit, shape, { kind: 'after', number: index(plan, 'landingBurn') }, true));
  return { legs, firstLegs };
}

function placeOf(study: CompiledStudy, plan: ReturnPlan): { place: LandingPlace | null; height_m: number } {
  const { site, earth } = study.study;
  const { place } = plan;
  if (place.kind === 'downrange') return { place: null, height_m: place.height_m };
  const { latitude_deg, longitude_deg, height_m } = place.kind === 'launchSite' ? site : place;
  const position = new Float64Array(3);
  const basis = new Float64Array(9);
  const latitude = latitude_deg * RAD_PER_DEG;
  const longitude = longitude_deg * RAD_PER_DEG;
  eastNorthUp(latitude, longitude, basis);
  if (earth.figure === 'ellipsoid') geodeticToCartesian(latitude, longitude, height_m, position);
  else for (let i = 0; i < 3; i++) position[i] = (EARTH_EQUATORIAL_RADIUS_m + height_m) * basis[6 + i]!;
  return { place: { position, basis }, height_m };
}
