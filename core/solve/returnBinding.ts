/** What holds the answer of a return, and at what price. */
import type { ReturnEngine } from '../recovery/engine.ts';
import type { ReturnPhase } from '../recovery/legs.ts';
import type { LimitKind } from '../recovery/peaks.ts';

/** What keeps a return from taking less. */
export type Binding =
  | {
      readonly kind: LimitKind;
      readonly phase: ReturnPhase;
      readonly value: number;
      readonly multiplier_kg: number;
    }
  | {
      readonly kind: 'number';
      readonly number: number;
      readonly at: 'lower' | 'upper';
      readonly multiplier_kg: number;
    };

/** A multiplier below this counts as none, kg per unit. */
const LEAST_MULTIPLIER = 1e-6;

/**
 * What holds an answer: limits and bounds with a price. Multipliers are those of the limits and of the free numbers, in units of
 * an objective that counts in `scale` kg.
 */
export function bindings(
  engine: ReturnEngine,
  free: readonly number[],
  limitMultipliers: Float64Array,
  boundMultipliers: Float64Array,
  scale: number,
): Binding[] {
  const found: Binding[] = [];
  engine.peaks.peaks.forEach((peak, i) => {
    const multiplier_kg = limitMultipliers[i]! * scale;
    if (multiplier_kg <= LEAST_MULTIPLIER * scale) return;
    const { kind, value } = engine.peaks.limits[peak.limit]!;
    found.push({ kind, phase: peak.phase, value, multiplier_kg });
  });
  free.forEach((number, i) => {
    const multiplier = boundMultipliers[i]! * scale;
    if (Math.abs(multiplier) <= LEAST_MULTIPLIER * scale) return;
    found.push({
      kind: 'number',
      number,
      at: multiplier > 0 ? 'lower' : 'upper',
      multiplier_kg: Math.abs(multiplier),
    });
  });
  return found;
}
