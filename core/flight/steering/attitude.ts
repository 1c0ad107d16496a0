import { NodeCurve, type CurveShape } from '../../math/nodeCurve.ts';
import { Axes, type AxesKind } from './axes.ts';
import type { LaunchFrame, SteeringLaw } from './law.ts';

/** What an attitude profile is laid through. */
export interface AttitudeNodes {
  readonly axes: AxesKind;
  readonly shape: CurveShape;
  /** Times after the law's start, rising, s. */
  readonly after_s: readonly number[];
  /** Index of each node's pitch among the parameter values. */
  readonly pitchIndex: readonly number[];
  /** The same of its yaw; −1 where it is zero and no number of the study. */
  readonly yawIndex: readonly number[];
}

/**
 * A free attitude profile: pitch and yaw are smooth curves in time through nodes, in axes fixed in inertial space (see
 * `axes.ts`): pitch above the horizontal in the plane ahead, yaw out of that plane to the right. After the last node its
 * attitude is held.
 */
export class AttitudeLaw implements SteeringLaw {
  readonly alongAir = false;
  private readonly axes: Axes;
  private readonly pitch: NodeCurve;
  private readonly yaw: NodeCurve;
  private readonly values: Float64Array;
  private readonly yaws: boolean;
  private start_s = 0;

  /** Throws RangeError when the nodes do not rise. Times in s. */
  constructor(private readonly nodes: AttitudeNodes) {
    const after = Float64Array.from(nodes.after_s);
    this.axes = new Axes(nodes.axes);
    this.pitch = new NodeCurve(after, nodes.shape);
    this.yaw = new NodeCurve(after, nodes.shape);
    this.values = new Float64Array(after.length);
    this.yaws = nodes.yawIndex.some((index) => index >= 0);
  }

  /** Takes pitch and yaw of the nodes (rad). */
  read(values: Float64Array): void {
    const { pitchIndex, yawIndex } = this.nodes;
    for (let i = 0; i < pitchIndex.length; i++) this.values[i] = values[pitchIndex[i]!]!;
    this.pitch.fit(this.values);
    if (!this.yaws) return;
    for (let i = 0; i < yawIndex.length; i++) this.values[i] = yawIndex[i]! < 0 ? 0 : values[yawIndex[i]!]!;
    this.yaw.fit(this.values);
  }

  /** Fixes the axes from the state (m, m/s); nodes count from t_s. */
  start(t_s: number, y: Float64Array, launch: LaunchFrame): void {
    this.start_s = t_s;
    this.axes.start(y, launch);
  }

  /** Writes the direction as a unit vector; t_s in seconds of mission time. */
  point(t_s: number, aim: Float64Array): void {
    const t = t_s - this.start_s;
    this.axes.point(this.pitch.at(t), this.yaws ? this.yaw.at(t) : 0, aim);
  }
}
