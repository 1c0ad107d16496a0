/** Whether a free surface holds against an acceleration that pulls the liquid off its bottom, and how fast it goes over. */

/**
 * Bond number above which a surface of zero contact angle in a right cylinder gives way: P. Concus, J. Fluid Mech. 34 (1968)
 * 481 and W. J. Masica, D. A. Petrash, E. W. Otto, NASA TN D-2267, 1964 (both from memory); worked out independently from
 * the meridian of the meniscus as 0.84203. Dimensionless.
 */
export const CRITICAL_BOND = 0.842;

/**
 * Bond number (ρ_l − ρ_v) a R²/σ on the tank's radius: density difference in kg/m³, acceleration in m/s² (its size), radius
 * in m, surface tension in N/m. Dimensionless.
 */
export function bondNumber(
  density_kgpm3: number,
  acceleration_mps2: number,
  radius_m: number,
  surfaceTension_Npm: number,
): number {
  return (density_kgpm3 * Math.abs(acceleration_mps2) * radius_m * radius_m) / surfaceTension_Npm;
}

/**
 * Speed of the leading edge of the liquid along the wall while it changes ends, m/s: 0.48 √(a R) [1 − (0.84/Bo)^(Bo/4.7)],
 * W. J. Masica, D. A. Petrash, NASA TN D-3005, 1965 (from memory; its limit 0.48 √(a R) agrees with the constants 0.464 to
 * 0.496 of large bubbles rising in tubes). Acceleration in m/s² (its size), radius in m. 0 where the surface holds.
 */
export function reorientationSpeed_mps(acceleration_mps2: number, radius_m: number, bond: number): number {
  if (bond <= 0.84) return 0;
  return 0.48 * Math.sqrt(Math.abs(acceleration_mps2) * radius_m) * (1 - (0.84 / bond) ** (bond / 4.7));
}

/** Least acceleration (m/s²) at which the Bond number of a tank (m, kg/m³, N/m) comes to `bond`. */
export function accelerationOfBond_mps2(
  bond: number,
  density_kgpm3: number,
  radius_m: number,
  surfaceTension_Npm: number,
): number {
  return (bond * surfaceTension_Npm) / (density_kgpm3 * radius_m * radius_m);
}
