/** Finds the peak of dynamic pressure during a hold that one steady throttle meets. */
import type { Monitor } from '../ode/driver.ts';
import type { MotionSetting, Motion } from './motion.ts';
import type { Segment } from './planTypes.ts';

/**
 * Half the time over which the rate of dynamic pressure is differenced, s. It puts the peak some 10 µs off, which is nothing
 * to its height, and keeps rounding below 1e-11 s, so that the place can be found over held steps.
 */
const REACH_s = 0.02;

/**
 * Ends segments wherever dynamic pressure may peak: where its rate falls through zero, and at edges of the air and the wind,
 * where its rate jumps. Then the greatest dynamic pressure is that at the start of one of the segments, and a smooth
 * function of a flight over held steps. Peaks where an engine is commanded start segments anyway.
 */
export class PeakWatch {
  readonly monitors: readonly Monitor[];
  /** Of each hold (event): the greatest dynamic pressure so far, Pa, and the segment at whose start it was. */
  private readonly most = new Map<number, { segment: number; pressure_Pa: number }>();
  private readonly again = new Map<number, number>();
  private readonly slope: Float64Array;
  private readonly scratch: Float64Array;
  private readonly aside: Float64Array;

  constructor(
    private readonly motion: Motion,
    setting: MotionSetting,
  ) {
    this.slope = new Float64Array(motion.dimension);
    this.scratch = new Float64Array(motion.dimension);
    this.aside = new Float64Array(motion.dimension);
    const edges_m = [...setting.atmosphere.pieceEdges_m, ...(setting.wind?.pieceEdges_m ?? [])];
    // Edges first: where the rate jumps through zero on one, the place is the edge's.
    this.monitors = [
      ...edges_m.map((edge_m): Monitor => {
        return { direction: 1, value: (_t, y) => setting.figure.height_m(y[0]!, y[1]!, y[2]!) - edge_m };
      }),
      { direction: -1, value: (t, y) => this.rate_Paps(t, y) },
    ];
  }

  /** Forgets the last flight. Unitless. */
  reset(): void {
    this.most.clear();
  }

  /** Looks at the start (t, y) of a segment (index) that follows `before`: s, SI. The motion must have entered it. */
  look(before: Segment | undefined, segment: Segment, index: number, t: number, y: Float64Array): void {
    const hold = segment.steady ?? before?.steady;
    if (hold === undefined) return;
    const pressure_Pa = this.pressure_Pa(t, y);
    const known = this.most.get(hold.event);
    if (known === undefined || pressure_Pa > known.pressure_Pa)
      this.most.set(hold.event, { segment: index, pressure_Pa });
  }

  /** The same over held steps: only where the greatest was. */
  lookAgain(index: number, t: number, y: Float64Array): void {
    for (const [event, { segment }] of this.most) {
      if (segment === index) this.again.set(event, this.pressure_Pa(t, y));
    }
  }

  /** Greatest dynamic pressure (Pa) during a hold in the last flight, or in that over held steps; NaN when not known. */
  greatest_Pa(event: number, held: boolean): number {
    return (held ? this.again.get(event) : this.most.get(event)?.pressure_Pa) ?? Number.NaN;
  }

  private pressure_Pa(t: number, y: Float64Array): number {
    this.motion.derivative(t, y, this.scratch);
    return 0.5 * this.motion.density_kgpm3 * this.motion.speedAir_mps ** 2;
  }

  /** Central difference along the flight, in the pieces frozen at the moment. */
  private rate_Paps(t: number, y: Float64Array): number {
    this.motion.derivative(t, y, this.slope);
    const beside = (reach_s: number): number => {
      for (let i = 0; i < y.length; i++) this.aside[i] = y[i]! + reach_s * this.slope[i]!;
      return this.pressure_Pa(t, this.aside);
    };
    return (beside(REACH_s) - beside(-REACH_s)) / (2 * REACH_s);
  }
}
