/**
 * An atmosphere as the equations of motion see it: state of the air as a function of geometric height, in
 * pieces inside each of which it is smooth.
 *
 * Heights at which a derivative of the air's state jumps are `pieceEdges_m`. An integrator asks `pieceAt` once
 * at the start of a step, keeps that piece while the step lasts and ends the step at the edge that it finds.
 * With the piece held, `evaluate` carries the piece's own formula on smoothly some hundred metres past its
 * edges, so that no stage of a step ever sees a kink.
 *
 * Nothing here allocates: results are fields of the object, overwritten by the next call.
 */
export interface Atmosphere {
  /** Mass density, kg/m3, written by `evaluate`. */
  density_kgpm3: number;
  /** Pressure, Pa, written by `evaluate`. */
  pressure_Pa: number;
  /** Speed of sound, m/s, written by `evaluate`; always finite and greater than zero, also where there is no
   * air, so that a Mach number can be formed. */
  soundSpeed_mps: number;
  /** Kinetic temperature, K, written by `evaluate`. */
  temperature_K: number;
  /** Geometric heights, m, ascending, at which a derivative jumps. Piece k lies between edge k - 1 and k. */
  readonly pieceEdges_m: Float64Array;
  /** Index of the piece that holds a geometric height, m; an edge belongs to the piece above it. */
  pieceAt(height_m: number): number;
  /** Writes the fields for a geometric height, m, by the formula of `piece`, from 0 to `pieceEdges_m.length`. */
  evaluate(height_m: number, piece: number): void;
  /** Speed of sound alone, m/s, without the cost of density and pressure. */
  soundSpeedAt(height_m: number, piece: number): number;
}

/**
 * Index of the piece that holds `value`: the number of edges at or below it.
 *
 * @param edges ascending.
 * @param value in the unit of the edges; not a number gives 0.
 */
export function pieceIndex(edges: Float64Array, value: number): number {
  let piece = 0;
  while (piece < edges.length && value >= edges[piece]!) piece++;
  return piece;
}
