/** Tanks: that they have something to hold, and room for it. */
import { FLUIDS } from '../../constants/fluids.ts';
import { makeProblem, quote, type Problem } from '../problem.ts';
import type { Tank } from '../parting.ts';
import type { Study } from '../study.ts';

/**
 * Problems with tanks: on a body without propellant or mixture ratio, one side without a tank, wider than the body,
 * too small for what they are loaded with (m³, the liquid at its tabulated density).
 */
export function checkTanks(study: Study): Problem[] {
  return Object.entries(study.vehicle.bodies).flatMap(([id, body]) => {
    const tanks = Object.entries(body.tanks ?? {});
    if (tanks.length === 0) return [];
    const path = `vehicle.bodies.${id}`;
    const nothing = 'nothing, although the body has tanks';
    if (body.propellant === undefined)
      return [makeProblem(`${path}.propellant`, nothing, 'an object with the key usable_kg')];
    if (body.mixtureRatio === undefined)
      return [makeProblem(`${path}.mixtureRatio`, nothing, 'a number above 0')];
    const { usable_kg, residual_kg, flightReserve_kg, returnReserve_kg } = body.propellant;
    const load_kg = usable_kg + residual_kg + flightReserve_kg + returnReserve_kg;
    const fuel_kg = load_kg / (1 + body.mixtureRatio);
    const problems = tanks.flatMap(([key, { radius_m }]) => {
      const most_m = 0.5 * (body.shape?.diameter_m ?? Infinity);
      if (radius_m <= most_m) return [];
      const allowed = `a number of at most ${most_m}, half the diameter of ${quote(id)}`;
      return [makeProblem(`${path}.tanks.${key}.radius_m`, String(radius_m), allowed)];
    });
    for (const side of ['oxidiser', 'fuel'] as const) {
      const own = tanks.filter(([, tank]) => tank.holds === side);
      if (own.length === 0) {
        problems.push(makeProblem(`${path}.tanks`, `no tank for the ${side}`, 'at least one for each side'));
        continue;
      }
      const mass_kg = side === 'fuel' ? fuel_kg : load_kg - fuel_kg;
      const volume_m3 = own.reduce((sum, [, tank]) => sum + volumeOf_m3(tank), 0);
      // Tanks of one side are filled alike, so the first stands for all.
      const [key, tank] = own[0]!;
      const density = FLUIDS[tank.fluid].density_kgpm3;
      if (mass_kg <= density * volume_m3) continue;
      const word = tank.volume_m3 === undefined ? 'length_m' : 'volume_m3';
      const received = `${String(tank[word])}, which makes ${volume_m3.toPrecision(4)} m³ for ${mass_kg.toPrecision(6)} kg of ${tank.fluid}`;
      const allowed = `room for it: ${(mass_kg / density).toPrecision(4)} m³ at least`;
      problems.push(makeProblem(`${path}.tanks.${key}.${word}`, received, allowed));
    }
    return problems;
  });
}

function volumeOf_m3({ volume_m3, length_m, radius_m }: Tank): number {
  return volume_m3 ?? Math.PI * radius_m * radius_m * (length_m ?? 0);
}
