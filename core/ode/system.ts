/**
 * What the integrator needs of a problem y' = f(t, y).
 *
 * A right-hand side may be piecewise smooth: tables with kinks, layers of air. Such a system freezes one smooth piece,
 * evaluates the piece's own formula even a little beyond its edge, and tells by `pieceMargin` how far the edge is. The
 * driver then ends a step exactly on the edge and only there changes the piece, so that no step crosses a kink and the
 * method keeps its order.
 *
 * Contract of a system:
 * 1. `derivative` writes `dimension` numbers, allocates nothing, and is smooth while the piece is frozen.
 * 2. `pieceMargin` is continuous, positive inside the frozen piece, negative outside, in a unit of the order of a piece's
 *    width: 1e-12 of it counts as on the edge, and its rounding should be no more.
 * 3. `crossEdge` moves to the neighbour across the edge whose margin is smallest at (t, y).
 * 4. `choosePiece` freezes the piece that holds (t, y), from scratch.
 * 5. `piece`/`setPiece` read and restore the frozen piece as one integer, for flights on a held step sequence.
 */
export interface OdeSystem {
  readonly dimension: number;
  derivative(t: number, y: Float64Array, dydt: Float64Array): void;
  pieceMargin(t: number, y: Float64Array): number;
  crossEdge(t: number, y: Float64Array): void;
  choosePiece(t: number, y: Float64Array): void;
  piece(): number;
  setPiece(code: number): void;
}

/** Base for systems that are smooth everywhere: one piece without an edge. */
export abstract class SmoothSystem implements OdeSystem {
  abstract readonly dimension: number;
  /** Writes f(t, y) into `dydt`, in the system's units. */
  abstract derivative(t: number, y: Float64Array, dydt: Float64Array): void;
  /** Always +Infinity: there is no edge. Dimensionless. */
  pieceMargin(): number {
    return Number.POSITIVE_INFINITY;
  }
  /** Does nothing: there is no edge to cross. Unitless. */
  crossEdge(): void {
    // Nothing to change in a single piece.
  }
  /** Does nothing: there is one piece. Unitless. */
  choosePiece(): void {
    // Nothing to choose.
  }
  /** Always piece 0. Unitless. */
  piece(): number {
    return 0;
  }
  /** Does nothing: there is one piece. Unitless. */
  setPiece(): void {
    // Nothing to restore.
  }
}
