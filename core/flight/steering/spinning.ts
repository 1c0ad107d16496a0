import type { HeldTurn } from '../spinTypes.ts';
import { FixedLaw } from './fixed.ts';
import type { SteeringLaw } from './law.ts';

/** Thrust along the axis of a freed piece that goes on turning at the rate at which it was let go, in the plane of its parting. */
class SpinningLaw implements SteeringLaw {
  readonly alongAir = false;
  /** `direction` is that of the axis at release, a unit vector. */
  constructor(
    readonly direction: Float64Array,
    readonly turn: HeldTurn,
  ) {}

  /** Has no numbers of its own. Unitless. */
  read(): void {
    // Nothing to read.
  }

  /** Needs no start. Unitless. */
  start(): void {
    // The direction is there already.
  }

  /** Writes the direction (unit vector) at mission time t_s (s). */
  point(t_s: number, aim: Float64Array): void {
    const { since_s, rate_radps, across } = this.turn;
    const angle = rate_radps * (t_s - since_s);
    const c = Math.cos(angle);
    const s = Math.sin(angle);
    for (let i = 0; i < 3; i++) aim[i] = c * this.direction[i]! + s * across[i]!;
  }
}

/** What points a freed piece: its direction at parting (unit vector), which stays where nothing turns it. */
export function heldLaw(direction: Float64Array, turn: HeldTurn | null): SteeringLaw {
  return turn === null ? new FixedLaw(direction) : new SpinningLaw(direction, turn);
}
