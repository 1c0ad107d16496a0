import type { SteeringLaw } from './law.ts';

/**
 * Thrust along one direction, fixed in inertial space, that whoever makes the law gives and may change between flights: what
 * a freed piece does with the last of its thrust, or a flight home with its boostback.
 */
export class FixedLaw implements SteeringLaw {
  readonly alongAir = false;
  /** `direction` is a unit vector. */
  constructor(readonly direction: Float64Array) {}

  /** Has no numbers of its own. Unitless. */
  read(): void {
    // Nothing to read.
  }

  /** Needs no start. Unitless. */
  start(): void {
    // The direction is there already.
  }

  /** Writes the direction (unit vector). */
  point(_t_s: number, aim: Float64Array): void {
    aim[0] = this.direction[0]!;
    aim[1] = this.direction[1]!;
    aim[2] = this.direction[2]!;
  }
}
