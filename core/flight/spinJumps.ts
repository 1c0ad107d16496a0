/**
 * Releases from a turning stack as an engine flies them: the jump of velocity where a segment begins, and the state before it,
 * in the controlled flight and over held steps.
 */
import type { Motion } from './motion.ts';
import type { Segment } from './planTypes.ts';
import { applyKicks } from './spin.ts';

/** SI, inertial frame. See the top of the file. */
export class SpinJumps {
  /** Where the flight came to a segment: its index, the state and the direction of thrust just before. */
  private readonly arrived: { at: number; readonly state: Float64Array; readonly aim: Float64Array };
  /** The state before each jump, by segment: in the last controlled flight, and in the last one over held steps. */
  private readonly before = new Map<number, { flown: Float64Array; again: Float64Array }>();
  private readonly slope: Float64Array;

  /** `size` is that of the motion's state. */
  constructor(
    private readonly motion: Motion,
    size: number,
  ) {
    this.slope = new Float64Array(size);
    this.arrived = { at: -1, state: new Float64Array(size), aim: new Float64Array(3) };
  }

  /** Forgets the flight before. */
  clear(): void {
    this.before.clear();
    this.arrived.at = -1;
  }

  /** A flight over held steps begins: what it does not fly again is as it was flown. */
  beginAgain(): void {
    for (const kept of this.before.values()) kept.again.set(kept.flown);
  }

  /**
   * Puts the releases where a segment begins on the state `y` (m, m/s) of a controlled flight that has come to it at mission
   * time t (s) with a payload (kg). A plan that is made again there begins from the state before. The motion still is that of
   * the span before.
   */
  fly(index: number, { kicks }: Segment, payload_kg: number, t: number, y: Float64Array): void {
    const { arrived, motion } = this;
    if (arrived.at === index) y.set(arrived.state);
    else {
      motion.derivative(t, y, this.slope);
      arrived.aim.set(motion.aim);
      arrived.state.set(y);
      arrived.at = index;
    }
    this.before.delete(index);
    if (kicks === undefined) return;
    this.before.set(index, { flown: y.slice(), again: y.slice() });
    applyKicks(kicks, payload_kg, arrived.aim, y, motion.rotation_radps);
  }

  /**
   * The same over held steps, on the state `y` (m, m/s); not at the segment from which they are flown again, whose state has
   * it. Payload in kg.
   */
  flyAgain(index: number, { start_s, kicks }: Segment, payload_kg: number, y: Float64Array): void {
    if (kicks === undefined) return;
    const kept = this.before.get(index);
    if (kept === undefined) this.before.set(index, { flown: y.slice(), again: y.slice() });
    else kept.again.set(y);
    this.motion.derivative(start_s, y, this.slope);
    applyKicks(kicks, payload_kg, this.motion.aim, y, this.motion.rotation_radps);
  }

  /** State just before the jump where a segment begins (m, m/s), as flown or `again`; null where there is none. */
  stateBefore(segment: number, again: boolean): Float64Array | null {
    const kept = this.before.get(segment);
    return kept === undefined ? null : again ? kept.again : kept.flown;
  }
}
