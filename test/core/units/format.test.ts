import { describe, expect, test } from 'vitest';
import {
  formatNumber,
  formatQuantity,
  formatTime,
  splitQuantity,
  type Figure,
} from '../../../core/units/format.ts';

// Narrow no-break space and true minus, written out so that the eye can tell.
const N = '\u202F';
const M = '\u2212';

describe('quantities for people', () => {
  test.each<[number, Figure, string]>([
    [65_432, 'height', `65.4${N}km`],
    [1_234_567, 'height', `1${N}234.6${N}km`],
    [-49, 'height', `0.0${N}km`],
    [2263.6, 'speed', `2${N}264${N}m/s`],
    [3_746_000, 'thrust', `3.75${N}MN`],
    [6.67, 'acceleration', `0.68${N}g`],
    [32_096.16, 'pressure', `32.1${N}kPa`],
    [32_744.78, 'mass', `32.74${N}t`],
    [-910.35, 'massDifference', `${M}910${N}kg`],
    [1210.4, 'massDifference', `+1${N}210${N}kg`],
    [0.4, 'massDifference', `0${N}kg`],
    [-0.4, 'massDifference', `0${N}kg`],
    [-186.24, 'massRate', `${M}186.2${N}kg/s`],
    [0.4387, 'fraction', `44${N}%`],
    [0.97219, 'share', `97.22${N}%`],
    [-0.0278, 'shareDifference', `${M}2.78${N}%`],
    [-2, 'gap', `${M}2.0${N}s`],
    [5, 'gap', `+5.0${N}s`],
    [Math.PI / 4, 'angle', '45.00°'],
    [1.4217, 'mach', '1.42'],
  ])('%d as %s', (value, figure, text) => {
    expect(formatQuantity(value, figure)).toBe(text);
  });

  test('figure and unit come apart for a layout that sets them in two sizes', () => {
    expect(splitQuantity(65_432, 'height')).toEqual({ figure: '65.4', unit: 'km' });
    expect(splitQuantity(1.4, 'mach')).toEqual({ figure: '1.40', unit: '' });
  });

  test('what is not known is never a figure', () => {
    expect(() => formatQuantity(Number.NaN, 'mass')).toThrow('received NaN');
    expect(() => formatQuantity(Number.POSITIVE_INFINITY, 'mass')).toThrow('received Infinity');
    expect(() => formatTime(Number.NaN)).toThrow('received NaN');
  });
});

describe('pure numbers', () => {
  test.each<[number, number, boolean, string]>([
    [999, 0, false, '999'],
    [1000, 0, false, `1${N}000`],
    [1_234_567.891, 2, false, `1${N}234${N}567.89`],
    [-1000, 0, false, `${M}1${N}000`],
    [0.125, 2, true, '+0.13'],
    [-0.001, 2, true, '0.00'],
    [0, 1, true, '0.0'],
    [1e21, 0, false, `1${N}000${N}000${N}000${N}000${N}000${N}000${N}000`],
  ])('%d with %d decimals, signed %s', (value, decimals, signed, text) => {
    expect(formatNumber(value, decimals, signed)).toBe(text);
  });
});

describe('times', () => {
  test.each<[number, 0 | 1, string]>([
    [148.5, 1, '2:28.5'],
    [148.5, 0, '2:29'],
    [5, 0, '0:05'],
    [59.96, 1, '1:00.0'],
    [59.94, 1, '0:59.9'],
    [-5, 0, `${M}0:05`],
    [-0.04, 1, '0:00.0'],
    [0, 0, '0:00'],
    [3661, 0, '61:01'],
  ])('%d s with %d decimals', (time, decimals, text) => {
    expect(formatTime(time, decimals)).toBe(text);
  });
});
