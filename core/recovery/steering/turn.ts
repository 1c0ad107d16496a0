import type { SteeringLaw } from '../../flight/steering/law.ts';

/** Turns thrust from one direction to another at a constant rate, the short way round, axes fixed in inertial space. */
export class TurnLaw implements SteeringLaw {
  readonly alongAir = false;
  /** Unit vectors. */
  readonly from = new Float64Array(3);
  readonly to = new Float64Array(3);
  private start_s = 0;
  private angle_rad = 0;

  constructor(private readonly rate_radps: number) {}

  /** Its directions are set from outside. Unitless. */
  read(): void {
    // Nothing to read.
  }

  /** How long the turn takes, s. */
  get duration_s(): number {
    return angleBetween_rad(this.from, this.to) / this.rate_radps;
  }

  /** The turn starts at mission time t_s (s). */
  start(t_s: number): void {
    this.start_s = t_s;
    this.angle_rad = angleBetween_rad(this.from, this.to);
  }

  /** Writes the turned direction as a unit vector; t_s in seconds of mission time. */
  point(t_s: number, aim: Float64Array): void {
    const whole = this.angle_rad;
    const turned = Math.min(Math.max((t_s - this.start_s) * this.rate_radps, 0), whole);
    const sine = Math.sin(whole);
    // Opposite directions have no short way round: the turn then jumps at its middle.
    const p = sine > 1e-9 ? Math.sin(whole - turned) / sine : turned < 0.5 * whole ? 1 : 0;
    const q = sine > 1e-9 ? Math.sin(turned) / sine : 1 - p;
    for (let i = 0; i < 3; i++) aim[i] = p * this.from[i]! + q * this.to[i]!;
  }
}

/** Angle between two unit vectors, rad, 0 to π; exact for small angles too. */
function angleBetween_rad(a: Float64Array, b: Float64Array): number {
  const x = a[1]! * b[2]! - a[2]! * b[1]!;
  const y = a[2]! * b[0]! - a[0]! * b[2]!;
  const z = a[0]! * b[1]! - a[1]! * b[0]!;
  return Math.atan2(Math.hypot(x, y, z), a[0]! * b[0]! + a[1]! * b[1]! + a[2]! * b[2]!);
}
