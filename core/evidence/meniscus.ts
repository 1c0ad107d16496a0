/** When the surface of a liquid upside down in a cylinder gives way, worked out from its meridian. */
import { findRoot } from '../math/roots.ts';
import { StepStore } from '../ode/dense.ts';
import { Driver } from '../ode/driver.ts';
import { SmoothSystem } from '../ode/system.ts';

const R = 0;
const Z = 1;
const PSI = 2;

/**
 * Meridian of a meniscus whose curvature on the axis is 1, against arc length: dr/ds = cos ψ, dz/ds = sin ψ, dψ/ds = 2 − B z −
 * sin ψ / r (P. Concus, J. Fluid Mech. 34 (1968) 481, from memory), the acceleration from liquid to gas.
 */
class Meridian extends SmoothSystem {
  readonly dimension = 3;
  constructor(readonly bond: number) {
    super();
  }

  bend(y: ArrayLike<number>): number {
    const { [R]: r = 0, [Z]: z = 0, [PSI]: psi = 0 } = y;
    // On the axis both curvatures are 1.
    return r < 1e-9 ? 1 : 2 - this.bond * z - Math.sin(psi) / r;
  }

  override derivative(_s: number, y: Float64Array, dyds: Float64Array): void {
    dyds[R] = Math.cos(y[PSI]!);
    dyds[Z] = Math.sin(y[PSI]!);
    dyds[PSI] = this.bend(y);
  }
}

/** Slope (rad) and radius at which the meridian stops bending; an upright slope and more where it never does. */
function inflection(bond: number): { slope_rad: number; radius: number } {
  const system = new Meridian(bond);
  const driver = new Driver(3, {
    relative: 1e-12,
    absolute: new Float64Array(3).fill(1e-13),
    longestStep: 0.05,
    mostSteps: 20_000,
  });
  driver.start(system, 0, new Float64Array(3));
  const code = driver.advanceTo(
    system,
    8,
    [
      { direction: -1, value: (_s, y) => system.bend(y) },
      { direction: 1, value: (_s, y) => y[PSI]! - Math.PI },
    ],
    new StepStore(3),
  );
  const upright = code !== 'event' || driver.firedMonitor !== 0;
  return { slope_rad: upright ? Math.PI : driver.y[PSI]!, radius: driver.y[R]! };
}

/**
 * Critical Bond number on the radius of a right cylinder for a contact angle (degrees, 0 to 85): stability is lost where the
 * meridian's curvature vanishes at the wall. Dimensionless; good to 1e-6.
 */
export function criticalBond(contact_deg: number): number {
  const wanted_rad = ((90 - contact_deg) * Math.PI) / 180;
  const miss = (logBond: number): number => inflection(Math.exp(logBond)).slope_rad - wanted_rad;
  const bond = Math.exp(findRoot(miss, Math.log(0.2), Math.log(2000), 1e-12));
  return bond * inflection(bond).radius ** 2;
}
