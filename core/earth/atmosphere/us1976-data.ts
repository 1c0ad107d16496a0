/**
 * The defining numbers of the U.S. Standard Atmosphere, 1976 (COESA; NOAA-S/T 76-1562, NASA-TM-X-74335), and
 * nothing derived from them. Lengths of the lower layers are geopotential metres; the upper equations are
 * printed by the standard in kilometres of geometric height and are kept so.
 *
 * Tables 2, 3, 4, 6, 7 and 9 were read in independent transcriptions of the standard, which agree, and lead to
 * every row of its table VIII; table 8 is from memory, and meets the kinetic temperature at 86 km.
 */

/** Universal gas constant of the standard, J/(kmol K) (table 2; the value of 1976, not today's). */
export const GAS_CONSTANT_JpkmolK = 8314.32;

/** Boltzmann constant of the standard, J/K (table 2). */
export const BOLTZMANN_1976_JpK = 1.380622e-23;

/** Avogadro constant of the standard, 1/kmol (table 2). */
export const AVOGADRO_1976_pkmol = 6.022169e26;

/** Mean molar mass of air at sea level, kg/kmol. */
export const MOLAR_MASS_SEA_LEVEL_kgpkmol = 28.9644;

/** Sea-level acceleration of gravity at 45 degrees, m/s2 (table 2). */
export const GRAVITY_1976_mps2 = 9.80665;

/** Effective Earth radius of the geopotential, m (table 2). */
export const RADIUS_1976_m = 6356766;

/** Ratio of specific heats of air. */
export const HEAT_RATIO = 1.4;

/** Sea-level pressure, Pa, and temperature, K. */
export const SEA_LEVEL_PRESSURE_Pa = 101325;
export const SEA_LEVEL_TEMPERATURE_K = 288.15;

/** Base heights of the seven lower layers, geopotential m, and the molecular-scale temperature gradient in
 * each, K/m (table 4). The last layer ends at 86 km of geometric height. */
export const LAYER_BASES_m: readonly number[] = [0, 11000, 20000, 32000, 47000, 51000, 71000];
export const LAYER_GRADIENTS_Kpm: readonly number[] = [-0.0065, 0, 0.001, 0.0028, 0, -0.0028, -0.002];

/** Geometric height where the lower layers end and the upper equations begin, m. */
export const LOWER_TOP_m = 86000;

/** Ratio of the molar mass to its sea-level value each 500 m from 80 to 86 km geometric (table 8). It turns
 * molecular-scale into kinetic temperature and touches nothing else. */
export const MOLAR_MASS_RATIO_BASE_m = 80000;
export const MOLAR_MASS_RATIO_STEP_m = 500;
export const MOLAR_MASS_RATIOS: readonly number[] = [
  1.0, 0.999996, 0.999989, 0.999971, 0.999941, 0.999909, 0.99987, 0.999829, 0.999786, 0.999741, 0.999694,
  0.999641, 0.999579,
];

/** Kinetic temperature at 86 km and throughout 86 to 91 km, K; at 110 km; at 120 km; of the exosphere. */
export const TEMPERATURE_86_K = 186.8673;
export const TEMPERATURE_110_K = 240;
export const TEMPERATURE_120_K = 360;
export const TEMPERATURE_EXOSPHERE_K = 1000;

/** Temperature gradient from 110 to 120 km, K/km. */
export const GRADIENT_110_Kpkm = 12;

/** Eddy diffusion coefficient at 86 km and up to 95 km, m2/s (section 1.2.6). */
export const EDDY_DIFFUSION_m2ps = 120;

/** One gas of the upper atmosphere. */
export interface Species {
  readonly name: string;
  /** Molar mass, kg/kmol (table 3; atomic oxygen and hydrogen half the molecule). */
  readonly molarMass_kgpkmol: number;
  /** Number density at 86 km, 1/m3 (table 9). */
  readonly density86_pm3: number;
  /** Thermal diffusion factor alpha (table 6). */
  readonly thermalDiffusion: number;
  /** Molecular diffusion D = (a / N) (T / 273.15 K)^b: a, 1/(m s), and b (table 6). */
  readonly diffusionA_pms: number;
  readonly diffusionB: number;
  /** Transport term Q (Z - U)^2 exp(-W (Z - U)^3) + q (u - Z)^2 exp(-w (u - Z)^3), 1/km with Z in km
   * (table 7): Q, U, W, and q, u, w, which exist for atomic oxygen alone and below u alone. */
  readonly fluxQ_pkm3: number;
  readonly fluxU_km: number;
  readonly fluxW_pkm3: number;
  readonly lowFluxQ_pkm3: number;
  readonly lowFluxU_km: number;
  readonly lowFluxW_pkm3: number;
}

const noFlux = {
  fluxQ_pkm3: 0,
  fluxU_km: 86,
  fluxW_pkm3: 0,
  lowFluxQ_pkm3: 0,
  lowFluxU_km: 86,
  lowFluxW_pkm3: 0,
};

/** The five gases that are integrated upward from 86 km, in the order in which the standard takes them.
 * Nitrogen follows the mixture, so it has no diffusion coefficient. */
export const SPECIES: readonly Species[] = [
  {
    ...noFlux,
    name: 'N2',
    molarMass_kgpkmol: 28.0134,
    density86_pm3: 1.129794e20,
    thermalDiffusion: 0,
    diffusionA_pms: 0,
    diffusionB: 0,
  },
  {
    name: 'O',
    molarMass_kgpkmol: 15.9994,
    density86_pm3: 8.6e16,
    thermalDiffusion: 0,
    diffusionA_pms: 6.986e20,
    diffusionB: 0.75,
    fluxQ_pkm3: -5.809644e-4,
    fluxU_km: 56.90311,
    fluxW_pkm3: 2.70624e-5,
    lowFluxQ_pkm3: -3.416248e-3,
    lowFluxU_km: 97,
    lowFluxW_pkm3: 5.008765e-4,
  },
  {
    ...noFlux,
    name: 'O2',
    molarMass_kgpkmol: 31.9988,
    density86_pm3: 3.030898e19,
    thermalDiffusion: 0,
    diffusionA_pms: 4.863e20,
    diffusionB: 0.75,
    fluxQ_pkm3: 1.366212e-4,
    fluxW_pkm3: 8.333333e-5,
  },
  {
    ...noFlux,
    name: 'Ar',
    molarMass_kgpkmol: 39.948,
    density86_pm3: 1.3514e18,
    thermalDiffusion: 0,
    diffusionA_pms: 4.487e20,
    diffusionB: 0.87,
    fluxQ_pkm3: 9.434079e-5,
    fluxW_pkm3: 8.333333e-5,
  },
  {
    ...noFlux,
    name: 'He',
    molarMass_kgpkmol: 4.0026,
    density86_pm3: 7.5817e14,
    thermalDiffusion: -0.4,
    diffusionA_pms: 1.7e21,
    diffusionB: 0.691,
    fluxQ_pkm3: -2.457369e-4,
    fluxW_pkm3: 6.666667e-4,
  },
];

/** Atomic hydrogen, which is referred to 500 km and carries an escape flux (section 1.3, eqs. 39 and 40). */
export const HYDROGEN = {
  molarMass_kgpkmol: 1.00797,
  thermalDiffusion: -0.25,
  diffusionA_pms: 3.305e21,
  diffusionB: 0.5,
  density500_pm3: 8e10,
  flux_pm2ps: 7.2e11,
} as const;
