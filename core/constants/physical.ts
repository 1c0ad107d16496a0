/**
 * Physical constants. Each entry of {@link PHYSICAL_CONSTANTS} is `{ value, unit, source }`, for reports that
 * name where a number comes from; the plain exports below carry the same values, the unit in the name, for
 * code that computes.
 */

/** A constant with its unit and the publication that it was taken from. */
export interface PhysicalConstant {
  readonly value: number;
  readonly unit: string;
  readonly source: string;
}

const WGS84 = 'NIMA TR8350.2, Department of Defense World Geodetic System 1984, 3rd ed., 2000, table 3.1';
const CODATA = 'CODATA 2018 recommended values, P. J. Mohr et al.';
const SI = 'The International System of Units, 9th ed., BIPM, 2019 (exact)';

/** The constants by name. Values are never derived here: what follows from them is exported further down. */
export const PHYSICAL_CONSTANTS = {
  standardGravity: {
    value: 9.80665,
    unit: 'm/s2',
    source: '3rd General Conference on Weights and Measures, 1901 (exact)',
  },
  earthGravitationalParameter: { value: 3.986004418e14, unit: 'm3/s2', source: WGS84 },
  earthRotationRate: { value: 7.292115e-5, unit: 'rad/s', source: WGS84 },
  earthEquatorialRadius: { value: 6378137, unit: 'm', source: WGS84 },
  earthInverseFlattening: { value: 298.257223563, unit: '1', source: WGS84 },
  earthJ2: {
    value: 1.08262668e-3,
    unit: '1',
    source:
      'F. G. Lemoine et al., The Development of the Joint NASA GSFC and NIMA Geopotential Model EGM96, ' +
      'NASA/TP-1998-206861: sqrt(5) times 0.484165371736e-3',
  },
  molarGasConstant: { value: 8.31446261815324, unit: 'J/(mol K)', source: SI },
  boltzmannConstant: { value: 1.380649e-23, unit: 'J/K', source: SI },
  avogadroConstant: { value: 6.02214076e23, unit: '1/mol', source: SI },
  stefanBoltzmannConstant: { value: 5.670374419e-8, unit: 'W/(m2 K4)', source: CODATA },
  standardAtmosphere: {
    value: 101325,
    unit: 'Pa',
    source: '10th General Conference on Weights and Measures, 1954 (exact)',
  },
} as const satisfies Record<string, PhysicalConstant>;

/** Standard gravity, m/s2: turns specific impulse in seconds into exhaust speed. CGPM 1901, exact. */
export const G0_mps2 = PHYSICAL_CONSTANTS.standardGravity.value;

/** Gravitational parameter of the Earth with its atmosphere, m3/s2. WGS 84. */
export const EARTH_GM_m3ps2 = PHYSICAL_CONSTANTS.earthGravitationalParameter.value;

/** Rotation rate of the Earth about its polar axis, eastward, rad/s. WGS 84. */
export const EARTH_ROTATION_radps = PHYSICAL_CONSTANTS.earthRotationRate.value;

/** Equatorial radius of the WGS 84 ellipsoid, m; also the radius above which apsis heights are counted. */
export const EARTH_EQUATORIAL_RADIUS_m = PHYSICAL_CONSTANTS.earthEquatorialRadius.value;

/** Flattening of the WGS 84 ellipsoid, (a - b)/a, from its inverse 298.257223563. */
export const EARTH_FLATTENING = 1 / PHYSICAL_CONSTANTS.earthInverseFlattening.value;

/** Polar radius of the WGS 84 ellipsoid, m: a (1 - f). */
export const EARTH_POLAR_RADIUS_m = EARTH_EQUATORIAL_RADIUS_m * (1 - EARTH_FLATTENING);

/** Square of the first eccentricity of the WGS 84 ellipsoid: f (2 - f). */
export const EARTH_ECCENTRICITY_SQUARED = EARTH_FLATTENING * (2 - EARTH_FLATTENING);

/**
 * Second zonal harmonic of the Earth's gravity, unnormalised, positive. EGM96, tide-free. EGM96 scales its
 * coefficients by 6 378 136.3 m; used with the WGS 84 radius the acceleration is off by 7e-9 m/s2 at most.
 */
export const EARTH_J2 = PHYSICAL_CONSTANTS.earthJ2.value;

/** Molar gas constant, J/(mol K). SI 2019, exact. (The 1976 standard atmosphere keeps a value of its own.) */
export const GAS_CONSTANT_JpmolK = PHYSICAL_CONSTANTS.molarGasConstant.value;

/** Boltzmann constant, J/K. SI 2019, exact. */
export const BOLTZMANN_JpK = PHYSICAL_CONSTANTS.boltzmannConstant.value;

/** Avogadro constant, 1/mol. SI 2019, exact. */
export const AVOGADRO_pmol = PHYSICAL_CONSTANTS.avogadroConstant.value;

/** Stefan-Boltzmann constant, W/(m2 K4). CODATA 2018. */
export const STEFAN_BOLTZMANN_Wpm2K4 = PHYSICAL_CONSTANTS.stefanBoltzmannConstant.value;

/** Standard atmosphere, Pa. CGPM 1954, exact. */
export const STANDARD_ATMOSPHERE_Pa = PHYSICAL_CONSTANTS.standardAtmosphere.value;
