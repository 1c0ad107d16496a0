import type { SteeringLaw } from './law.ts';

/** Thrust along the air-relative velocity: zero angle of attack, the gravity turn. */
export class ZeroAlphaLaw implements SteeringLaw {
  /** Has no numbers of its own. Unitless. */
  read(): void {
    // Nothing to read.
  }

  /** Needs no start. Unitless. */
  start(): void {
    // Nothing to keep.
  }

  /** Writes the air-relative direction (unit vector) through. */
  point(_t_s: number, ux: number, uy: number, uz: number, aim: Float64Array): void {
    aim[0] = ux;
    aim[1] = uy;
    aim[2] = uz;
  }
}
