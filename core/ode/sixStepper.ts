/**
 * The same step for systems of six components, position and velocity, which nearly all of the work is. Knows nothing of
 * rockets.
 *
 * Written out component by component, with slopes in local variables: a loop reads each slope from its array again for
 * every stage and tests each index, which takes twice as long. Results are those of `DormandPrinceStepper` to the bit; a
 * test holds the two against each other.
 */
import { DormandPrinceStepper } from './stepper.ts';
import type { OdeSystem } from './system.ts';

/** Work space and result of single steps for systems of six components. Reused: allocates only when made. */
export class SixStepper extends DormandPrinceStepper {
  constructor() {
    super(6);
  }

  /** As `DormandPrinceStepper.step`; the system must be of dimension 6. Units are the system's own. */
  override step(system: OdeSystem, t: number, y: Float64Array, h: number): void {
    const { slope, k2, k3, k4, k5, k6, k7, stage, yEnd } = this;
    const y0 = y[0]!;
    const y1 = y[1]!;
    const y2 = y[2]!;
    const y3 = y[3]!;
    const y4 = y[4]!;
    const y5 = y[5]!;
    const a0 = slope[0]!;
    const a1 = slope[1]!;
    const a2 = slope[2]!;
    const a3 = slope[3]!;
    const a4 = slope[4]!;
    const a5 = slope[5]!;

    stage[0] = y0 + h * (0.2 * a0);
    stage[1] = y1 + h * (0.2 * a1);
    stage[2] = y2 + h * (0.2 * a2);
    stage[3] = y3 + h * (0.2 * a3);
    stage[4] = y4 + h * (0.2 * a4);
    stage[5] = y5 + h * (0.2 * a5);
    system.derivative(t + 0.2 * h, stage, k2);
    const b0 = k2[0]!;
    const b1 = k2[1]!;
    const b2 = k2[2]!;
    const b3 = k2[3]!;
    const b4 = k2[4]!;
    const b5 = k2[5]!;

    stage[0] = y0 + h * ((3 / 40) * a0 + (9 / 40) * b0);
    stage[1] = y1 + h * ((3 / 40) * a1 + (9 / 40) * b1);
    stage[2] = y2 + h * ((3 / 40) * a2 + (9 / 40) * b2);
    stage[3] = y3 + h * ((3 / 40) * a3 + (9 / 40) * b3);
    stage[4] = y4 + h * ((3 / 40) * a4 + (9 / 40) * b4);
    stage[5] = y5 + h * ((3 / 40) * a5 + (9 / 40) * b5);
    system.derivative(t + 0.3 * h, stage, k3);
    const c0 = k3[0]!;
    const c1 = k3[1]!;
    const c2 = k3[2]!;
    const c3 = k3[3]!;
    const c4 = k3[4]!;
    const c5 = k3[5]!;

    stage[0] = y0 + h * ((44 / 45) * a0 - (56 / 15) * b0 + (32 / 9) * c0);
    stage[1] = y1 + h * ((44 / 45) * a1 - (56 / 15) * b1 + (32 / 9) * c1);
    stage[2] = y2 + h * ((44 / 45) * a2 - (56 / 15) * b2 + (32 / 9) * c2);
    stage[3] = y3 + h * ((44 / 45) * a3 - (56 / 15) * b3 + (32 / 9) * c3);
    stage[4] = y4 + h * ((44 / 45) * a4 - (56 / 15) * b4 + (32 / 9) * c4);
    stage[5] = y5 + h * ((44 / 45) * a5 - (56 / 15) * b5 + (32 / 9) * c5);
    system.derivative(t + 0.8 * h, stage, k4);
    const d0 = k4[0]!;
    const d1 = k4[1]!;
    const d2 = k4[2]!;
    const d3 = k4[3]!;
    const d4 = k4[4]!;
    const d5 = k4[5]!;

    stage[0] = y0 + h * ((19372 / 6561) * a0 - (25360 / 2187) * b0 + (64448 / 6561) * c0 - (212 / 729) * d0);
    stage[1] = y1 + h * ((19372 / 6561) * a1 - (25360 / 2187) * b1 + (64448 / 6561) * c1 - (212 / 729) * d1);
    stage[2] = y2 + h * ((19372 / 6561) * a2 - (25360 / 2187) * b2 + (64448 / 6561) * c2 - (212 / 729) * d2);
    stage[3] = y3 + h * ((19372 / 6561) * a3 - (25360 / 2187) * b3 + (64448 / 6561) * c3 - (212 / 729) * d3);
    stage[4] = y4 + h * ((19372 / 6561) * a4 - (25360 / 2187) * b4 + (64448 / 6561) * c4 - (212 / 729) * d4);
    stage[5] = y5 + h * ((19372 / 6561) * a5 - (25360 / 2187) * b5 + (64448 / 6561) * c5 - (212 / 729) * d5);
    system.derivative(t + (8 / 9) * h, stage, k5);
    const e0 = k5[0]!;
    const e1 = k5[1]!;
    const e2 = k5[2]!;
    const e3 = k5[3]!;
    const e4 = k5[4]!;
    const e5 = k5[5]!;

    stage[0] =
      y0 +
      h *
        ((9017 / 3168) * a0 - (355 / 33) * b0 + (46732 / 5247) * c0 + (49 / 176) * d0 - (5103 / 18656) * e0);
    stage[1] =
      y1 +
      h *
        ((9017 / 3168) * a1 - (355 / 33) * b1 + (46732 / 5247) * c1 + (49 / 176) * d1 - (5103 / 18656) * e1);
    stage[2] =
      y2 +
      h *
        ((9017 / 3168) * a2 - (355 / 33) * b2 + (46732 / 5247) * c2 + (49 / 176) * d2 - (5103 / 18656) * e2);
    stage[3] =
      y3 +
      h *
        ((9017 / 3168) * a3 - (355 / 33) * b3 + (46732 / 5247) * c3 + (49 / 176) * d3 - (5103 / 18656) * e3);
    stage[4] =
      y4 +
      h *
        ((9017 / 3168) * a4 - (355 / 33) * b4 + (46732 / 5247) * c4 + (49 / 176) * d4 - (5103 / 18656) * e4);
    stage[5] =
      y5 +
      h *
        ((9017 / 3168) * a5 - (355 / 33) * b5 + (46732 / 5247) * c5 + (49 / 176) * d5 - (5103 / 18656) * e5);
    system.derivative(t + h, stage, k6);
    const f0 = k6[0]!;
    const f1 = k6[1]!;
    const f2 = k6[2]!;
    const f3 = k6[3]!;
    const f4 = k6[4]!;
    const f5 = k6[5]!;

    yEnd[0] =
      y0 + h * ((35 / 384) * a0 + (500 / 1113) * c0 + (125 / 192) * d0 - (2187 / 6784) * e0 + (11 / 84) * f0);
    yEnd[1] =
      y1 + h * ((35 / 384) * a1 + (500 / 1113) * c1 + (125 / 192) * d1 - (2187 / 6784) * e1 + (11 / 84) * f1);
    yEnd[2] =
      y2 + h * ((35 / 384) * a2 + (500 / 1113) * c2 + (125 / 192) * d2 - (2187 / 6784) * e2 + (11 / 84) * f2);
    yEnd[3] =
      y3 + h * ((35 / 384) * a3 + (500 / 1113) * c3 + (125 / 192) * d3 - (2187 / 6784) * e3 + (11 / 84) * f3);
    yEnd[4] =
      y4 + h * ((35 / 384) * a4 + (500 / 1113) * c4 + (125 / 192) * d4 - (2187 / 6784) * e4 + (11 / 84) * f4);
    yEnd[5] =
      y5 + h * ((35 / 384) * a5 + (500 / 1113) * c5 + (125 / 192) * d5 - (2187 / 6784) * e5 + (11 / 84) * f5);
    system.derivative(t + h, yEnd, k7);
    this.evaluations += 6;
  }
}
