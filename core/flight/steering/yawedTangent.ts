import type { SteeringLaw } from './law.ts';
import { LinearTangentLaw } from './linearTangent.ts';

/**
 * The linear tangent law in a plane turned about the vertical of the law's start: tan θ = a + b (t − t₀) with θ above the
 * horizontal, in the plane that lies `yaw` to the right of the inertial velocity of that instant; axes fixed in inertial space.
 */
export class YawedTangentLaw implements SteeringLaw {
  readonly alongAir = false;
  private readonly tangent: LinearTangentLaw;
  private readonly axis = new Float64Array(3);
  private cos = 1;
  private sin = 0;

  constructor(
    aIndex: number,
    bIndex: number,
    private readonly yawIndex: number,
  ) {
    this.tangent = new LinearTangentLaw(aIndex, bIndex);
  }

  /** Takes a (dimensionless), b (1/s) and the yaw (rad). */
  read(values: Float64Array): void {
    this.tangent.read(values);
    this.cos = Math.cos(values[this.yawIndex]!);
    this.sin = Math.sin(values[this.yawIndex]!);
  }

  /** Fixes plane and horizontal from the state (m, m/s); t_s is t₀. */
  start(t_s: number, y: Float64Array): void {
    this.tangent.start(t_s, y);
    const r = Math.sqrt(y[0]! * y[0]! + y[1]! * y[1]! + y[2]! * y[2]!);
    for (let i = 0; i < 3; i++) this.axis[i] = y[i]! / r;
  }

  /** Writes the direction as a unit vector; t_s in seconds of mission time. */
  point(t_s: number, aim: Float64Array): void {
    this.tangent.point(t_s, aim);
    const { axis, cos, sin } = this;
    const x = aim[0]!;
    const y = aim[1]!;
    const z = aim[2]!;
    // Rodrigues: a turn to the right is negative about the upward axis; d cos + (d × up) sin + up (up·d)(1 − cos).
    const along = (x * axis[0]! + y * axis[1]! + z * axis[2]!) * (1 - cos);
    aim[0] = x * cos + (y * axis[2]! - z * axis[1]!) * sin + along * axis[0]!;
    aim[1] = y * cos + (z * axis[0]! - x * axis[2]!) * sin + along * axis[1]!;
    aim[2] = z * cos + (x * axis[1]! - y * axis[0]!) * sin + along * axis[2]!;
  }
}
