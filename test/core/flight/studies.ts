/** Studies that the flight's tests fly: the reference vehicle R1, variants of it, and small ones made on the spot. */
import { readFileSync } from 'node:fs';
import { loadStudy, validateStudy } from '../../../core/contract/load.ts';
import type { LoadResult } from '../../../core/contract/load.ts';
import type { SequenceEvent, SteeringLaw } from '../../../core/contract/sequence.ts';
import type { Study } from '../../../core/contract/study.ts';
import type { Aerodynamics, EngineGroup } from '../../../core/contract/vehicle.ts';
import type { CompiledStudy } from '../../../core/flight/compile.ts';
import type { LogEntry } from '../../../core/flight/log.ts';
import type { FlightRecord } from '../../../core/flight/record.ts';

const R1 = accepted(
  loadStudy(readFileSync(new URL('../../published/r1/r1.plumeline.json', import.meta.url), 'utf8')),
);

function accepted(result: LoadResult): Study {
  if (!result.ok) throw new Error(result.problems.map((problem) => problem.sentence).join('\n'));
  return result.study;
}

/** A study through the door that files come in by. */
function checked(document: unknown): Study {
  return accepted(validateStudy(document));
}

/** R1, changed in place by `change` and checked again. */
export function r1(change: (study: Study) => void = () => undefined): Study {
  const study = structuredClone(R1);
  change(study);
  return checked(study);
}

/** R1 with a ring that stays on the booster, a fairing, springs, residuals, a slow tail-off and an inclined target. */
export function ringed(): Study {
  return r1((study) => {
    const { booster, upper } = study.vehicle.bodies;
    const plain = { fittings: {}, engineGroups: {} };
    study.vehicle.bodies = {
      booster: {
        ...booster!,
        fittings: { springs: { name: 'springs', mass_kg: 900 } },
        propellant: {
          usable_kg: 1_362_000,
          residual_kg: 5000,
          flightReserve_kg: 0,
          returnReserve_kg: 113_000,
        },
      },
      ring: { ...plain, name: 'ring', role: 'ring', ridesOn: 'booster', dryMass_kg: 4000 },
      upper: { ...upper!, ridesOn: 'ring' },
      fairing: { ...plain, name: 'fairing', role: 'fairing', ridesOn: 'upper', dryMass_kg: 6000 },
    };
    study.vehicle.bodies.booster!.engineGroups.main!.shutDown = { delay_s: 0.1, ramp_s: 1 };
    const { dragCoefficient } = study.vehicle.aerodynamics[0]!;
    study.vehicle.aerodynamics = [
      { ...blunt(['booster', 'ring', 'upper', 'fairing'], 0, 50), dragCoefficient },
      {
        ...blunt(['upper', 'fairing'], 0, 50),
        dragCoefficient: { mach: [0, 5], value: [0.4, 0.3], between: 'monotoneCubic' },
      },
      blunt(['booster', 'ring'], 1, 50),
      blunt(['upper'], 0.4, 50),
      blunt(['fairing'], 0.9, 30),
    ];
    event(study, 'separation').trigger = { kind: 'after', events: ['meco'], delay_s: 2 };
    event(study, 'ignition').trigger = { kind: 'gap', cutoff: 'meco', gap_s: 3 };
    study.sequence.events.splice(
      -1,
      0,
      happening(
        'unveil',
        { kind: 'after', events: ['ignition'], delay_s: 40 },
        { kind: 'part', link: 'fairing' },
      ),
    );
    study.target.inclination_deg = 20;
  });
}

/** Another gap between R1's stages, s. */
export function r1WithGap(gap_s: number, change: (study: Study) => void = () => undefined): Study {
  return r1((study) => {
    event(study, 'ignition').trigger = { kind: 'gap', cutoff: 'meco', gap_s };
    change(study);
  });
}

/** An event of a study by its id. */
export function event(study: Study, id: string): SequenceEvent {
  const found = study.sequence.events.find((each) => each.id === id);
  if (found === undefined) throw new Error(`no event ${id}`);
  return found;
}

/** When an event comes about by the plan, s; NaN when never or in vain. */
export function plannedTime_s(compiled: CompiledStudy, id: string): number {
  return compiled.plan.eventTimes_s[compiled.study.sequence.events.findIndex((each) => each.id === id)]!;
}

/** The log's entry of an id. */
export function logged(record: FlightRecord, id: string): LogEntry {
  const found = record.log.find((entry) => entry.id === id);
  if (found === undefined) throw new Error(`nothing logged as ${id}`);
  return found;
}

/** One kind of engine; at once on and off unless told otherwise. */
export function engines(change: Partial<EngineGroup> = {}): EngineGroup {
  return {
    name: 'engines',
    count: 1,
    thrustVacuum_N: 3e5,
    ispVacuum_s: 300,
    exitArea_m2: 0,
    throttle: { least: 0.1, most: 1.5 },
    startUp: { delay_s: 0, ramp_s: 0 },
    shutDown: { delay_s: 0, ramp_s: 0 },
    ...change,
  };
}

/** The same drag coefficient at every Mach number. */
export function blunt(bodies: string[], coefficient = 0.3, area_m2 = 2): Aerodynamics {
  return {
    bodies,
    referenceArea_m2: area_m2,
    dragCoefficient: { mach: [0], value: [coefficient], between: 'linear' },
  };
}

/**
 * A vehicle of one body that rises from a place without turning of its own unless told otherwise: the pole, where the
 * ground is at rest. 20 t with 14 t of propellant, thrust 300 kN, no air, steering `law`; burns from 0 s until dry.
 */
export function sounding(
  law: SteeringLaw = { kind: 'vertical' },
  change: (study: Study) => void = () => undefined,
): Study {
  const study: Study = {
    format: 1,
    title: 'One body',
    notes: '',
    earth: { gravity: 'central', figure: 'sphere', atmosphere: { kind: 'none' } },
    site: { name: 'pole', latitude_deg: 90, longitude_deg: 0, height_m: 0 },
    target: { perigee_m: 200_000, apogee_m: 200_000 },
    payload: { mass_kg: 0, ridesOn: 'body' },
    vehicle: {
      name: 'One body',
      bodies: {
        body: {
          name: 'body',
          role: 'booster',
          dryMass_kg: 6000,
          fittings: {},
          propellant: { usable_kg: 14_000, residual_kg: 0, flightReserve_kg: 0, returnReserve_kg: 0 },
          engineGroups: { main: engines() },
        },
      },
      aerodynamics: [blunt(['body'])],
    },
    sequence: {
      launchAzimuth_deg: 90,
      finalCutoff: 'off',
      events: [
        happening(
          'on',
          { kind: 'time', time_s: 0 },
          { kind: 'light', body: 'body', group: 'main', throttle: 1 },
        ),
        happening('release', { kind: 'time', time_s: 0 }, { kind: 'release' }),
        happening('steering', { kind: 'time', time_s: 0 }, { kind: 'steer', law }),
        happening(
          'off',
          { kind: 'propellant', body: 'body', left: 'reserves' },
          { kind: 'cut', body: 'body', keep: 0 },
        ),
      ],
    },
    provenance: {},
  };
  change(study);
  return checked(study);
}

/** An event whose name is its id. */
export function happening(
  id: string,
  trigger: SequenceEvent['trigger'],
  action: SequenceEvent['action'],
): SequenceEvent {
  return { id, name: id, trigger, action };
}
