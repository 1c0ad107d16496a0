import { Axes } from './axes.ts';
import type { LaunchFrame, SteeringLaw } from './law.ts';

/**
 * The bilinear tangent law: tan θ = (a + b t)/(c + d t), θ above the horizontal of the instant at which the law takes
 * effect, in the plane of radius and inertial velocity of that instant, t since then; the thrust points along a vector
 * that is linear in time. Optimal for constant gravity over a flat Earth when downrange distance counts: A. E. Bryson,
 * Y.-C. Ho, Applied Optimal Control, 1975, section 2.7 (from memory).
 *
 * The four numbers are one too many and badly scaled. Kept instead are the angles θ₀ at the start and θ₁ after a span T, and
 * the weight w of the second against the first: a = sin θ₀, c = cos θ₀, a + b T = w sin θ₁, c + d T = w cos θ₁. With both
 * angles between −90° and 90° there is no pole within the span; w = cos θ₀ / cos θ₁ makes the law linear.
 */
export class BilinearTangentLaw implements SteeringLaw {
  readonly alongAir = false;
  private readonly axes = new Axes('start');
  private start_s = 0;
  private a = 0;
  private b_ps = 0;
  private c = 1;
  private d_ps = 0;

  /** Takes the index of θ₀, after which θ₁ and w stand, and the span T in s, > 0. */
  constructor(
    private readonly firstIndex: number,
    private readonly span_s: number,
  ) {}

  /** Takes θ₀ and θ₁ (rad) and the weight w (dimensionless, > 0). */
  read(values: Float64Array): void {
    const start_rad = values[this.firstIndex]!;
    const end_rad = values[this.firstIndex + 1]!;
    const weight = values[this.firstIndex + 2]!;
    this.a = Math.sin(start_rad);
    this.c = Math.cos(start_rad);
    this.b_ps = (weight * Math.sin(end_rad) - this.a) / this.span_s;
    this.d_ps = (weight * Math.cos(end_rad) - this.c) / this.span_s;
  }

  /** Fixes plane and horizontal from the state (m, m/s); t_s is where t counts from. */
  start(t_s: number, y: Float64Array, launch: LaunchFrame): void {
    this.start_s = t_s;
    this.axes.start(y, launch);
  }

  /** Writes the direction as a unit vector; t_s in seconds of mission time. */
  point(t_s: number, aim: Float64Array): void {
    const { ahead, up } = this.axes;
    const t = t_s - this.start_s;
    const rise = this.a + this.b_ps * t;
    const run = this.c + this.d_ps * t;
    const size = 1 / Math.sqrt(rise * rise + run * run);
    const s = rise * size;
    const c = run * size;
    aim[0] = c * ahead[0]! + s * up[0]!;
    aim[1] = c * ahead[1]! + s * up[1]!;
    aim[2] = c * ahead[2]! + s * up[2]!;
  }
}
