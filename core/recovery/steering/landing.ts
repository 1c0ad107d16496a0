import type { SteeringLaw } from '../../flight/steering/law.ts';

/**
 * Landing guidance: thrust leans from the vertical (the radius) to the east and to the north by tangents that are linear in
 * time over the burn, so that place over the ground and velocity over the ground can both be closed. The form that is
 * optimal for constant gravity over a flat ground: A. E. Bryson, Y.-C. Ho, Applied Optimal Control, 1975, section 2.7
 * (from memory). East is undefined at a pole.
 */
export class LandingLaw implements SteeringLaw {
  readonly alongAir = false;
  /** Tangents east and north at the start of the burn, and at its end. Set from outside. */
  readonly lean = new Float64Array(4);
  /** Length of the burn, s. Set from outside. */
  length_s = 1;
  private start_s = 0;

  /** Its numbers are set from outside. Unitless. */
  read(): void {
    // Nothing to read.
  }

  /** The burn starts at mission time t_s (s). */
  start(t_s: number): void {
    this.start_s = t_s;
  }

  /** Writes the leaning direction as a unit vector; y inertial, m and m/s; t_s mission time, s. */
  point(t_s: number, aim: Float64Array, y: Float64Array): void {
    const part = (t_s - this.start_s) / this.length_s;
    const { lean } = this;
    const east = lean[0]! + part * (lean[2]! - lean[0]!);
    const north = lean[1]! + part * (lean[3]! - lean[1]!);
    const x = y[0]!;
    const yy = y[1]!;
    const z = y[2]!;
    const axial = Math.sqrt(x * x + yy * yy);
    const r = Math.sqrt(axial * axial + z * z);
    const scale = 1 / Math.sqrt(1 + east * east + north * north);
    // East (−y, x, 0)/ρ, north (−x z, −y z, ρ²)/(ρ r), up (x, y, z)/r.
    const e = east / axial;
    const n = north / (axial * r);
    aim[0] = scale * (x / r - e * yy - n * x * z);
    aim[1] = scale * (yy / r + e * x - n * yy * z);
    aim[2] = scale * (z / r + n * axial * axial);
  }
}
