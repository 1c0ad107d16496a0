/**
 * What a steering law is: it says where thrust points. Directions are unit vectors in the inertial frame.
 *
 * How to add one: a schema entry in `contract/sequence.ts`, a class here in a file of its own, its free numbers and its
 * constructor in `flight/compileLaw.ts`, a kink in `lawBreak.ts`. A law's free numbers are parameters of the compiled study; the law keeps their index.
 */
export interface LaunchFrame {
  /** The site's upward vertical at release, unit vector. */
  readonly up: Float64Array;
  /** Horizontal toward the launch azimuth at release, unit vector. */
  readonly ahead: Float64Array;
}

export interface SteeringLaw {
  /**
   * Thrust simply lies along the air-relative velocity: `point` would leave `aim` as it is, and the equations of motion
   * spare themselves the call.
   */
  readonly alongAir: boolean;
  /** Takes its numbers from the parameter values (SI, radians). */
  read(values: Float64Array): void;
  /**
   * The law takes effect at mission time t_s with the inertial state y (m, m/s).
   */
  start(t_s: number, y: Float64Array, launch: LaunchFrame): void;
  /**
   * Writes the thrust direction (unit vector) into `aim`, which comes in holding that of the air-relative velocity (the
   * vertical while at rest). t_s is mission time, s; y the inertial state, m and m/s. Allocates nothing: vectors come as
   * arrays, since numbers that are handed over one by one are boxed.
   */
  point(t_s: number, aim: Float64Array, y: Float64Array): void;
}
