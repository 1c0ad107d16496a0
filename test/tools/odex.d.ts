// What the tests use of the package odex, which ships its source instead of declarations: read as it stands, that
// source would be held to this project's compiler options.

export class Solver {
  /** @param n  The number of equations. */
  constructor(n: number);
  maxSteps: number;
  initialStepSize: number;
  maxStepSize: number;
  absoluteTolerance: number | number[];
  relativeTolerance: number | number[];
  denseOutput: boolean;
  solve(
    f: (x: number, y: number[]) => number[],
    x: number,
    y0: readonly number[],
    xEnd: number,
    solOut?: (
      step: number,
      xOld: number,
      x: number,
      y: number[],
      dense?: (component: number, x: number) => number,
    ) => unknown,
  ): {
    y: number[];
    outcome: number;
    nStep: number;
    xEnd: number;
    nAccept: number;
    nReject: number;
    nEval: number;
  };
}
