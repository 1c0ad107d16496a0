/** Drag of the arrangements of bodies that fly together. */
import type { Aerodynamics } from '../contract/vehicle.ts';
import { LinearTable, MonotoneCubicTable, type PiecewiseTable } from '../math/interpolation.ts';

export interface DragTable {
  readonly referenceArea_m2: number;
  /** Drag coefficient against Mach number, both dimensionless. */
  readonly coefficient: PiecewiseTable;
  /** Normal force over dynamic pressure, reference area and angle of attack, 1/rad; 0 for none. */
  readonly normalForceSlope_perRad: number;
}

/** Makes the drag table of one arrangement: area in m², coefficient against Mach number (dimensionless), slope in 1/rad. */
export function compileDrag(
  data: Omit<Aerodynamics, 'bodies'> & Partial<Pick<Aerodynamics, 'bodies'>>,
): DragTable {
  const { mach, value, between } = data.dragCoefficient;
  return {
    referenceArea_m2: data.referenceArea_m2,
    normalForceSlope_perRad: data.normalForceSlope_per_rad ?? 0,
    coefficient: between === 'linear' ? new LinearTable(mach, value) : new MonotoneCubicTable(mach, value),
  };
}

/**
 * Index of the arrangement that consists of just these bodies (ids in any order), or −1. Unitless.
 */
export function findArrangement(arrangements: readonly Aerodynamics[], bodyIds: readonly string[]): number {
  return arrangements.findIndex(
    (a) => a.bodies.length === bodyIds.length && bodyIds.every((id) => a.bodies.includes(id)),
  );
}
