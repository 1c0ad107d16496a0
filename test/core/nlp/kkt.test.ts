import { describe, expect, test } from 'vitest';
import { kktResidual, largestViolation, type KktPoint } from '../../../core/nlp/kkt.ts';

/** min x₁² + x₂² with x₁ + x₂ − 2 = 0 and 3 − x₁ ≥ 0, 0 ≤ x: x = (1, 1), λ = 2, μ = 0, ν = 0. */
function point(changes: Partial<KktPoint> = {}): KktPoint {
  return {
    equalityCount: 1,
    x: Float64Array.of(1, 1),
    lower: Float64Array.of(0, 0),
    upper: Float64Array.of(Infinity, Infinity),
    gradient: Float64Array.of(2, 2),
    jacobian: Float64Array.of(1, 1, -1, 0),
    constraints: Float64Array.of(0, 2),
    multipliers: Float64Array.of(2, 0),
    boundMultipliers: Float64Array.of(0, 0),
    ...changes,
  };
}

describe('the KKT residual', () => {
  test('vanishes at a solution with its multipliers', () => {
    expect(kktResidual(point())).toBe(0);
  });

  test('sees a wrong multiplier of either sign, relative to the terms that should cancel', () => {
    expect(kktResidual(point({ multipliers: Float64Array.of(2.5, 0) }))).toBeCloseTo(0.5 / 2.5, 15);
    expect(kktResidual(point({ multipliers: Float64Array.of(1.5, 0) }))).toBeCloseTo(0.5 / 2, 15);
  });

  test('sees a multiplier on an inequality that is not active, and not one on a violated one', () => {
    // Stationary by construction: gradient (1.9, 2) = 2·(1, 1) + 0.1·(−1, 0); the residual is 0.1·2 over the scale 2.
    const slack = point({ gradient: Float64Array.of(1.9, 2), multipliers: Float64Array.of(2, 0.1) });
    expect(kktResidual(slack)).toBeCloseTo(0.1, 15);
    expect(kktResidual({ ...slack, constraints: Float64Array.of(0, -2) })).toBeCloseTo(0, 15);
  });

  test('sees a bound multiplier away from its bound', () => {
    const away = point({ gradient: Float64Array.of(2.3, 2), boundMultipliers: Float64Array.of(0.3, 0) });
    expect(kktResidual(away)).toBeCloseTo((0.3 * 1) / 2.3, 15);
    expect(kktResidual({ ...away, lower: Float64Array.of(1, 0) })).toBeCloseTo(0, 15);
    const above = point({
      gradient: Float64Array.of(1.7, 2),
      boundMultipliers: Float64Array.of(-0.3, 0),
      upper: Float64Array.of(4, Infinity),
    });
    expect(kktResidual(above)).toBeCloseTo((0.3 * 3) / 2, 15);
  });

  test('is the same when the objective is multiplied by a large number', () => {
    const wrong = point({ gradient: Float64Array.of(2, 2.1) });
    const large = point({ gradient: Float64Array.of(2000, 2100), multipliers: Float64Array.of(2000, 0) });
    expect(kktResidual(large)).toBeCloseTo(kktResidual(wrong), 12);
  });
});

describe('the largest violation', () => {
  test('takes equalities on both sides and inequalities on one', () => {
    expect(largestViolation(Float64Array.of(-0.2, 5, 0.1), 1)).toBe(0.2);
    expect(largestViolation(Float64Array.of(0.1, -5, 0.1), 1)).toBe(5);
    expect(largestViolation(new Float64Array(0), 0)).toBe(0);
  });
});
