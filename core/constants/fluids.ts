/**
 * Liquids that tanks hold: density, surface tension and viscosity, each with its source and how well it was read. One
 * temperature a liquid, that of ordinary loading; cryogens are at their normal boiling point unless the note says else.
 */

export interface Fluid {
  readonly name: string;
  readonly temperature_K: number;
  readonly density_kgpm3: number;
  /** Against its own vapour or air. */
  readonly surfaceTension_Npm: number;
  readonly viscosity_Pas: number;
  readonly source: string;
}

const MULERO =
  'density: reference equation of state; surface tension: A. Mulero, I. Cachadina, M. I. Parra, J. Phys. Chem. Ref. ' +
  'Data 41, 043105 (2012), coefficients read in a copy, value computed from them';
const VISCOSITY = 'viscosity: from memory of NIST reference data, good to some 5 %';

/** The liquids by the name that a tank gives. */
export const FLUIDS = {
  oxygen: {
    name: 'oxygen',
    temperature_K: 90.188,
    density_kgpm3: 1141.2,
    surfaceTension_Npm: 0.013146,
    viscosity_Pas: 1.95e-4,
    source: `${MULERO}; ${VISCOSITY}`,
  },
  methane: {
    name: 'methane',
    temperature_K: 111.667,
    density_kgpm3: 422.33,
    surfaceTension_Npm: 0.012921,
    viscosity_Pas: 1.17e-4,
    source: `${MULERO}; ${VISCOSITY}`,
  },
  hydrogen: {
    name: 'hydrogen (para)',
    temperature_K: 20.271,
    density_kgpm3: 70.89,
    surfaceTension_Npm: 0.00193,
    viscosity_Pas: 1.34e-5,
    source: `${MULERO}; ${VISCOSITY}`,
  },
  nitrogen: {
    name: 'nitrogen',
    temperature_K: 77.355,
    density_kgpm3: 806.1,
    surfaceTension_Npm: 0.00888,
    viscosity_Pas: 1.61e-4,
    source: `${MULERO}; ${VISCOSITY}`,
  },
  kerosene: {
    name: 'kerosene (RP-1)',
    temperature_K: 293,
    density_kgpm3: 805,
    surfaceTension_Npm: 0.024,
    viscosity_Pas: 1.6e-3,
    source:
      'middle of the ranges 800 to 810 kg/m3 and 0.023 to 0.025 N/m, from memory; see T. J. Outcalt, A. Laesecke, ' +
      'K. J. Brumback, J. Propul. Power 25 (5), 2009; viscosity from memory',
  },
  propane: {
    name: 'propane',
    temperature_K: 231.0,
    density_kgpm3: 581,
    surfaceTension_Npm: 0.0155,
    viscosity_Pas: 1.97e-4,
    source: 'from memory of NIST reference data, good to some 3 %',
  },
  ethanol: {
    name: 'ethanol',
    temperature_K: 293.15,
    density_kgpm3: 789,
    surfaceTension_Npm: 0.0223,
    viscosity_Pas: 1.2e-3,
    source: 'from memory of the CRC Handbook, good to some 1 %',
  },
  water: {
    name: 'water',
    temperature_K: 293.15,
    density_kgpm3: 998.2,
    surfaceTension_Npm: 0.072817,
    viscosity_Pas: 1.002e-3,
    source: `${MULERO}; density and viscosity from memory of IAPWS values`,
  },
} as const satisfies Record<string, Fluid>;

export type FluidName = keyof typeof FLUIDS;

/** The names of the liquids known, for schemas and sentences. */
export const FLUID_NAMES = Object.keys(FLUIDS) as [FluidName, ...FluidName[]];
