/**
 * What a steering law is: it says where thrust points. Directions are unit vectors in the inertial frame.
 *
 * How to add one: a schema entry in `contract/sequence.ts`, a class here in a file of its own, a line in
 * `compileLaw.ts`. A law's free numbers are parameters of the compiled study; the law keeps their index.
 */
export interface LaunchFrame {
  /** The site's upward vertical at release, unit vector. */
  readonly up: Float64Array;
  /** Horizontal toward the launch azimuth at release, unit vector. */
  readonly ahead: Float64Array;
}

export interface SteeringLaw {
  /** Takes its numbers from the parameter values (SI, radians). */
  read(values: Float64Array): void;
  /**
   * The law takes effect at mission time t_s with the inertial state y (m, m/s).
   */
  start(t_s: number, y: Float64Array, launch: LaunchFrame): void;
  /**
   * Writes the thrust direction into `aim` (3 numbers). x…vz is the inertial state, ux…uz the unit vector of the
   * air-relative velocity (the vertical while at rest). Allocates nothing.
   */
  point(t_s: number, ux: number, uy: number, uz: number, aim: Float64Array): void;
}
