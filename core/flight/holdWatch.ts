/** What a flight watches while a limit is in force: where the limit changes what it does, and the propellant that it shapes. */
import type { Monitor } from '../ode/driver.ts';
import type { Motion } from './motion.ts';
import type { HeldSpan, HoldMode, Segment } from './planTypes.ts';

/** Where a limit changes what it does, and to what. */
interface Turn {
  readonly to: HoldMode;
  readonly monitor: Monitor;
}

/** The turns of a limit and the levels of the body whose engines it throttles, on one flight's equations of motion. */
export class HoldWatch {
  private segment: Segment | null = null;
  private readonly slope: Float64Array;
  private readonly turns: Readonly<Record<HoldMode, readonly Turn[]>>;
  /** The limited body has burned all but its residual. */
  readonly dry: Monitor;

  constructor(
    private readonly motion: Motion,
    private readonly residual_kg: (body: number) => number,
  ) {
    this.slope = new Float64Array(motion.dimension);
    const wanted =
      (above: () => number): Monitor['value'] =>
      (t, y) => {
        motion.derivative(t, y, this.slope);
        return motion.wanted - above();
      };
    const full = wanted(() => 1);
    const least = wanted(() => this.hold.least);
    this.turns = {
      idle: [{ to: 'holding', monitor: { direction: -1, value: full } }],
      holding: [
        { to: 'idle', monitor: { direction: 1, value: full } },
        { to: 'least', monitor: { direction: -1, value: least } },
      ],
      least: [{ to: 'holding', monitor: { direction: 1, value: least } }],
    };
    this.dry = { direction: -1, value: (t, y) => this.left_kg(t, y) - this.residual_kg(this.hold.body) };
  }

  /** Takes over the segment in hand; returns where its limit may turn, nothing when none is in force. Unitless. */
  enter(segment: Segment): readonly Turn[] {
    this.segment = segment;
    const { hold } = segment;
    if (hold === undefined) return [];
    // Without a range to throttle in, the limit is exceeded as soon as it is met.
    return this.turns[hold.mode];
  }

  /** Whether a limit throttles in the segment in hand. Unitless. */
  get throttles(): boolean {
    const { hold } = this.segment!;
    return hold !== undefined && hold.mode !== 'idle';
  }

  /** What the limit of the segment in hand must do where it starts, at (t, y): s, SI. */
  modeAt(t: number, y: Float64Array): HoldMode {
    this.motion.derivative(t, y, this.slope);
    const { wanted } = this.motion;
    return wanted >= 1 ? 'idle' : wanted > this.hold.least ? 'holding' : 'least';
  }

  /** Share of the commanded throttle at (t, y) in the segment in hand: s, SI. */
  shareAt(t: number, y: Float64Array): number {
    this.motion.derivative(t, y, this.slope);
    return this.motion.share;
  }

  /**
   * A monitor of propellant of the limited body coming down to a level (kg, a function of nothing else), so that a cut
   * commanded then leaves just that after its tail-off.
   */
  level(level_kg: () => number): Monitor {
    return {
      direction: -1,
      value: (t, y) => {
        const left = this.left_kg(t, y);
        const { hold, start_s } = this.segment!;
        const tau = t - start_s;
        const [constant, linear, square] = hold!.restTailOff;
        const rest = constant + tau * (linear + tau * square);
        return left - this.shareAt(t, y) * hold!.tailOff_kg - rest - level_kg();
      },
    };
  }

  private get hold(): HeldSpan {
    return this.segment!.hold!;
  }

  private left_kg(t: number, y: Float64Array): number {
    const { hold } = this;
    const tau = t - this.segment!.start_s;
    const flow = hold.flow_kgps + hold.ownFlow_kgps + 0.5 * tau * hold.ownFlowRate_kgps2;
    const saved = y[y.length - 1]! - hold.saved_kg;
    return this.segment!.propellant_kg[hold.body]! - tau * flow + saved;
  }
}
