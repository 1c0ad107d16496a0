/**
 * Coefficients of the explicit Runge-Kutta pair of order 5(4) of Dormand and Prince, with the fourth-order
 * interpolant of Shampine as used by Hairer.
 *
 * Source: J. R. Dormand, P. J. Prince, A family of embedded Runge-Kutta formulae, J. Comp. Appl. Math. 6 (1980) 19-26;
 * interpolant: E. Hairer, S. P. Nørsett, G. Wanner, Solving Ordinary Differential Equations I, 2nd ed., Springer 1993,
 * section II.6 (the numbers d of the continuous output).
 */
export interface ExplicitPair {
  readonly stages: number;
  readonly order: number;
  readonly errorOrder: number;
  /** Nodes, one a stage. */
  readonly c: readonly number[];
  /** Strictly lower triangular, row by row. */
  readonly a: readonly (readonly number[])[];
  /** Weights of the solution that is carried on. */
  readonly b: readonly number[];
  /** Weights of the solution less those of the embedded one. */
  readonly e: readonly number[];
  /** Weights of the last interpolation coefficient. */
  readonly d: readonly number[];
}

export const dormandPrince54: ExplicitPair = {
  stages: 7,
  order: 5,
  errorOrder: 4,
  c: [0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1, 1],
  a: [
    [],
    [1 / 5],
    [3 / 40, 9 / 40],
    [44 / 45, -56 / 15, 32 / 9],
    [19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729],
    [9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656],
    [35 / 384, 0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84],
  ],
  b: [35 / 384, 0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84, 0],
  e: [71 / 57600, 0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40],
  d: [
    -12715105075 / 11282082432,
    0,
    87487479700 / 32700410799,
    -10690763975 / 1880347072,
    701980252875 / 199316789632,
    -1453857185 / 822651844,
    69997945 / 29380423,
  ],
};
