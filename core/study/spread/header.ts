/** What identifies a spread in its part files, and what its figures are read with. Plain data. */
import type { Quantity, SpreadCase, SpreadInput, SpreadPlan } from './plan.ts';

export interface SpreadHeader {
  readonly title: string;
  /** Content hash of the study. */
  readonly inputsHash: string;
  /** Fingerprint of the engine's elementary functions. */
  readonly engine: string;
  readonly seed: number;
  readonly indices: boolean;
  readonly inputs: readonly SpreadInput[];
  readonly cases: readonly (SpreadCase & {
    /** Where nothing varies, kg. */
    readonly payload_kg: number;
    /** kg per unit of each input. */
    readonly slopes: readonly number[];
  })[];
  readonly quantities: readonly Quantity[];
}

/** The header of a plan. Masses in kg, inputs in their own units. */
export function headerOf(plan: SpreadPlan): SpreadHeader {
  return {
    title: plan.study.title,
    inputsHash: plan.hash,
    engine: plan.engine,
    seed: plan.seed,
    indices: plan.indices,
    inputs: plan.inputs,
    cases: plan.cases.map(({ name, changes, payload_kg, slopes }) => ({
      name,
      changes,
      payload_kg,
      slopes: [...slopes],
    })),
    quantities: plan.quantities,
  };
}

/** Draws a member: one, or k + 2 with indices. Unitless. */
export function drawCount(header: Pick<SpreadHeader, 'indices' | 'inputs'>): number {
  return header.indices ? header.inputs.length + 2 : 1;
}
