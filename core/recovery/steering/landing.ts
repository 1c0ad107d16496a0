import { EARTH_ROTATION_radps } from '../../constants/physical.ts';
import type { EarthFigure } from '../../earth/figure.ts';
import type { SteeringLaw } from '../../flight/steering/law.ts';

/** Below this speed over the ground the lean fades, to nothing at rest, so that the body touches down upright. m/s */
const FADE_mps = 20;

/**
 * Landing guidance: thrust leans from the vertical (the figure's normal) to the east and to the north by tangents that are
 * linear in time over the burn, so that place over the ground and velocity over the ground can both be closed. The form that is
 * optimal for constant gravity over a flat ground: A. E. Bryson, Y.-C. Ho, Applied Optimal Control, 1975, section 2.7
 * (from memory). Below 20 m/s over the ground both tangents are multiplied by 1 − (1 − q)³, q = (v / 20 m/s)²: a polynomial
 * of the velocity, twice continuously differentiable where it begins, that makes the body stand upright at rest (this
 * project's choice, no source). East is undefined at a pole.
 */
export class LandingLaw implements SteeringLaw {
  readonly alongAir = false;
  /** Tangents east and north at the start of the burn, and at its end, before they fade. Set from outside. */
  readonly lean = new Float64Array(4);
  /** Length of the burn, s. Set from outside. */
  length_s = 1;
  private start_s = 0;
  private readonly up = new Float64Array(3);

  /** Over a figure, whose normal is the vertical. */
  constructor(private readonly figure: EarthFigure) {}

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
    const { lean, up } = this;
    const x = y[0]!;
    const yy = y[1]!;
    const wx = y[3]! + EARTH_ROTATION_radps * yy;
    const wy = y[4]! - EARTH_ROTATION_radps * x;
    const wz = y[5]!;
    const left = 1 - (wx * wx + wy * wy + wz * wz) / (FADE_mps * FADE_mps);
    const share = left > 0 ? 1 - left * left * left : 1;
    const east = share * (lean[0]! + part * (lean[2]! - lean[0]!));
    const north = share * (lean[1]! + part * (lean[3]! - lean[1]!));
    this.figure.up(x, yy, y[2]!, up);
    const axial = Math.sqrt(x * x + yy * yy);
    const scale = 1 / Math.sqrt(1 + east * east + north * north);
    // East (−y, x, 0)/ρ; north is up × east.
    const ex = -yy / axial;
    const ey = x / axial;
    const ux = up[0]!;
    const uy = up[1]!;
    const uz = up[2]!;
    aim[0] = scale * (ux + east * ex - north * uz * ey);
    aim[1] = scale * (uy + east * ey + north * uz * ex);
    aim[2] = scale * (uz + north * (ux * ey - uy * ex));
  }
}
