/** A study made ready to be flown thousands of times: plan, tables and parameters; the numbers to be solved for stand out. */
import { EARTH_J2 } from '../constants/physical.ts';
import type { Study } from '../contract/study.ts';
import type { Atmosphere } from '../earth/atmosphere/atmosphere.ts';
import { ExponentialAtmosphere, NoAtmosphere } from '../earth/atmosphere/simple.ts';
import { Us1976Atmosphere } from '../earth/atmosphere/us1976.ts';
import { earthConstants, type EarthConstants } from '../earth/earthConstants.ts';
import { sphereFigure, WGS84_FIGURE } from '../earth/figure.ts';
import { centralGravity, Gravity, OBLATE_GRAVITY } from '../earth/gravity.ts';
import { WindProfile } from '../earth/wind.ts';
import { compileDrag, type DragTable } from '../vehicle/drag.ts';
import { compileBodies, type CompiledBody } from '../vehicle/structure.ts';
import { lawNumbers, makeLaw } from './compileLaw.ts';
import { siteAtRelease, type SiteState } from './launch.ts';
import { MOST_MACH_NODES, type MotionSetting } from './motion.ts';
import { findUnknowns, type Unknown } from './closing.ts';
import { dependsOnState, planFlight } from './plan.ts';
import type { Parameter } from './parameter.ts';
import { PlanError, type FlightPlan } from './planTypes.ts';
import type { AirAtRelease } from './pushes.ts';
import type { SteeringLaw } from './steering/law.ts';

const RAD_PER_DEG = Math.PI / 180;
/** No flight comes so far beyond a wind profile, m. */
const OUT_OF_REACH_m = 1e9;

export type { Parameter } from './parameter.ts';

export const PAYLOAD = 0;
export const AZIMUTH = 1;

export interface CompiledStudy {
  readonly study: Study;
  readonly bodies: readonly CompiledBody[];
  readonly plan: FlightPlan;
  /** Drag (N) that springs work against at release, where a flight has told it. */
  readonly air: AirAtRelease | undefined;
  /** Whether the plan holds only as long as no state trigger comes about and no limit is reached. */
  readonly waits: boolean;
  /** Whether limits are held, so that mass depends on the flight. */
  readonly holds: boolean;
  /** What each flight must bring to agree with itself. */
  readonly unknowns: readonly Unknown[];
  /** Indices of the parameters that are times of events; where there are any, the plan is that of their start values. */
  readonly timed: readonly number[];
  /** The body (index) whose return reserve is a parameter, the last one; −1 when none is. */
  readonly keeper: number;
  readonly drags: readonly DragTable[];
  /** Constants of the Earth. */
  readonly earth: EarthConstants;
  readonly setting: MotionSetting;
  readonly site: SiteState;
  readonly parameters: readonly Parameter[];
  /** Fresh law objects by event index; one set a flying engine, since laws keep state. */
  readonly makeLaws: () => (SteeringLaw | null)[];
}

/**
 * Compiles a validated study. With `keeper`, a body (id), its return reserve (kg) becomes the last parameter, which no
 * solve of the ascent alone moves. Throws PlanError, naming the path, when its sequence cannot be flown; see `planFlight`.
 */
export function compileStudy(study: Study, keeper?: string): CompiledStudy {
  return compileWith(study, null, undefined, keeper);
}

function compileWith(
  study: Study,
  known: MotionSetting | null,
  air: AirAtRelease | undefined,
  keeper: string | undefined,
): CompiledStudy {
  const earth = earthConstants(study.earth);
  const bodies = compileBodies(study.vehicle);
  const plan = planFlight(study, bodies, air);
  const waits = dependsOnState(study);
  const parameters: Parameter[] = [];
  const flown = plan.segments.findIndex((segment) => !segment.held);
  const add = (parameter: Omit<Parameter, 'firstSegment'>): void => {
    const own = plan.segments.findIndex((segment) => segment.lawEvent === parameter.event);
    parameters.push({ ...parameter, firstSegment: parameter.event < 0 || own < flown ? flown : own });
  };
  add({
    path: 'payload.mass_kg',
    name: 'payload',
    unit: 'kg',
    perUnit: 1,
    kind: 'payload',
    event: -1,
    free: (study.goal ?? 'mostPayload') === 'mostPayload',
    value: study.payload.mass_kg,
    scale: 0.01 * plan.liftoffMass_kg,
    lower: 0,
    upper: plan.liftoffMass_kg,
  });
  add({
    path: 'sequence.launchAzimuth_deg',
    name: 'launch azimuth',
    unit: 'deg',
    perUnit: RAD_PER_DEG,
    kind: 'azimuth',
    event: -1,
    free: study.target.inclination_deg !== undefined,
    value: study.sequence.launchAzimuth_deg * RAD_PER_DEG,
    scale: RAD_PER_DEG,
    // A turn beyond north to either side, so that a solve may pass through it.
    lower: -360 * RAD_PER_DEG,
    upper: 720 * RAD_PER_DEG,
  });
  study.sequence.events.forEach((event, index) => {
    if (event.action.kind !== 'steer') return;
    for (const number of lawNumbers(event.action.law)) {
      const { key, ...rest } = number;
      add({
        ...rest,
        path: `sequence.events.${event.id}.action.law.${key}`,
        kind: 'law',
        event: index,
        // What waits for a state trigger has no time yet.
        free: rest.free && (waits || !Number.isNaN(plan.eventTimes_s[index]!)),
      });
    }
  });
  study.sequence.events.forEach(({ id, name, trigger }, index) => {
    if (trigger.kind !== 'time' || trigger.free === undefined) return;
    const { earliest_s, latest_s } = trigger.free;
    if (earliest_s < plan.release_s) {
      throw new PlanError(
        `sequence.events.${id}.trigger.free.earliest_s`,
        `received ${earliest_s}, allowed is ${plan.release_s} or later, when the vehicle is released`,
      );
    }
    parameters.push({
      path: `sequence.events.${id}.trigger.time_s`,
      name: `time of ${name}`,
      unit: 's',
      perUnit: 1,
      kind: 'time',
      event: index,
      free: true,
      value: trigger.time_s,
      scale: 1,
      lower: earliest_s,
      upper: latest_s,
      firstSegment: flown,
    });
  });
  const keeps = bodies.findIndex(({ id }) => id === keeper);
  if (keeps >= 0) parameters.push(reserveParameter(bodies[keeps]!, plan, flown));
  return {
    study,
    bodies,
    plan,
    air,
    keeper: keeps,
    waits,
    holds: study.sequence.events.some(
      ({ action }) => action.kind === 'hold' && action.limit.kind === 'sensedAcceleration',
    ),
    unknowns: waits ? findUnknowns(study) : [],
    timed: parameters.flatMap(({ kind }, index) => (kind === 'time' ? [index] : [])),
    drags: compileDrags(study.vehicle.aerodynamics),
    earth,
    setting: known ?? makeSetting(study.earth),
    site: siteAtRelease(study.site, study.earth.figure, plan.release_s, earth),
    parameters,
    makeLaws: () =>
      study.sequence.events.map((event, index) => {
        if (event.action.kind !== 'steer') return null;
        return makeLaw(
          event.action.law,
          parameters.findIndex((parameter) => parameter.kind === 'law' && parameter.event === index),
          earth.rotation_radps,
        );
      }),
  };
}

/** The return reserve of a body, out of a load that stays as it is, kg. */
function reserveParameter({ id, data }: CompiledBody, plan: FlightPlan, firstSegment: number): Parameter {
  const { usable_kg, returnReserve_kg } = data.propellant!;
  return {
    path: `vehicle.bodies.${id}.propellant.returnReserve_kg`,
    name: `return reserve of ${data.name}`,
    unit: 'kg',
    perUnit: 1,
    kind: 'reserve',
    event: -1,
    free: false,
    value: returnReserve_kg,
    scale: 0.01 * plan.liftoffMass_kg,
    lower: 0,
    upper: usable_kg + returnReserve_kg,
    firstSegment,
  };
}

/** The parameter values of the study as it stands: SI and radians, in the order of `parameters`. */
export function startValues(compiled: CompiledStudy): Float64Array {
  return Float64Array.from(compiled.parameters, (parameter) => parameter.value);
}

/**
 * The same study under other numbers of one kind: only what follows from them is made again. `air` is the drag (N) that
 * springs work against at release; `keeper` the body (id) whose return reserve is a parameter, null for none, the same as
 * before when left out. Throws as `compileStudy`.
 */
export function recompile(
  compiled: CompiledStudy,
  study: Study,
  air: AirAtRelease | undefined = compiled.air,
  keeper: string | null = compiled.bodies[compiled.keeper]?.id ?? null,
): CompiledStudy {
  // An atmosphere costs milliseconds to tabulate and depends on its own entry alone.
  const same = JSON.stringify(study.earth) === JSON.stringify(compiled.study.earth);
  return compileWith(study, same ? compiled.setting : null, air, keeper ?? undefined);
}

function compileDrags(arrangements: Study['vehicle']['aerodynamics']): DragTable[] {
  return arrangements.map((data, i) => {
    const { length } = data.dragCoefficient.mach;
    if (length > MOST_MACH_NODES) {
      throw new PlanError(
        `vehicle.aerodynamics.${i}.dragCoefficient.mach`,
        `received ${length} Mach numbers, allowed is ${MOST_MACH_NODES} at most`,
      );
    }
    return compileDrag(data);
  });
}

function makeGravity(earth: Study['earth']): Gravity {
  const { gm_m3ps2, radius_m } = earthConstants(earth);
  if (earth.gravity === 'central') return centralGravity(gm_m3ps2);
  return earth.constants === undefined ? OBLATE_GRAVITY : new Gravity(gm_m3ps2, EARTH_J2, radius_m);
}

function makeSetting(earth: Study['earth']): MotionSetting {
  const { radius_m, rotation_radps } = earthConstants(earth);
  return {
    gravity: makeGravity(earth),
    figure: earth.figure === 'ellipsoid' ? WGS84_FIGURE : sphereFigure(radius_m),
    rotation_radps,
    atmosphere: makeAtmosphere(earth.atmosphere),
    wind: earth.wind === undefined ? null : makeWind(earth.wind),
  };
}

function makeAtmosphere(data: Study['earth']['atmosphere']): Atmosphere {
  switch (data.kind) {
    case 'us1976':
      return new Us1976Atmosphere();
    case 'exponential':
      return new ExponentialAtmosphere({
        density0_kgpm3: data.seaLevelDensity_kgpm3,
        scaleHeight_m: data.scaleHeight_m,
        pressure_Pa: data.pressure_Pa,
        soundSpeed_mps: data.soundSpeed_mps,
      });
    case 'none':
      return new NoAtmosphere();
  }
}

/** The study holds the wind beyond its outermost heights, the profile does not: so they are repeated out of reach. */
function makeWind(nodes: NonNullable<Study['earth']['wind']>): WindProfile {
  const lowest = nodes[0]!;
  const highest = nodes[nodes.length - 1]!;
  const all = [
    { ...lowest, height_m: lowest.height_m - OUT_OF_REACH_m },
    ...nodes,
    { ...highest, height_m: highest.height_m + OUT_OF_REACH_m },
  ];
  return new WindProfile(
    all.map((node) => node.height_m),
    all.map((node) => node.eastward_mps),
    all.map((node) => node.northward_mps),
  );
}
