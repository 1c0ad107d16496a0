/** Tanks as cylinders: what each holds at the start and later, and how high the liquid stands. */
import type { Tank } from '../contract/parting.ts';
import type { Body } from '../contract/vehicle.ts';
import { FLUIDS } from '../constants/fluids.ts';

/** Oxidiser and fuel of a body, kg. */
export interface Sides {
  readonly oxidiser_kg: number;
  readonly fuel_kg: number;
}

/** Splits a mass of propellant (kg) by mixture ratio, oxidiser over fuel by mass (dimensionless, positive). */
export function splitByMixture(mass_kg: number, mixtureRatio: number): Sides {
  const fuel_kg = mass_kg / (1 + mixtureRatio);
  return { oxidiser_kg: mass_kg - fuel_kg, fuel_kg };
}

/** Volume of a tank, m³; of the cylinder πR²L where the length is given. */
function tankVolume_m3(tank: Tank): number {
  return tank.volume_m3 ?? Math.PI * tank.radius_m * tank.radius_m * (tank.length_m ?? 0);
}

/** Length of a tank taken as a right cylinder, m. */
export function tankLength_m(tank: Tank): number {
  return tank.length_m ?? (tank.volume_m3 ?? 0) / (Math.PI * tank.radius_m * tank.radius_m);
}

/** What a tank holds at one time. */
export interface TankFill {
  readonly id: string;
  readonly tank: Tank;
  readonly mass_kg: number;
  /** Liquid over tank volume; above 1 the tank is too small. */
  readonly fill: number;
  /** Height of the settled liquid and of the gas above it, m. */
  readonly liquid_m: number;
  readonly ullage_m: number;
}

/**
 * What each tank of a body holds when its sides hold these masses (kg): tanks of one side share it by volume. Lengths in
 * m along the axis. An empty list for a body without tanks.
 */
export function fillTanks(body: Body, sides: Sides): TankFill[] {
  const tanks = Object.entries(body.tanks ?? {});
  const volumes = { oxidiser: 0, fuel: 0 };
  for (const [, tank] of tanks) volumes[tank.holds] += tankVolume_m3(tank);
  return tanks.map(([id, tank]) => {
    const side_kg = tank.holds === 'oxidiser' ? sides.oxidiser_kg : sides.fuel_kg;
    const volume_m3 = tankVolume_m3(tank);
    const mass_kg = (side_kg * volume_m3) / volumes[tank.holds];
    const fill = mass_kg / FLUIDS[tank.fluid].density_kgpm3 / volume_m3;
    const length_m = tankLength_m(tank);
    const liquid_m = Math.min(1, Math.max(0, fill)) * length_m;
    return { id, tank, mass_kg, fill, liquid_m, ullage_m: length_m - liquid_m };
  });
}
