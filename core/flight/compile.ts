/** A study made ready to be flown thousands of times: plan, tables and parameters; the numbers to be solved for stand out. */
import type { Study } from '../contract/study.ts';
import type { SteeringLaw as LawData } from '../contract/sequence.ts';
import type { Atmosphere } from '../earth/atmosphere/atmosphere.ts';
import { ExponentialAtmosphere, NoAtmosphere } from '../earth/atmosphere/simple.ts';
import { Us1976Atmosphere } from '../earth/atmosphere/us1976.ts';
import { sphereFigure, WGS84_FIGURE } from '../earth/figure.ts';
import { centralGravity, OBLATE_GRAVITY } from '../earth/gravity.ts';
import { WindProfile } from '../earth/wind.ts';
import { compileDrag, type DragTable } from '../vehicle/drag.ts';
import { compileBodies, type CompiledBody } from '../vehicle/structure.ts';
import { siteAtRelease, type SiteState } from './launch.ts';
import { MOST_MACH_NODES, type MotionSetting } from './motion.ts';
import { findUnknowns, type Unknown } from './closing.ts';
import { dependsOnState, planFlight } from './plan.ts';
import { PlanError, type FlightPlan } from './planTypes.ts';
import type { AirAtRelease } from './pushes.ts';
import { HoldInPlaneLaw } from './steering/holdInPlane.ts';
import { KickLaw } from './steering/kick.ts';
import type { SteeringLaw } from './steering/law.ts';
import { LinearTangentLaw } from './steering/linearTangent.ts';
import { VerticalLaw } from './steering/vertical.ts';
import { YawedTangentLaw } from './steering/yawedTangent.ts';
import { ZeroAlphaLaw } from './steering/zeroAlpha.ts';
import { ZeroAlphaInPlaneLaw } from './steering/zeroAlphaInPlane.ts';

const RAD_PER_DEG = Math.PI / 180;
/** No flight comes so far beyond a wind profile, m. */
const OUT_OF_REACH_m = 1e9;

/** A number of the study that a flight reads at its start and a solve may change. */
export interface Parameter {
  /** Where it stands in the document. */
  readonly path: string;
  readonly name: string;
  /** Unit of the document: the compiled value times `perUnit` is SI or radians. */
  readonly unit: string;
  readonly perUnit: number;
  /** What steers: the payload, the booster phase before any upper stage burns alone, or later laws. */
  readonly kind: 'payload' | 'azimuth' | 'law';
  /** The event whose law the number belongs to, −1 for payload and azimuth. */
  readonly event: number;
  /** Whether a solve may change it. */
  readonly free: boolean;
  /** SI or radians. */
  readonly value: number;
  /** A change of this size matters; SI or radians. */
  readonly scale: number;
  readonly lower: number;
  readonly upper: number;
  /** First segment of the plan on which it acts. */
  readonly firstSegment: number;
}

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
  readonly drags: readonly DragTable[];
  readonly setting: MotionSetting;
  readonly site: SiteState;
  readonly parameters: readonly Parameter[];
  /** Fresh law objects by event index; one set a flying engine, since laws keep state. */
  readonly makeLaws: () => (SteeringLaw | null)[];
}

/**
 * Compiles a validated study. Throws PlanError, naming the path, when its sequence cannot be flown; see `planFlight`.
 */
export function compileStudy(study: Study): CompiledStudy {
  return compileWith(study, null, undefined);
}

function compileWith(
  study: Study,
  known: MotionSetting | null,
  air: AirAtRelease | undefined,
): CompiledStudy {
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
    free: true,
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
  return {
    study,
    bodies,
    plan,
    air,
    waits,
    holds: study.sequence.events.some(
      ({ action }) => action.kind === 'hold' && action.limit.kind === 'sensedAcceleration',
    ),
    unknowns: waits ? findUnknowns(study) : [],
    drags: compileDrags(study.vehicle.aerodynamics),
    setting: known ?? makeSetting(study.earth),
    site: siteAtRelease(study.site, study.earth.figure, plan.release_s),
    parameters,
    makeLaws: () =>
      study.sequence.events.map((event, index) => {
        if (event.action.kind !== 'steer') return null;
        return makeLaw(
          event.action.law,
          parameters.findIndex((parameter) => parameter.event === index),
        );
      }),
  };
}

/** The parameter values of the study as it stands: SI and radians, in the order of `parameters`. */
export function startValues(compiled: CompiledStudy): Float64Array {
  return Float64Array.from(compiled.parameters, (parameter) => parameter.value);
}

/**
 * The same study under other numbers of one kind: only what follows from them is made again. `air` is the drag (N) that
 * springs work against at release. Throws as `compileStudy`.
 */
export function recompile(
  compiled: CompiledStudy,
  study: Study,
  air: AirAtRelease | undefined = compiled.air,
): CompiledStudy {
  // An atmosphere costs milliseconds to tabulate and depends on its own entry alone.
  const same = JSON.stringify(study.earth) === JSON.stringify(compiled.study.earth);
  return compileWith(study, same ? compiled.setting : null, air);
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

function makeSetting(earth: Study['earth']): MotionSetting {
  return {
    gravity: earth.gravity === 'j2' ? OBLATE_GRAVITY : centralGravity(),
    figure: earth.figure === 'ellipsoid' ? WGS84_FIGURE : sphereFigure(),
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

/** The free numbers of a law, in the order in which its class takes their indices. */
function lawNumbers(
  law: LawData,
): (Omit<Parameter, 'path' | 'kind' | 'event' | 'firstSegment'> & { key: string })[] {
  switch (law.kind) {
    case 'vertical':
    case 'zeroAlpha':
    case 'zeroAlphaInPlane':
    case 'holdInPlane':
      return [];
    case 'kick':
      return [
        {
          key: 'angle_deg',
          name: 'kick angle',
          unit: 'deg',
          perUnit: RAD_PER_DEG,
          free: !law.held.includes('angle_deg'),
          value: law.angle_deg * RAD_PER_DEG,
          scale: RAD_PER_DEG,
          lower: 0,
          upper: 45 * RAD_PER_DEG,
        },
      ];
    case 'linearTangent':
      return [
        {
          key: 'a',
          name: 'tangent at start',
          unit: '',
          perUnit: 1,
          free: !law.held.includes('a'),
          value: law.a,
          scale: 1,
          lower: -100,
          upper: 100,
        },
        {
          key: 'b_per_s',
          name: 'tangent rate',
          unit: '1/s',
          perUnit: 1,
          free: !law.held.includes('b_per_s'),
          value: law.b_per_s,
          scale: 1e-3,
          lower: -1,
          upper: 1,
        },
      ];
    case 'yawedTangent':
      return [
        ...lawNumbers({ ...law, kind: 'linearTangent', held: law.held.filter((key) => key !== 'yaw_deg') }),
        {
          key: 'yaw_deg',
          name: 'yaw to the right',
          unit: 'deg',
          perUnit: RAD_PER_DEG,
          free: !law.held.includes('yaw_deg'),
          value: law.yaw_deg * RAD_PER_DEG,
          scale: RAD_PER_DEG,
          lower: -90 * RAD_PER_DEG,
          upper: 90 * RAD_PER_DEG,
        },
      ];
  }
}

function makeLaw(law: LawData, firstParameter: number): SteeringLaw {
  switch (law.kind) {
    case 'vertical':
      return new VerticalLaw();
    case 'zeroAlpha':
      return new ZeroAlphaLaw();
    case 'kick':
      return new KickLaw(firstParameter, law.duration_s);
    case 'linearTangent':
      return new LinearTangentLaw(firstParameter, firstParameter + 1);
    case 'zeroAlphaInPlane':
      return new ZeroAlphaInPlaneLaw();
    case 'holdInPlane':
      return new HoldInPlaneLaw();
    case 'yawedTangent':
      return new YawedTangentLaw(firstParameter, firstParameter + 1, firstParameter + 2);
  }
}
