/** A direction within the plane of two directions at right angles. */

/**
 * Writes the unit vector of v's part in the plane of the unit vectors `up` and `ahead` (at right angles) into `out`; v stands
 * in `from` at `offset`, in any unit. `up` itself where v is normal to the plane. `from` may be `out`.
 */
export function writeInPlane(
  up: Float64Array,
  ahead: Float64Array,
  from: Float64Array,
  offset: number,
  out: Float64Array,
): void {
  const x = from[offset]!;
  const y = from[offset + 1]!;
  const z = from[offset + 2]!;
  let rise = x * up[0]! + y * up[1]! + z * up[2]!;
  let along = x * ahead[0]! + y * ahead[1]! + z * ahead[2]!;
  const size = Math.sqrt(rise * rise + along * along);
  rise = size > 0 ? rise / size : 1;
  along = size > 0 ? along / size : 0;
  for (let i = 0; i < 3; i++) out[i] = rise * up[i]! + along * ahead[i]!;
}
