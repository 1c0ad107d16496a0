/** The tree of bodies: what rides on what, what falls away when a link is undone, and what everything weighs. */
import type { Mechanism } from '../contract/parting.ts';
import type { Body, Propellant, Vehicle } from '../contract/vehicle.ts';

export interface CompiledBody {
  readonly id: string;
  readonly name: string;
  readonly data: Body;
  /** Index of the body that carries this one, −1 for the lowest. */
  readonly parent: number;
  /** Dry mass with its fittings and mechanisms, full motors included, kg. */
  readonly dry_kg: number;
  /** Propellant on board at the start, all purposes, kg. */
  readonly load_kg: number;
  /** Propellant that the ascent must leave: residual and both reserves, kg. */
  readonly protected_kg: number;
}

/** Propellant that the ascent must leave on board: residual, flight reserve and return reserve, kg. */
export function protectedPropellant_kg(propellant: Propellant): number {
  return propellant.residual_kg + propellant.flightReserve_kg + propellant.returnReserve_kg;
}

/** Mass of a mechanism with its motors' propellant, without the fitting that it names, kg. */
export function mechanismMass_kg(mechanism: Mechanism): number {
  const motors = mechanism.kind === 'retro' || mechanism.kind === 'settling';
  return mechanism.mass_kg + (motors ? mechanism.count * mechanism.propellant_kg : 0);
}

function mechanisms_kg(vehicle: Vehicle, body: string): number {
  let sum = 0;
  for (const { link } of Object.values(vehicle.bodies)) {
    for (const mechanism of Object.values(link?.mechanisms ?? {})) {
      if (mechanism.body === body) sum += mechanismMass_kg(mechanism);
    }
  }
  return sum;
}

/**
 * The vehicle's bodies in file order, parents resolved, masses added up (kg).
 * Throws RangeError when a body rides on one that does not exist; the loader refuses such a file before.
 */
export function compileBodies(vehicle: Vehicle): CompiledBody[] {
  const ids = Object.keys(vehicle.bodies);
  return ids.map((id) => {
    const data = vehicle.bodies[id]!;
    const parent = data.ridesOn === undefined ? -1 : ids.indexOf(data.ridesOn);
    if (data.ridesOn !== undefined && parent < 0) {
      throw new RangeError(
        `vehicle.bodies.${id}.ridesOn is "${data.ridesOn}", which is none of the bodies ${ids.join(', ')}`,
      );
    }
    const fittings_kg = Object.values(data.fittings).reduce((sum, fitting) => sum + fitting.mass_kg, 0);
    const kept_kg = data.propellant === undefined ? 0 : protectedPropellant_kg(data.propellant);
    return {
      id,
      name: data.name,
      data,
      parent,
      dry_kg: data.dryMass_kg + fittings_kg + mechanisms_kg(vehicle, id),
      load_kg: data.propellant === undefined ? 0 : data.propellant.usable_kg + kept_kg,
      protected_kg: kept_kg,
    };
  });
}

/**
 * Splits a group of joined bodies at the link by which `link` rides on its carrier. Returns the part that rides away
 * (link and all that it carries) and the part that stays below, both as sorted body indices. Unitless.
 * Throws RangeError when the body is not in the group or its carrier is not.
 */
export function splitAtLink(
  bodies: readonly CompiledBody[],
  group: readonly number[],
  link: number,
): { above: number[]; below: number[] } {
  const body = bodies[link];
  if (body === undefined || !group.includes(link) || body.parent < 0 || !group.includes(body.parent)) {
    throw new RangeError(`the link "${body?.id ?? String(link)}" joins no two bodies that fly together`);
  }
  const rides = (index: number): boolean => {
    for (let i = index; i >= 0; i = bodies[i]!.parent) {
      if (i === link) return true;
      if (!group.includes(i)) return false;
    }
    return false;
  };
  return { above: group.filter((i) => rides(i)), below: group.filter((i) => !rides(i)) };
}
