import { AVOGADRO_1976_pkmol, BOLTZMANN_1976_JpK, HYDROGEN, SPECIES } from './us1976-data.ts';
import { integrateSpecies } from './us1976-species.ts';
import type { SpeciesProfile } from './us1976-species.ts';
import { upperTemperature_K } from './us1976-temperature.ts';
import { uniformSpline } from './uniform-spline.ts';

/** A stretch of the upper atmosphere that is splined by itself. */
export interface UpperPiece {
  readonly bottom_km: number;
  readonly top_km: number;
  /** Spacing of the knots, km. */
  readonly spacing_km: number;
  /** Which formula of the temperature holds; see upperTemperature_K. */
  readonly temperatureSegment: number;
}

/**
 * The pieces of the upper atmosphere. They part where density or temperature has a kink: the temperature's
 * curvature jumps at 91, 110 and 120 km, and at 100 km the mixture's molar mass is exchanged for each gas's
 * own. (Where the eddy diffusion begins to fall, 95 km, and the oxygen term ends, 97 km, two derivatives are
 * continuous; the end of hydrogen's flux at 500 km bends ln p by 1e-7 per km, which the spline rounds off.)
 */
export const UPPER_PIECES: readonly UpperPiece[] = [
  { bottom_km: 86, top_km: 91, spacing_km: 0.25, temperatureSegment: 0 },
  { bottom_km: 91, top_km: 100, spacing_km: 0.25, temperatureSegment: 1 },
  { bottom_km: 100, top_km: 110, spacing_km: 0.125, temperatureSegment: 1 },
  { bottom_km: 110, top_km: 120, spacing_km: 0.25, temperatureSegment: 2 },
  { bottom_km: 120, top_km: 1000, spacing_km: 1, temperatureSegment: 3 },
];

/** Numbers stored for each interval: three cubics, of ln density, of pressure over density and of temperature. */
export const INTERVAL_STRIDE = 12;

/** The splined upper atmosphere. */
export interface UpperTable {
  /**
   * For each interval, {@link INTERVAL_STRIDE} coefficients, lowest power first, in the interval's own argument
   * 0 to 1: ln(density / (kg/m3)), pressure / density in m2/s2, kinetic temperature in K.
   */
  readonly coefficients: Float64Array;
  /** For each of {@link UPPER_PIECES}, its first interval and the number of its intervals. */
  readonly firstInterval: Int32Array;
  readonly intervalCount: Int32Array;
}

let cached: UpperTable | undefined;

/**
 * The table of the U.S. Standard Atmosphere 1976 from 86 to 1000 km. Computed at the first call, by integrating
 * the standard's equations for its six gases, and kept: it depends on nothing but the standard.
 *
 * Density is the sum of n_i M_i / N_A, pressure N k T (eqs. 33c and 42 of NOAA-S/T 76-1562). Pressure is stored
 * as its ratio to density, R T / M, which varies slowly, so that one exponential serves both.
 */
export function upperTable(): UpperTable {
  cached ??= buildTable();
  return cached;
}

function buildTable(): UpperTable {
  const intervalCount = Int32Array.from(UPPER_PIECES, (p) =>
    Math.round((p.top_km - p.bottom_km) / p.spacing_km),
  );
  const firstInterval = new Int32Array(UPPER_PIECES.length);
  const heights: number[] = [];
  UPPER_PIECES.forEach((piece, k) => {
    firstInterval[k] = heights.length;
    for (let i = 0; i < intervalCount[k]!; i++) heights.push(piece.bottom_km + i * piece.spacing_km);
  });
  heights.push(1000);
  // Steps as long as the knots' spacing: halving them moves no density by more than 1e-7.
  const profile = integrateSpecies(Float64Array.from(heights), 1);

  const coefficients = new Float64Array(INTERVAL_STRIDE * (heights.length - 1));
  UPPER_PIECES.forEach((piece, k) => {
    const first = firstInterval[k]!;
    const knots = intervalCount[k]! + 1;
    const logDensity = new Float64Array(knots);
    const pressureRatio = new Float64Array(knots);
    const temperature = new Float64Array(knots);
    for (let i = 0; i < knots; i++) {
      temperature[i] = upperTemperature_K(heights[first + i]!, piece.temperatureSegment);
      const { density_kgpm3, particles_pm3 } = totals(profile, first + i);
      logDensity[i] = Math.log(density_kgpm3);
      pressureRatio[i] = (particles_pm3 * BOLTZMANN_1976_JpK * temperature[i]!) / density_kgpm3;
    }
    [logDensity, pressureRatio, temperature].forEach((values, column) => {
      const spline = uniformSpline(values);
      for (let i = 0; i < knots - 1; i++)
        coefficients.set(spline.subarray(4 * i, 4 * i + 4), INTERVAL_STRIDE * (first + i) + 4 * column);
    });
  });
  return { coefficients, firstInterval, intervalCount };
}

/** Mass density, kg/m3, and number of particles, 1/m3, at one height of a profile. */
export function totals(
  profile: SpeciesProfile,
  index: number,
): { density_kgpm3: number; particles_pm3: number } {
  let mass = 0;
  let particles = 0;
  profile.density_pm3.forEach((density, i) => {
    const molarMass = (SPECIES[i] ?? HYDROGEN).molarMass_kgpkmol;
    particles += density[index]!;
    mass += density[index]! * molarMass;
  });
  return { density_kgpm3: mass / AVOGADRO_1976_pkmol, particles_pm3: particles };
}
