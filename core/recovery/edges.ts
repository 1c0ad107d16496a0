/** The edges that start and end a burn against the air: their quantities, what waits for them, and what became of them. */
import { EARTH_ROTATION_radps } from '../constants/physical.ts';
import { STATE_SIZE, type Motion } from '../flight/motion.ts';
import type { StepStore } from '../ode/dense.ts';
import type { Driver, Monitor } from '../ode/driver.ts';
import type { CompiledReturn } from './compile.ts';
import { stagnationHeating_Wpm2 } from './heating.ts';
import type { LegEnd } from './legs.ts';

type EdgeEnd = Extract<LegEnd, { kind: 'edge' }>;
export type EdgeKind = EdgeEnd['edge']['kind'];

/** An edge that a flight waited for in vain; SI in the edge's unit: m, m/s, Pa or W/m². */
export interface MissedEdge {
  readonly kind: EdgeKind;
  readonly starts: boolean;
  readonly value: number;
  /** Whether its burn began beyond it, so that it could end nothing. */
  readonly behind: boolean;
  /** Between these the quantity stayed while it was waited for. */
  readonly least: number;
  readonly most: number;
}

/** Looks into each step this many times. */
const LOOKS = 4;

/** Reads the quantities of edges off one engine's equations of motion; SI. */
export class Edges {
  private readonly slope = new Float64Array(STATE_SIZE);
  private readonly state = new Float64Array(STATE_SIZE);

  constructor(
    private readonly motion: Motion,
    private readonly compiled: CompiledReturn,
  ) {}

  /** Waits for the passage: a start as its quantity rises (a height: falls), an end as it falls. */
  monitor({ edge, starts }: EdgeEnd): Monitor {
    const { kind } = edge;
    const value = edgeValue(edge);
    const direction = starts && kind !== 'altitude' ? 1 : -1;
    return { direction, value: (t, y) => this.quantity(kind, t, y) - value };
  }

  /** Height (m), speed over the ground (m/s), dynamic pressure (Pa) or stagnation heating (W/m²) at (t s, y), the leg entered. */
  private quantity(kind: EdgeKind, t: number, y: Float64Array): number {
    const { motion, slope, compiled } = this;
    switch (kind) {
      case 'altitude':
        return compiled.study.setting.figure.height_m(y[0]!, y[1]!, y[2]!);
      case 'speed':
        return Math.hypot(y[3]! + EARTH_ROTATION_radps * y[1]!, y[4]! - EARTH_ROTATION_radps * y[0]!, y[5]!);
      case 'dynamicPressure':
        motion.derivative(t, y, slope);
        return 0.5 * motion.density_kgpm3 * motion.speedAir_mps * motion.speedAir_mps;
      case 'heating':
        motion.derivative(t, y, slope);
        return stagnationHeating_Wpm2(motion.density_kgpm3, motion.speedAir_mps, compiled.plan.noseRadius_m);
    }
  }

  /** What an edge's quantity came to in the steps from `first` on, and at (t s, y), while it was waited for in vain; SI. */
  missed(
    { edge, starts }: EdgeEnd,
    behind: boolean,
    { steps, driver }: { readonly steps: StepStore; readonly driver: Driver },
    first: number,
  ): MissedEdge {
    let least = this.quantity(edge.kind, driver.t, driver.y);
    let most = least;
    for (let step = first; step < steps.count; step++) {
      this.motion.setPiece(steps.pieceOf(step));
      for (let k = 0; k <= LOOKS; k++) {
        const t_s = steps.timeOf(step) + (k / LOOKS) * steps.lengthOf(step);
        steps.sampleStep(step, t_s, this.state);
        const value = this.quantity(edge.kind, t_s, this.state);
        least = Math.min(least, value);
        most = Math.max(most, value);
      }
    }
    return { kind: edge.kind, starts, value: edgeValue(edge), behind, least, most };
  }
}

/** The value of an edge in its own unit: m, m/s, Pa or W/m². */
export function edgeValue(edge: EdgeEnd['edge']): number {
  switch (edge.kind) {
    case 'altitude':
      return edge.height_m;
    case 'speed':
      return edge.speed_mps;
    case 'dynamicPressure':
      return edge.pressure_Pa;
    case 'heating':
      return edge.heatFlux_Wpm2;
  }
}
