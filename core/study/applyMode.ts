/** A way of staging applied to a study: its mechanisms in place of those that the link had. */
import type { Link, StagingMode } from '../contract/parting.ts';
import type { Study } from '../contract/study.ts';
import { mechanismMass_kg } from '../vehicle/structure.ts';

/**
 * The same study staged in another way: the link's mechanisms are replaced, fittings that only the old ones named are taken
 * off, and the flight feels the new ones unless `parting` says that bodies part without force. The rest is shared; gaps stay as
 * they are. Masses in kg.
 */
export function applyMode(study: Study, mode: StagingMode, parting: Link['parting'] = 'pushed'): Study {
  const bodies = { ...study.vehicle.bodies };
  const old = Object.values(bodies[mode.link]!.link?.mechanisms ?? {});
  const kept = Object.values(mode.mechanisms);
  for (const { body, fitting } of old) {
    if (fitting === undefined) continue;
    if (kept.some((each) => each.body === body && each.fitting === fitting)) continue;
    const { [fitting]: _gone, ...fittings } = bodies[body]!.fittings;
    bodies[body] = { ...bodies[body]!, fittings };
  }
  bodies[mode.link] = {
    ...bodies[mode.link]!,
    link: {
      parting,
      ...(mode.rim === undefined ? {} : { rim: mode.rim }),
      ...(mode.hold_s === undefined ? {} : { hold_s: mode.hold_s }),
      mechanisms: mode.mechanisms,
    },
  };
  return { ...study, vehicle: { ...study.vehicle, bodies } };
}

/** Mass that a way of staging carries on each body, by the body's id, kg: mechanisms, motors' propellant, named fittings. */
export function modeMasses_kg(study: Study, mode: StagingMode): Map<string, number> {
  const masses = new Map<string, number>();
  for (const mechanism of Object.values(mode.mechanisms)) {
    const fitting =
      mechanism.fitting === undefined
        ? 0
        : (study.vehicle.bodies[mechanism.body]!.fittings[mechanism.fitting]?.mass_kg ?? 0);
    const mass_kg = mechanismMass_kg(mechanism) + fitting;
    if (mass_kg > 0) masses.set(mechanism.body, (masses.get(mechanism.body) ?? 0) + mass_kg);
  }
  return masses;
}
