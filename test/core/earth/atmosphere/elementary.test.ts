import { describe, expect, test } from 'vitest';
import { fastExp, logOfRatio } from '../../../../core/earth/atmosphere/elementary.ts';
import { Worst } from '../worst.ts';

describe('elementary functions of the atmosphere', () => {
  test("the exponential agrees with the engine's to a few units in the last place", () => {
    const worst = new Worst('fastExp against Math.exp, relative', '', 1e-15);
    for (let i = -70000; i <= 70000; i++) {
      for (const x of [i * 0.0099931, i * 1.37e-4, i * 1e-9]) worst.add(x, fastExp(x) / Math.exp(x) - 1);
    }
    // A step is a product of up to six square roots (3 ulps of 1.1e-16 each way); three more roundings follow.
    worst.report();
    expect(fastExp(0)).toBe(1);
  });

  test("the exponential beyond its range is the engine's", () => {
    expect(fastExp(-800)).toBe(0);
    expect(fastExp(800)).toBe(Infinity);
    expect(fastExp(-710)).toBe(Math.exp(-710));
    expect(fastExp(NaN)).toBeNaN();
  });

  test("the logarithm of a ratio near one agrees with the engine's", () => {
    const worst = new Worst('logOfRatio against Math.log1p, relative', '', 1e-15);
    // Sixty-fourths, so that neither argument nor their difference is rounded.
    for (let a = 180; a <= 347.5; a += 1 / 64)
      if (a !== 250) worst.add(a, logOfRatio(a, 250) / Math.log1p((a - 250) / 250) - 1);
    worst.report();
    expect(logOfRatio(250, 250)).toBe(0);
  });
});
