import type { SteeringLaw } from './law.ts';

/** Thrust along the air-relative velocity: zero angle of attack, the gravity turn. */
export class ZeroAlphaLaw implements SteeringLaw {
  readonly alongAir = true;
  /** Has no numbers of its own. Unitless. */
  read(): void {
    // Nothing to read.
  }

  /** Needs no start. Unitless. */
  start(): void {
    // Nothing to keep.
  }

  /** Leaves the air-relative direction (unit vector) that it finds. */
  point(): void {
    // It is there already.
  }
}
