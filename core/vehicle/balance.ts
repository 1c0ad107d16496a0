/**
 * Where the mass of joined bodies lies along their axis: centre and moment of inertia, an estimate from outlines and tanks.
 * Dry mass is spread evenly over a body's length at its radius, liquid stands at the bottom of its tank, propellant of a
 * body without placed tanks is spread like the dry mass, and the payload sits on top of its body.
 */
import { fillTanks, splitByMixture } from './tanks.ts';
import type { CompiledBody } from './structure.ts';

/** A cylinder of even density: mass, middle above the lower end of the lowest body, length and radius. */
interface Lump {
  readonly mass_kg: number;
  readonly middle_m: number;
  readonly length_m: number;
  readonly radius_m: number;
}

export interface Balance {
  readonly mass_kg: number;
  /** Centre of mass above the lower end of the lowest body of the group. */
  readonly centre_m: number;
  /** About the centre of mass, across the axis. */
  readonly inertia_kgm2: number;
  readonly length_m: number;
}

/** What of a body's mass is where, kg. */
export interface BodyLoad {
  readonly dry_kg: number;
  readonly propellant_kg: number;
  /** Oxidiser over fuel by mass of what is left; that of loading when left out. */
  readonly mixtureRatio?: number;
}

/** A body whose outline is not known has no balance: names the path. */
export class BalanceError extends Error {
  readonly path: string;
  constructor(id: string) {
    super(
      `vehicle.bodies.${id}.shape: received nothing, allowed is an outline; without one nobody knows where the mass is`,
    );
    this.name = 'BalanceError';
    this.path = `vehicle.bodies.${id}.shape`;
  }
}

/** Lower ends of the bodies of a group above that of its lowest body, m; what hangs on the side stands level with it. */
export function stationsOf(bodies: readonly CompiledBody[], group: readonly number[]): Map<number, number> {
  const stations = new Map<number, number>();
  const place = (index: number): number => {
    const known = stations.get(index);
    if (known !== undefined) return known;
    const { parent, data } = bodies[index]!;
    const below = group.includes(parent) ? place(parent) : 0;
    const aside = data.role === 'strapOn' || !group.includes(parent);
    const station_m = aside ? below : below + lengthOf_m(bodies[parent]!);
    stations.set(index, station_m);
    return station_m;
  };
  for (const index of group) place(index);
  return stations;
}

/** Length of a body's outline, m. Throws BalanceError where it has none. */
export function lengthOf_m(body: CompiledBody): number {
  const length_m = body.data.shape?.length_m;
  if (length_m === undefined) throw new BalanceError(body.id);
  return length_m;
}

/**
 * Balance of a group of joined bodies (indices) under these loads (by body index), with a payload (kg) on one of them (its
 * index, −1 for none). Parallel-axis theorem over cylinders: I = Σ m (L²/12 + R²/4 + d²). Throws BalanceError.
 */
export function balanceOf(
  bodies: readonly CompiledBody[],
  group: readonly number[],
  loadOf: (body: number) => BodyLoad,
  payload: { readonly body: number; readonly mass_kg: number },
): Balance {
  const stations = stationsOf(bodies, group);
  const lumps: Lump[] = [];
  let top_m = 0;
  for (const index of group) {
    const { data } = bodies[index]!;
    const length_m = lengthOf_m(bodies[index]!);
    const radius_m = 0.5 * data.shape!.diameter_m;
    const station_m = stations.get(index)!;
    top_m = Math.max(top_m, station_m + length_m);
    const { dry_kg, propellant_kg, mixtureRatio } = loadOf(index);
    const ratio = mixtureRatio ?? data.mixtureRatio;
    const placed = Object.values(data.tanks ?? {}).every((tank) => tank.station_m !== undefined);
    const inTanks = ratio !== undefined && data.tanks !== undefined && placed;
    const spread_kg = dry_kg + (inTanks ? 0 : propellant_kg);
    lumps.push({ mass_kg: spread_kg, middle_m: station_m + 0.5 * length_m, length_m, radius_m });
    if (inTanks) {
      for (const { tank, mass_kg, liquid_m } of fillTanks(data, splitByMixture(propellant_kg, ratio))) {
        const middle_m = station_m + tank.station_m! + 0.5 * liquid_m;
        lumps.push({ mass_kg, middle_m, length_m: liquid_m, radius_m: tank.radius_m });
      }
    }
    if (index === payload.body)
      lumps.push({ mass_kg: payload.mass_kg, middle_m: station_m + length_m, length_m: 0, radius_m: 0 });
  }
  const mass_kg = lumps.reduce((sum, lump) => sum + lump.mass_kg, 0);
  const centre_m = lumps.reduce((sum, lump) => sum + lump.mass_kg * lump.middle_m, 0) / mass_kg;
  const inertia_kgm2 = lumps.reduce(
    (sum, { mass_kg: m, middle_m, length_m, radius_m }) =>
      sum + m * (length_m ** 2 / 12 + radius_m ** 2 / 4 + (middle_m - centre_m) ** 2),
    0,
  );
  return { mass_kg, centre_m, inertia_kgm2, length_m: top_m };
}
