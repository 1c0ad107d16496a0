/** Releases from a turning stack as a plan and a track hold them; see `spin.ts`. SI. */

/** One side of a parting, payload left out. */
export interface SpinSide {
  readonly mass_kg: number;
  /** From the plane of separation to the centre of mass, away from the other side. */
  readonly centre_m: number;
  /** The same to the payload; NaN where it rides on the other side. */
  readonly payload_m: number;
}

/** What one release from a turning stack gives a flyer that takes part in it. */
export interface SpinKick {
  /** Nose toward the sky positive. */
  readonly rate_radps: number;
  /** Whether the flyer goes on above the plane of separation. */
  readonly goesAbove: boolean;
  readonly above: SpinSide;
  readonly below: SpinSide;
}

/** How a freed piece goes on turning: its axis at a time, and the direction that the axis turns toward, unit vectors. */
export interface HeldTurn {
  readonly since_s: number;
  readonly rate_radps: number;
  readonly across: Float64Array;
}
