import { pieceIndex } from './atmosphere.ts';
import type { Atmosphere } from './atmosphere.ts';
import { fastExp, logOfQuotient, logOfRatio } from './elementary.ts';
import {
  GAS_CONSTANT_JpkmolK,
  GRAVITY_1976_mps2,
  HEAT_RATIO,
  LAYER_BASES_m,
  LAYER_GRADIENTS_Kpm,
  LOWER_TOP_m,
  MOLAR_MASS_RATIO_BASE_m,
  MOLAR_MASS_RATIO_STEP_m,
  MOLAR_MASS_RATIOS,
  MOLAR_MASS_SEA_LEVEL_kgpkmol,
  RADIUS_1976_m,
  SEA_LEVEL_PRESSURE_Pa,
  SEA_LEVEL_TEMPERATURE_K,
} from './us1976-data.ts';
import { INTERVAL_STRIDE, UPPER_PIECES, upperTable } from './us1976-upper-table.ts';

const LAYERS = LAYER_BASES_m.length;
const VACUUM = LAYERS + UPPER_PIECES.length;

const specificGasConstant_JpkgK = GAS_CONSTANT_JpkmolK / MOLAR_MASS_SEA_LEVEL_kgpkmol;
const soundFactor_m2ps2K = HEAT_RATIO * specificGasConstant_JpkgK;
const hydrostatic_Kpm = GRAVITY_1976_mps2 / specificGasConstant_JpkgK;

const geometric_m = (geopotential: number) => (RADIUS_1976_m * geopotential) / (RADIUS_1976_m - geopotential);

/**
 * U.S. Standard Atmosphere, 1976 (NOAA-S/T 76-1562), geometric heights from -5 to 1000 km.
 *
 * - Below 86 km: seven layers with a constant gradient of molecular-scale temperature in geopotential height
 *   (eqs. 23, 33a, 33b, 42, 50). Density and sound follow the molecular-scale temperature; `temperature_K` is
 *   the kinetic one, which differs from it between 80 and 86 km by at most 0.04 % (table 8, linear between its
 *   rows as in the standard, so that this field alone has kinks there).
 * - 86 to 1000 km: the standard's equations for N2, O, O2, Ar, He and H, integrated once and splined
 *   (us1976-upper-table). The standard ends the speed of sound at 86 km; it is held at its value there.
 * - Above 1000 km: density and pressure zero, temperature 1000 K.
 * - Below sea level the first layer's formula goes on; the standard's own tables go down to -5 km.
 *
 * At 86 km the two parts of the standard do not meet exactly: upward through it pressure steps by 1.2e-5 and
 * density by 8e-6 of itself, kinetic temperature by less than 0.001 K.
 *
 * `evaluate` costs one exponential and at most one logarithm and one square root, the first two by series of
 * this project's own (elementary.ts): below 86 km it returns the same bits in every engine.
 */
export class Us1976Atmosphere implements Atmosphere {
  density_kgpm3 = 0;
  pressure_Pa = 0;
  soundSpeed_mps = 0;
  temperature_K = 0;
  readonly pieceEdges_m: Float64Array;

  private readonly layerBase_m = Float64Array.from(LAYER_BASES_m);
  private readonly layerGradient_Kpm = Float64Array.from(LAYER_GRADIENTS_Kpm);
  private readonly layerTemperature_K = new Float64Array(LAYERS);
  private readonly layerPressure_Pa = new Float64Array(LAYERS);
  /** Pressure falls as exp(-exponent ln(T / Tb)) with a gradient, as exp(-exponent (H - Hb)) without. */
  private readonly layerExponent = new Float64Array(LAYERS);
  private readonly upperBottom_m = Float64Array.from(UPPER_PIECES, (p) => 1000 * p.bottom_km);
  private readonly upperKnots_pm = Float64Array.from(UPPER_PIECES, (p) => 1 / (1000 * p.spacing_km));
  private readonly upperFirst: Int32Array;
  private readonly upperLast: Int32Array;
  private readonly upperCoefficients: Float64Array;
  private readonly heldSoundSpeed_mps: number;

  constructor() {
    this.pieceEdges_m = Float64Array.from([
      ...LAYER_BASES_m.slice(1).map(geometric_m),
      LOWER_TOP_m,
      ...UPPER_PIECES.map((p) => 1000 * p.top_km),
    ]);
    let temperature = SEA_LEVEL_TEMPERATURE_K;
    let pressure = SEA_LEVEL_PRESSURE_Pa;
    for (let k = 0; k < LAYERS; k++) {
      const gradient = LAYER_GRADIENTS_Kpm[k]!;
      const exponent = gradient === 0 ? hydrostatic_Kpm / temperature : hydrostatic_Kpm / gradient;
      this.layerTemperature_K[k] = temperature;
      this.layerPressure_Pa[k] = pressure;
      this.layerExponent[k] = exponent;
      if (k === LAYERS - 1) break;
      const rise = LAYER_BASES_m[k + 1]! - LAYER_BASES_m[k]!;
      const top = temperature + gradient * rise;
      pressure *= fastExp(-exponent * (gradient === 0 ? rise : logOfRatio(top, temperature)));
      temperature = top;
    }
    const table = upperTable();
    this.upperCoefficients = table.coefficients;
    this.upperFirst = table.firstInterval;
    this.upperLast = table.intervalCount.map((count) => count - 1);
    this.heldSoundSpeed_mps = this.soundSpeedAt(LOWER_TOP_m, LAYERS - 1);
  }

  pieceAt(height_m: number): number {
    return pieceIndex(this.pieceEdges_m, height_m);
  }

  evaluate(height_m: number, piece: number): void {
    if (piece < LAYERS) this.evaluateLayer(height_m, piece);
    else if (piece < VACUUM) this.evaluateUpper(height_m, piece - LAYERS);
    else {
      this.density_kgpm3 = 0;
      this.pressure_Pa = 0;
      this.soundSpeed_mps = this.heldSoundSpeed_mps;
      this.temperature_K = 1000;
    }
  }

  soundSpeedAt(height_m: number, piece: number): number {
    if (piece >= LAYERS) return this.heldSoundSpeed_mps;
    const rise = (RADIUS_1976_m * height_m) / (RADIUS_1976_m + height_m) - this.layerBase_m[piece]!;
    const temperature = this.layerTemperature_K[piece]! + this.layerGradient_Kpm[piece]! * rise;
    return Math.sqrt(soundFactor_m2ps2K * temperature);
  }

  private evaluateLayer(height_m: number, layer: number): void {
    const gradient = this.layerGradient_Kpm[layer]!;
    const base = this.layerTemperature_K[layer]!;
    const whole = RADIUS_1976_m + height_m;
    // Rise above the layer's base and gain in temperature, both still to be divided by `whole`. The way to the density is
    // a chain in which each link waits for the last: it holds one division, the others are done beside it.
    const rise = RADIUS_1976_m * height_m - this.layerBase_m[layer]! * whole;
    const gain = gradient * rise;
    const temperature = base + gain / whole;
    const inverse = 1 / (specificGasConstant_JpkgK * temperature);
    const depth = gradient === 0 ? rise / whole : logOfQuotient(gain / (2 * base * whole + gain));
    const pressure = this.layerPressure_Pa[layer]! * fastExp(-this.layerExponent[layer]! * depth);
    this.pressure_Pa = pressure;
    this.density_kgpm3 = pressure * inverse;
    this.soundSpeed_mps = Math.sqrt(soundFactor_m2ps2K * temperature);
    this.temperature_K =
      height_m > MOLAR_MASS_RATIO_BASE_m ? temperature * molarMassRatio(height_m) : temperature;
  }

  private evaluateUpper(height_m: number, part: number): void {
    const argument = (height_m - this.upperBottom_m[part]!) * this.upperKnots_pm[part]!;
    const last = this.upperLast[part]!;
    // The outermost cubics also serve outside the piece.
    const interval = argument < 0 ? 0 : argument >= last ? last : argument | 0;
    const t = argument - interval;
    const c = this.upperCoefficients;
    const at = INTERVAL_STRIDE * (this.upperFirst[part]! + interval);
    const density = fastExp(c[at]! + t * (c[at + 1]! + t * (c[at + 2]! + t * c[at + 3]!)));
    this.density_kgpm3 = density;
    this.pressure_Pa = density * (c[at + 4]! + t * (c[at + 5]! + t * (c[at + 6]! + t * c[at + 7]!)));
    this.temperature_K = c[at + 8]! + t * (c[at + 9]! + t * (c[at + 10]! + t * c[at + 11]!));
    this.soundSpeed_mps = this.heldSoundSpeed_mps;
  }
}

/** Molar mass over its sea-level value between 80 and 86 km geometric (table 8), held beyond. */
function molarMassRatio(height_m: number): number {
  const last = MOLAR_MASS_RATIOS.length - 1;
  const argument = (height_m - MOLAR_MASS_RATIO_BASE_m) / MOLAR_MASS_RATIO_STEP_m;
  if (argument >= last) return MOLAR_MASS_RATIOS[last]!;
  const row = Math.trunc(argument);
  const below = MOLAR_MASS_RATIOS[row]!;
  return below + (argument - row) * (MOLAR_MASS_RATIOS[row + 1]! - below);
}
