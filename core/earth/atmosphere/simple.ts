import { pieceIndex } from './atmosphere.ts';
import type { Atmosphere } from './atmosphere.ts';

/** Speed of sound, m/s, and temperature, K, at the foot of the U.S. Standard Atmosphere 1976. */
const SOUND_SPEED_SEA_LEVEL_mps = 340.2941;
const TEMPERATURE_SEA_LEVEL_K = 288.15;

/** What an {@link ExponentialAtmosphere} is made of. */
export interface ExponentialAtmosphereOptions {
  /** Density at height zero, kg/m3, from 0. */
  readonly density0_kgpm3: number;
  /** Height over which density falls by a factor of e, m, greater than 0. */
  readonly scaleHeight_m: number;
  /** Pressure, Pa, from 0, the same at every height; 0 if left out, as in benchmarks that state vacuum thrust. */
  readonly pressure_Pa?: number;
  /** Speed of sound, m/s, greater than 0, the same at every height; 340.2941 if left out. */
  readonly soundSpeed_mps?: number;
  /** Temperature, K, greater than 0, the same at every height; 288.15 if left out. */
  readonly temperature_K?: number;
}

/**
 * Density falling exponentially with geometric height, rho0 exp(-h / H), everything else constant: the
 * atmosphere of published ascent benchmarks. It has a single piece and no end.
 */
export class ExponentialAtmosphere implements Atmosphere {
  density_kgpm3: number;
  pressure_Pa: number;
  soundSpeed_mps: number;
  temperature_K: number;
  readonly pieceEdges_m = new Float64Array(0);
  private readonly density0_kgpm3: number;
  private readonly scaleHeight_m: number;

  /** @throws RangeError that names the option, what was received and what is allowed. */
  constructor(options: ExponentialAtmosphereOptions) {
    const { density0_kgpm3, scaleHeight_m } = options;
    const pressure_Pa = options.pressure_Pa ?? 0;
    const soundSpeed_mps = options.soundSpeed_mps ?? SOUND_SPEED_SEA_LEVEL_mps;
    const temperature_K = options.temperature_K ?? TEMPERATURE_SEA_LEVEL_K;
    for (const [name, value] of Object.entries({ density0_kgpm3, pressure_Pa }))
      if (!(value >= 0 && value < Infinity))
        throw new RangeError(`options.${name}: received ${value}; it must be a finite number from 0`);
    for (const [name, value] of Object.entries({ scaleHeight_m, soundSpeed_mps, temperature_K }))
      if (!(value > 0 && value < Infinity))
        throw new RangeError(`options.${name}: received ${value}; it must be finite and greater than 0`);
    this.density0_kgpm3 = density0_kgpm3;
    this.scaleHeight_m = scaleHeight_m;
    this.density_kgpm3 = density0_kgpm3;
    this.pressure_Pa = pressure_Pa;
    this.soundSpeed_mps = soundSpeed_mps;
    this.temperature_K = temperature_K;
  }

  pieceAt(height_m: number): number {
    return pieceIndex(this.pieceEdges_m, height_m);
  }

  evaluate(height_m: number, _piece: number): void {
    this.density_kgpm3 = this.density0_kgpm3 * Math.exp(-height_m / this.scaleHeight_m);
  }

  soundSpeedAt(_height_m: number, _piece: number): number {
    return this.soundSpeed_mps;
  }
}

/**
 * No air at any height: density and pressure zero. Sound speed and temperature keep the standard's sea-level
 * values, so that a Mach number stays finite; nothing multiplies it but zero.
 */
export class NoAtmosphere implements Atmosphere {
  density_kgpm3 = 0;
  pressure_Pa = 0;
  soundSpeed_mps = SOUND_SPEED_SEA_LEVEL_mps;
  temperature_K = TEMPERATURE_SEA_LEVEL_K;
  readonly pieceEdges_m = new Float64Array(0);

  pieceAt(height_m: number): number {
    return pieceIndex(this.pieceEdges_m, height_m);
  }

  evaluate(_height_m: number, _piece: number): void {
    // The fields never change.
  }

  soundSpeedAt(_height_m: number, _piece: number): number {
    return this.soundSpeed_mps;
  }
}
