/** Closed forms that a return can be started from without a guess, and checked against. */

/**
 * Height (m) at which a vertical landing with constant deceleration must start to stop at the ground: v²/(2 (a − g)) from the
 * downward speed v (m/s), thrust acceleration a and gravity g (m/s²). Elementary; no air, mass held. Infinity when a ≤ g.
 */
export function stoppingHeight_m(speed_mps: number, thrust_mps2: number, gravity_mps2: number): number {
  const net = thrust_mps2 - gravity_mps2;
  return net > 0 ? (speed_mps * speed_mps) / (2 * net) : Number.POSITIVE_INFINITY;
}

/**
 * Time (s) until a body at height h (m) that climbs at w (m/s) comes down to height zero under constant gravity g (m/s²):
 * (w + √(w² + 2 g h))/g. Elementary; no air. NaN when it never does.
 */
export function timeAloft_s(height_m: number, climb_mps: number, gravity_mps2: number): number {
  return (climb_mps + Math.sqrt(climb_mps * climb_mps + 2 * gravity_mps2 * height_m)) / gravity_mps2;
}

/** A level burn that brings a ballistic body to a point. */
export interface BoostbackGuess {
  /** Clockwise from north, rad. */
  readonly azimuth_rad: number;
  readonly burn_s: number;
}

/**
 * The level burn after which a body falls onto a point at height zero, over a flat ground without air: place of the point
 * against the body and velocity over the ground, east and north (m, m/s), the time aloft (s), the wait before the burn (s), mass (kg), thrust (N) and
 * flow (kg/s) of the burn. Elementary: the velocity gained acts from the middle of the burn on. Null when the burn
 * would outlast the time aloft.
 */
export function boostbackGuess(
  east_m: number,
  north_m: number,
  eastward_mps: number,
  northward_mps: number,
  aloft_s: number,
  wait_s: number,
  mass_kg: number,
  thrust_N: number,
  flow_kgps: number,
): BoostbackGuess | null {
  const missEast = east_m - eastward_mps * aloft_s;
  const missNorth = north_m - northward_mps * aloft_s;
  const miss = Math.hypot(missEast, missNorth);
  const exhaust = thrust_N / flow_kgps;
  let burn_s = 0;
  for (let i = 0; i < 30; i++) {
    const left = aloft_s - wait_s - 0.5 * burn_s;
    if (!(left > 0)) return null;
    const gain = miss / left;
    burn_s = (mass_kg / flow_kgps) * -Math.expm1(-gain / exhaust);
  }
  return { azimuth_rad: Math.atan2(missEast, missNorth), burn_s };
}
