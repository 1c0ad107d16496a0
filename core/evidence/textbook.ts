/** Published checks of staging and thrust: the rocket equation, stages in series, thrust against height. */
import type { Study } from '../contract/study.ts';
import type { Body } from '../contract/vehicle.ts';
import type { SequenceEvent } from '../contract/sequence.ts';
import { G0_mps2 } from '../constants/physical.ts';
import { Us1976Atmosphere } from '../earth/atmosphere/us1976.ts';
import { sphereFigure } from '../earth/figure.ts';
import { centralGravity } from '../earth/gravity.ts';
import { compileStudy, startValues } from '../flight/compile.ts';
import { Motion } from '../flight/motion.ts';
import { recordFlight } from '../flight/record.ts';
import { VerticalLaw } from '../flight/steering/vertical.ts';
import { findRoot } from '../math/roots.ts';
import { outcome, Rows, type EvidenceOutcome } from './rows.ts';

interface Sourced {
  readonly source: string;
  readonly status: string;
}

export interface PublishedStaging {
  readonly singleStage: Sourced & {
    readonly isp_s: number;
    readonly standardGravity_mps2: number;
    readonly idealVelocity_mps: number;
    readonly massRatio: string;
    readonly propellantFraction: string;
  };
  readonly equalStages: Sourced & {
    readonly structuralRatio: number;
    readonly exhaustSpeed_mps: number;
    readonly liftoffOverPayload: number;
    /** By number of stages, from one. */
    readonly idealVelocity_mps: readonly number[];
  };
  readonly threeStages: Sourced & {
    readonly isp_s: readonly number[];
    readonly payload_kg: number;
    readonly idealVelocity_mps: number;
    readonly structure_kg: readonly number[];
    readonly propellant_kg: readonly number[];
    readonly total_kg: number;
  };
  readonly nozzle: Sourced & {
    readonly thrust_N: number;
    readonly height_m: number;
    readonly pressure_Pa: number;
    readonly exitArea_m2: number;
    readonly seaLevelThrust_N: number;
  };
}

interface Stage {
  readonly structure_kg: number;
  readonly propellant_kg: number;
  readonly isp_s: number;
}

/** Thrust at ignition over the weight of what flies: enough to rise, whatever is burned. */
const LIVELY = 3;

/** A study whose stages burn one after the other, each let go when it is empty, straight up from the pole without air. */
function stack(stages: readonly Stage[], payload_kg: number): Study {
  const id = (i: number): string => `stage-${i + 1}`;
  const bodies: Record<string, Body> = {};
  const events: SequenceEvent[] = [
    { id: 'release', name: 'release', trigger: { kind: 'time', time_s: 0 }, action: { kind: 'release' } },
  ];
  stages.forEach((stage, i) => {
    const above = stages
      .slice(i)
      .reduce((sum, each) => sum + each.structure_kg + each.propellant_kg, payload_kg);
    bodies[id(i)] = {
      name: id(i),
      role: i === 0 ? 'booster' : 'upper',
      ...(i === 0 ? {} : { ridesOn: id(i - 1) }),
      dryMass_kg: stage.structure_kg,
      fittings: {},
      propellant: {
        usable_kg: stage.propellant_kg,
        residual_kg: 0,
        flightReserve_kg: 0,
        returnReserve_kg: 0,
      },
      engineGroups: {
        main: {
          name: 'main',
          count: 1,
          thrustVacuum_N: LIVELY * G0_mps2 * above,
          ispVacuum_s: stage.isp_s,
          exitArea_m2: 0,
          throttle: { least: 1, most: 1 },
          startUp: { delay_s: 0, ramp_s: 0 },
          shutDown: { delay_s: 0, ramp_s: 0 },
        },
      },
    };
    if (i > 0) {
      events.push({
        id: `part-${i + 1}`,
        name: 'parting',
        trigger: { kind: 'after', events: [`cut-${i}`], delay_s: 0 },
        action: { kind: 'part', link: id(i) },
      });
    }
    events.push(
      {
        id: `light-${i + 1}`,
        name: 'ignition',
        trigger: i === 0 ? { kind: 'time', time_s: 0 } : { kind: 'after', events: [`cut-${i}`], delay_s: 0 },
        action: { kind: 'light', body: id(i), group: 'main', throttle: 1 },
      },
      {
        id: `cut-${i + 1}`,
        name: 'cut-off',
        trigger: { kind: 'propellant', body: id(i), left: 'reserves' },
        action: { kind: 'cut', body: id(i), keep: 0 },
      },
    );
  });
  const ids = stages.map((_, i) => id(i));
  const together = [...ids.map((_, i) => ids.slice(i)), ...ids.slice(0, -1).map((each) => [each])];
  return {
    format: 1,
    title: `${stages.length} stages`,
    notes: '',
    earth: { gravity: 'central', figure: 'sphere', atmosphere: { kind: 'none' } },
    site: { name: 'pole', latitude_deg: 90, longitude_deg: 0, height_m: 0 },
    target: { perigee_m: 200_000, apogee_m: 200_000 },
    payload: { mass_kg: payload_kg, ridesOn: id(stages.length - 1) },
    vehicle: {
      name: 'stack',
      bodies,
      aerodynamics: together.map((each) => ({
        bodies: each,
        referenceArea_m2: 1,
        dragCoefficient: { mach: [0], value: [0], between: 'linear' as const },
      })),
    },
    sequence: { launchAzimuth_deg: 90, finalCutoff: `cut-${stages.length}`, events },
    provenance: {},
  };
}

/** Ideal velocity of a flight of the stack by its ledger, m/s; NaN when it is not flown. */
function flownIdealVelocity_mps(stages: readonly Stage[], payload_kg: number): number {
  const compiled = compileStudy(stack(stages, payload_kg));
  return recordFlight(compiled, startValues(compiled)).ledger?.ideal_mps ?? Number.NaN;
}

/** Ideal velocities (m/s) and masses of one, several and optimal stages, and thrust (N) against height. */
export function checkTextbook({
  singleStage,
  equalStages,
  threeStages,
  nozzle,
}: PublishedStaging): EvidenceOutcome {
  const single = new Rows(singleStage);
  const isp_s = (singleStage.isp_s * singleStage.standardGravity_mps2) / G0_mps2;
  const propellant_kg = 1000;
  const { plan, drags } = compileStudy(stack([{ structure_kg: 0, propellant_kg, isp_s }], 10));
  const miss = (left_kg: number): number =>
    flownIdealVelocity_mps([{ structure_kg: 0, propellant_kg, isp_s }], left_kg) -
    singleStage.idealVelocity_mps;
  const left_kg = findRoot(miss, 10, 30, 1e-6);
  const half = 'half a unit of the last printed digit';
  single.digits(
    'final over initial mass for 12 km/s',
    '',
    left_kg / (left_kg + propellant_kg),
    singleStage.massRatio,
    half,
    0.5,
  );
  single.digits(
    'propellant fraction for 12 km/s',
    '',
    propellant_kg / (left_kg + propellant_kg),
    singleStage.propellantFraction,
    half,
    0.5,
  );

  const equal = new Rows(equalStages);
  const c_s = equalStages.exhaustSpeed_mps / G0_mps2;
  const exact = 'the flight’s quadrature of thrust over mass: 1e-11 a step';
  equalStages.idealVelocity_mps.forEach((published, i) => {
    const count = i + 1;
    const share = (1 / equalStages.liftoffOverPayload) ** (1 / count);
    const stages = Array.from({ length: count }, (_, k): Stage => {
      const mass = equalStages.liftoffOverPayload * 1000 * share ** k * (1 - share);
      const structure_kg = equalStages.structuralRatio * mass;
      return { structure_kg, propellant_kg: mass - structure_kg, isp_s: c_s };
    });
    equal.compare({
      quantity: `ideal velocity of ${count} equal ${count === 1 ? 'stage' : 'stages'}`,
      unit: 'm/s',
      published,
      ours: flownIdealVelocity_mps(stages, 1000),
      tolerance: 1e-5,
      why: exact,
    });
  });

  const best = new Rows(threeStages);
  const stages = threeStages.isp_s.map((isp, i): Stage => ({
    isp_s: isp,
    structure_kg: threeStages.structure_kg[i]!,
    propellant_kg: threeStages.propellant_kg[i]!,
  }));
  best.compare({
    quantity: 'ideal velocity of the optimal three stages',
    unit: 'm/s',
    published: threeStages.idealVelocity_mps,
    ours: flownIdealVelocity_mps(stages, threeStages.payload_kg),
    tolerance: 1e-5,
    why: exact,
  });
  best.compare({
    quantity: 'their mass at lift-off',
    unit: 'kg',
    published: threeStages.total_kg,
    ours: compileStudy(stack(stages, threeStages.payload_kg)).plan.liftoffMass_kg + threeStages.payload_kg,
    tolerance: 1e-6,
    why: 'sums of doubles',
  });

  const thrust = new Rows(nozzle);
  const vacuum_N = nozzle.thrust_N + nozzle.pressure_Pa * nozzle.exitArea_m2;
  const figure = sphereFigure();
  const motion = new Motion(
    { gravity: centralGravity(), figure, atmosphere: new Us1976Atmosphere(), wind: null },
    false,
  );
  const [segment] = plan.segments;
  const law = new VerticalLaw();
  const netAt_N = (height_m: number): number => {
    const y = Float64Array.of(figure.equatorialRadius_m + height_m, 0, 0, 0, 0, 0);
    law.start(0, y, { up: Float64Array.of(1, 0, 0), ahead: Float64Array.of(0, 1, 0) });
    motion.enter({ ...segment!, thrust_N: vacuum_N, exitArea_m2: nozzle.exitArea_m2 }, 0, drags[0]!, law);
    motion.choosePiece(0, y);
    motion.derivative(0, y, new Float64Array(6));
    return motion.thrustNet_N;
  };
  thrust.compare({
    quantity: 'thrust at 10 km',
    unit: 'N',
    published: nozzle.thrust_N,
    ours: netAt_N(nozzle.height_m),
    tolerance: 11,
    why: 'the air’s pressure is printed to 100 Pa: 50 Pa on 0.205 m²',
  });
  thrust.compare({
    quantity: 'thrust at sea level',
    unit: 'N',
    published: nozzle.seaLevelThrust_N,
    ours: netAt_N(0),
    tolerance: 65,
    why: 'printed to 100 N: 50 N; 50 Pa of pressure on the exit, 11 N; four digits of its area, 4 N',
  });
  return outcome(
    'textbook',
    'Rocket equation, staging and thrust against height',
    'Worked examples, flown as studies made for the purpose.',
    [single, equal, best, thrust].flatMap((each) => each.rows),
    ['What happens inside an engine (chamber, nozzle flow) is not part of this program and not checked.'],
  );
}
