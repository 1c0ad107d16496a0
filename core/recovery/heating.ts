/** Convective heating at the stagnation point. */

/** kg^½/m: of air, for cold walls. Sutton and Graves, see `stagnationHeating_Wpm2`. */
const EARTH_AIR = 1.7415e-4;

/**
 * Heat flux at the stagnation point of a blunt nose, W/m²: 1.7415e-4 √(ρ/Rn) v³, density ρ in kg/m³, nose radius Rn in m,
 * speed v against the air in m/s. K. Sutton, R. A. Graves, A General Stagnation-Point Convective-Heating Equation for
 * Arbitrary Gas Mixtures, NASA TR R-376, 1971. For hypersonic speed and a cold wall: below some 2 km/s it flatters nobody
 * and serves for comparison alone. NaN runs through.
 */
export function stagnationHeating_Wpm2(
  density_kgpm3: number,
  speed_mps: number,
  noseRadius_m: number,
): number {
  return EARTH_AIR * Math.sqrt(density_kgpm3 / noseRadius_m) * speed_mps * speed_mps * speed_mps;
}
