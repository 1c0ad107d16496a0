import { expect, test } from 'vitest';
import { unitFactor } from '../../../core/units/unitTable.ts';
import published from '../../published/units/nist-sp811.json' with { type: 'json' };
import { lastDigit, Worst } from '../earth/worst.ts';

function factorOf(unit: string, si: string): number {
  const found = unitFactor(unit, si);
  if (found.kind !== 'factor') throw new Error(`${unit} in ${si}: ${found.kind}`);
  return found.factor;
}

test('factors agree with NIST SP 811 to its last printed digit, exact ones to the last of a double', () => {
  // A printed factor is right to half of its last digit.
  const rounded = new Worst('printed conversion factors', 'of the last digit', 0.5);
  // A factor is put together in a few multiplications, each right to 1.1e-16.
  const exact = new Worst('exact conversion factors', 'relative', 1e-15);
  for (const { unit, si, factor, ...entry } of published.factors) {
    const value = factorOf(unit, si);
    const expected = Number(factor);
    if ('exact' in entry) exact.add(unit, value / expected - 1);
    else rounded.add(unit, (value - expected) / lastDigit(factor));
  }
  rounded.report();
  exact.report();
});

test('what follows from exact definitions is not rounded', () => {
  for (const { unit, si, product } of published.definitions) {
    const expected = product.reduce((sum, each) => sum * each, 1);
    // The written reciprocals have 14 digits or more.
    expect(Math.abs(factorOf(unit, si) / expected - 1)).toBeLessThan(1e-14);
  }
});

test('prefixes go before every metric unit', () => {
  expect(factorOf('MN', 'N')).toBe(1e6);
  expect(factorOf('kPa', 'Pa')).toBe(1000);
  expect(factorOf('mm', 'm')).toBe(1e-3);
  expect(factorOf('g/cm^3', 'kg/m^3')).toBeCloseTo(1000, 9);
});

test('a unit of something else, and what is no unit, are told apart', () => {
  expect(unitFactor('lbf', 'kg')).toEqual({ kind: 'otherDimension' });
  expect(unitFactor('furlonk', 'm')).toEqual({ kind: 'unknown' });
  expect(unitFactor('m m', 'm')).toEqual({ kind: 'otherDimension' });
  expect(unitFactor('(m', 'm')).toEqual({ kind: 'unknown' });
});
