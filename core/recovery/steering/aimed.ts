import type { SteeringLaw } from '../../flight/steering/law.ts';

/** Thrust along a direction fixed in inertial space that is set from outside: the boostback's, or that kept since parting. */
export class AimedLaw implements SteeringLaw {
  readonly alongAir = false;
  /** Unit vector. */
  readonly direction = new Float64Array(3);

  /** Has no numbers of its own. Unitless. */
  read(): void {
    // Nothing to read.
  }

  /** Needs no start. Unitless. */
  start(): void {
    // The direction is set already.
  }

  /** Writes the direction (unit vector). */
  point(_t_s: number, aim: Float64Array): void {
    aim[0] = this.direction[0]!;
    aim[1] = this.direction[1]!;
    aim[2] = this.direction[2]!;
  }
}
