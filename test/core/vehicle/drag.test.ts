import { describe, expect, it } from 'vitest';
import { compileDrag, findArrangement } from '../../../core/vehicle/drag.ts';
import { r1, ringed } from '../flight/studies.ts';

const read = ({ coefficient }: ReturnType<typeof compileDrag>, mach: number): number =>
  coefficient.evaluate(mach, coefficient.pieceAt(mach));

describe('a drag table', () => {
  it('is linear between its points and held beyond them', () => {
    const table = compileDrag(r1().vehicle.aerodynamics[0]!);
    expect(table.referenceArea_m2).toBe(50);
    // By hand: between (0.9, 0.34) and (1.0, 0.45), and between (4, 0.22) and (6, 0.19).
    expect(read(table, 0.95)).toBeCloseTo(0.395, 14);
    expect(read(table, 5)).toBeCloseTo(0.205, 14);
    expect(read(table, 0)).toBe(0.25);
    expect(read(table, 1.1)).toBeCloseTo(0.5, 14);
    expect(read(table, 40)).toBe(0.18);
  });

  it('is smooth where the study asks for it', () => {
    const { aerodynamics } = ringed().vehicle;
    const smooth = compileDrag(
      aerodynamics.find((each) => each.dragCoefficient.between === 'monotoneCubic')!,
    );
    expect(read(smooth, 0)).toBeCloseTo(0.4, 14);
    expect(read(smooth, 5)).toBeCloseTo(0.3, 14);
    const sharp = compileDrag({
      ...aerodynamics[0]!,
      dragCoefficient: { ...aerodynamics[0]!.dragCoefficient, between: 'monotoneCubic' },
    });
    // The same points, another way between them.
    expect(read(sharp, 0.9)).toBeCloseTo(0.34, 14);
    expect(read(sharp, 1.2)).not.toBeCloseTo(read(compileDrag(aerodynamics[0]!), 1.2), 3);
  });

  it('is found by its bodies in any order, and only by all of them', () => {
    const { aerodynamics } = ringed().vehicle;
    expect(findArrangement(aerodynamics, ['fairing', 'upper'])).toBe(1);
    expect(findArrangement(aerodynamics, ['upper'])).toBe(3);
    expect(findArrangement(aerodynamics, ['upper', 'ring'])).toBe(-1);
    expect(findArrangement(aerodynamics, [])).toBe(-1);
  });
});
