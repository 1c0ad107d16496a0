import {
  EDDY_DIFFUSION_m2ps,
  GAS_CONSTANT_JpkmolK,
  GRAVITY_1976_mps2,
  HYDROGEN,
  MOLAR_MASS_SEA_LEVEL_kgpkmol,
  RADIUS_1976_m,
  SPECIES,
  TEMPERATURE_86_K,
} from './us1976-data.ts';
import type { Species } from './us1976-data.ts';
import {
  TEMPERATURE_SEGMENT_TOPS_km,
  upperTemperatureGradient_Kpkm,
  upperTemperature_K,
} from './us1976-temperature.ts';

/** Number densities of the upper atmosphere at a set of heights. */
export interface SpeciesProfile {
  /** Geometric heights, km, ascending. */
  readonly height_km: Float64Array;
  /** Number densities at those heights, 1/m3, in the order N2, O, O2, Ar, He, H. */
  readonly density_pm3: readonly Float64Array[];
}

/** Where the equations change form, km: every step of the integration ends there. */
const BREAKS_km = [91, 95, 97, 100, 110, 115, 120, 150, 500, 1000];

const [nitrogen, oxygenAtom, oxygen] = SPECIES as [Species, Species, Species];
const TAU = SPECIES.length;
const FLUX = SPECIES.length + 1;
const SIZE = SPECIES.length + 2;
const temperature500_K = upperTemperature_K(500, 3);

/**
 * Number densities of N2, O, O2, Ar, He and H of the U.S. Standard Atmosphere 1976 between 86 and 1000 km, by
 * integrating the standard's own equations (NOAA-S/T 76-1562, eqs. 6 to 8, 35 to 40) upward from 86 km with the
 * classical Runge-Kutta method. Nitrogen follows the mixture to 100 km and its own weight above; O and O2
 * diffuse through nitrogen, Ar and He through N2 + O + O2 with that mixture's mean molar mass (the sea-level
 * value to 100 km); hydrogen is referred to 500 km with its escape flux, which the standard neglects above
 * 500 km.
 *
 * One departure: the standard lets hydrogen begin at 150 km, where it is 7e-6 of all particles. Here its
 * equation is carried on down to 86 km, so that pressure has no step; it stays below 1e-5 of all particles.
 *
 * @param heights_km geometric heights at which densities are wanted, ascending from 86 to 1000 km, km.
 * @param longestStep_km the longest integration step, km.
 * @throws RangeError when the heights do not begin at 86, do not ascend or do not end at 1000.
 */
export function integrateSpecies(heights_km: Float64Array, longestStep_km: number): SpeciesProfile {
  const count = heights_km.length;
  if (heights_km[0] !== 86 || heights_km[count - 1] !== 1000)
    throw new RangeError(
      `heights_km: runs from ${heights_km[0] ?? 'nothing'} to ${heights_km[count - 1] ?? 'nothing'}; it must run from 86 to 1000 km`,
    );
  if (!(longestStep_km > 0))
    throw new RangeError(`longestStep_km: received ${longestStep_km}; it must be greater than 0`);

  const state = new Float64Array(SIZE);
  SPECIES.forEach((gas, i) => (state[i] = Math.log(gas.density86_pm3 * TEMPERATURE_86_K)));
  const history = new Float64Array(SIZE * count);
  history.set(state, 0);
  const stepper = new RungeKutta();
  let at500 = state;
  let z = 86;
  for (let k = 1; k < count; k++) {
    const target = heights_km[k]!;
    if (!(target > z))
      throw new RangeError(`heights_km[${k}]: received ${target} after ${z}; heights must ascend`);
    while (z < target) {
      const nextBreak = BREAKS_km.find((edge) => edge > z) ?? 1000;
      const end = Math.min(target, nextBreak);
      const steps = Math.ceil((end - z) / longestStep_km - 1e-9);
      stepper.advance(z, end, steps, state);
      z = end;
      if (z === 500) at500 = state.slice();
    }
    history.set(state, SIZE * k);
  }

  const density_pm3 = Array.from({ length: SPECIES.length + 1 }, () => new Float64Array(count));
  for (let k = 0; k < count; k++) {
    const height = heights_km[k]!;
    const temperature = upperTemperature_K(height, temperatureSegment(height));
    for (let i = 0; i < SPECIES.length; i++)
      density_pm3[i]![k] = Math.exp(history[SIZE * k + i]!) / temperature;
    const tau = history[SIZE * k + TAU]! - at500[TAU]!;
    const escaped = height > 500 ? 0 : (history[SIZE * k + FLUX]! - at500[FLUX]!) * Math.exp(-at500[TAU]!);
    density_pm3[SPECIES.length]![k] =
      (HYDROGEN.density500_pm3 - escaped) *
      Math.pow(temperature500_K / temperature, 1 + HYDROGEN.thermalDiffusion) *
      Math.exp(-tau);
  }
  return { height_km: heights_km.slice(), density_pm3 };
}

/** Index of the temperature segment that holds a height, km; a bound belongs to the segment below it. */
function temperatureSegment(height_km: number): number {
  const index = TEMPERATURE_SEGMENT_TOPS_km.findIndex((top) => height_km <= top);
  return index < 0 ? TEMPERATURE_SEGMENT_TOPS_km.length - 1 : index;
}

/** The classical fourth-order method on the seven equations, with its work arrays. */
class RungeKutta {
  private readonly stage = new Float64Array(SIZE);
  private readonly slopes = [0, 1, 2, 3].map(() => new Float64Array(SIZE));

  /** Advances `state` from `from_km` to `to_km`, inside one stretch of smooth equations. */
  advance(from_km: number, to_km: number, steps: number, state: Float64Array): void {
    const [k1, k2, k3, k4] = this.slopes as [Float64Array, Float64Array, Float64Array, Float64Array];
    const middle = (from_km + to_km) / 2;
    const h = (to_km - from_km) / steps;
    for (let n = 0; n < steps; n++) {
      const z = from_km + n * h;
      rates(z, middle, state, k1);
      for (let i = 0; i < SIZE; i++) this.stage[i] = state[i]! + (h / 2) * k1[i]!;
      rates(z + h / 2, middle, this.stage, k2);
      for (let i = 0; i < SIZE; i++) this.stage[i] = state[i]! + (h / 2) * k2[i]!;
      rates(z + h / 2, middle, this.stage, k3);
      for (let i = 0; i < SIZE; i++) this.stage[i] = state[i]! + h * k3[i]!;
      rates(n === steps - 1 ? to_km : z + h, middle, this.stage, k4);
      for (let i = 0; i < SIZE; i++)
        state[i] = state[i]! + (h / 6) * (k1[i]! + 2 * (k2[i]! + k3[i]!) + k4[i]!);
    }
  }
}

/**
 * Derivatives per km of ln(n T) of the five gases, of hydrogen's exponent tau and of its flux integral.
 * `stretch_km` is a height inside the stretch that is being integrated; it decides which form of each equation
 * holds, so that a stage at a break uses the form of its own side.
 */
function rates(height_km: number, stretch_km: number, state: Float64Array, out: Float64Array): void {
  const segment = temperatureSegment(stretch_km);
  const temperature = upperTemperature_K(height_km, segment);
  const logGradient = upperTemperatureGradient_Kpkm(height_km, segment) / temperature;
  const radiusRatio = RADIUS_1976_m / (RADIUS_1976_m + 1000 * height_km);
  // g / (R T), per km and per kg/kmol of molar mass.
  const weight =
    (1000 * GRAVITY_1976_mps2 * radiusRatio * radiusRatio) / (GAS_CONSTANT_JpkmolK * temperature);
  const eddy = eddyDiffusion_m2ps(height_km, stretch_km);
  const mixed = stretch_km < 100;
  const nN2 = Math.exp(state[0]!) / temperature;
  const nO = Math.exp(state[1]!) / temperature;
  const nO2 = Math.exp(state[2]!) / temperature;
  const heavy = nN2 + nO + nO2;
  const heavyMolarMass =
    (nN2 * nitrogen.molarMass_kgpkmol + nO * oxygenAtom.molarMass_kgpkmol + nO2 * oxygen.molarMass_kgpkmol) /
    heavy;

  out[0] = -weight * (mixed ? MOLAR_MASS_SEA_LEVEL_kgpkmol : nitrogen.molarMass_kgpkmol);
  for (let i = 1; i < SPECIES.length; i++) {
    const gas = SPECIES[i]!;
    const through = i <= 2 ? nN2 : heavy;
    const mixture = i <= 2 ? nitrogen.molarMass_kgpkmol : heavyMolarMass;
    const mean = mixed ? MOLAR_MASS_SEA_LEVEL_kgpkmol : mixture;
    const diffusion = (gas.diffusionA_pms / through) * Math.pow(temperature / 273.15, gas.diffusionB);
    const share = diffusion / (diffusion + eddy);
    out[i] =
      -weight * (share * gas.molarMass_kgpkmol + (1 - share) * mean) -
      share * gas.thermalDiffusion * logGradient -
      transport_pkm(gas, height_km, stretch_km);
  }

  const total = heavy + (Math.exp(state[3]!) + Math.exp(state[4]!)) / temperature;
  const diffusion = (HYDROGEN.diffusionA_pms / total) * Math.pow(temperature / 273.15, HYDROGEN.diffusionB);
  out[TAU] = weight * HYDROGEN.molarMass_kgpkmol;
  out[FLUX] =
    ((1000 * HYDROGEN.flux_pm2ps) / diffusion) *
    Math.pow(temperature / temperature500_K, 1 + HYDROGEN.thermalDiffusion) *
    Math.exp(state[TAU]!);
}

/** Eddy diffusion coefficient K, m2/s (eq. 7): constant to 95 km, gone at 115 km. */
function eddyDiffusion_m2ps(height_km: number, stretch_km: number): number {
  if (stretch_km < 95) return EDDY_DIFFUSION_m2ps;
  if (stretch_km > 115) return 0;
  const room = 400 - (height_km - 95) ** 2;
  return room > 0 ? EDDY_DIFFUSION_m2ps * Math.exp(1 - 400 / room) : 0;
}

/** Transport term v / (D + K) of one gas, 1/km (eq. 37). */
function transport_pkm(gas: Species, height_km: number, stretch_km: number): number {
  const above = height_km - gas.fluxU_km;
  const main = gas.fluxQ_pkm3 * above * above * Math.exp(-gas.fluxW_pkm3 * above ** 3);
  if (gas.lowFluxQ_pkm3 === 0 || stretch_km > gas.lowFluxU_km) return main;
  const below = gas.lowFluxU_km - height_km;
  return main + gas.lowFluxQ_pkm3 * below * below * Math.exp(-gas.lowFluxW_pkm3 * below ** 3);
}
