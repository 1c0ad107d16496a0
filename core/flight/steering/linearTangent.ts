import type { SteeringLaw } from './law.ts';

/**
 * The linear tangent law: tan θ = a + b (t − t₀), θ above the horizontal of the instant at which the law takes effect,
 * in the plane of radius and inertial velocity of that instant, axes fixed in inertial space.
 * Optimal for constant gravity over a flat Earth: A. E. Bryson, Y.-C. Ho, Applied Optimal Control, 1975, section 2.7
 * (from memory).
 */
export class LinearTangentLaw implements SteeringLaw {
  readonly alongAir = false;
  private readonly up = new Float64Array(3);
  private readonly ahead = new Float64Array(3);
  private start_s = 0;
  private a = 0;
  private b_ps = 0;

  constructor(
    private readonly aIndex: number,
    private readonly bIndex: number,
  ) {}

  /** Takes a (dimensionless) and b (1/s). */
  read(values: Float64Array): void {
    this.a = values[this.aIndex]!;
    this.b_ps = values[this.bIndex]!;
  }

  /** Fixes plane and horizontal from the state (m, m/s); t_s is t₀. */
  start(t_s: number, y: Float64Array): void {
    this.start_s = t_s;
    const x = y[0]!;
    const yy = y[1]!;
    const z = y[2]!;
    const r = Math.sqrt(x * x + yy * yy + z * z);
    const ux = x / r;
    const uy = yy / r;
    const uz = z / r;
    const vx = y[3]!;
    const vy = y[4]!;
    const vz = y[5]!;
    const climb = vx * ux + vy * uy + vz * uz;
    const hx = vx - climb * ux;
    const hy = vy - climb * uy;
    const hz = vz - climb * uz;
    const h = Math.sqrt(hx * hx + hy * hy + hz * hz);
    this.up[0] = ux;
    this.up[1] = uy;
    this.up[2] = uz;
    this.ahead[0] = hx / h;
    this.ahead[1] = hy / h;
    this.ahead[2] = hz / h;
  }

  /** Writes the direction as a unit vector; t_s in seconds of mission time. */
  point(t_s: number, aim: Float64Array): void {
    const tangent = this.a + this.b_ps * (t_s - this.start_s);
    const c = 1 / Math.sqrt(1 + tangent * tangent);
    const s = tangent * c;
    aim[0] = c * this.ahead[0]! + s * this.up[0]!;
    aim[1] = c * this.ahead[1]! + s * this.up[1]!;
    aim[2] = c * this.ahead[2]! + s * this.up[2]!;
  }
}
