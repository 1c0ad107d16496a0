import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { DIMENSIONS, type Dimension } from '../../../core/units/dimensions.ts';
import { formatNumber, formatQuantity, formatTime, type Figure } from '../../../core/units/format.ts';
import { parseQuantity } from '../../../core/units/parse.ts';

function parsed(text: string, dimension: Dimension, bareUnit?: string): number {
  const result = parseQuantity(text, dimension, bareUnit);
  if (!result.ok) throw new Error(result.sentence);
  return result.value;
}

describe('quantities that are read', () => {
  test.each<[string, Dimension, number]>([
    ['3.2 MN', 'force', 3.2e6],
    ['3.2MN', 'force', 3.2e6],
    ['720 klbf', 'force', 720_000 * 4.4482216152605],
    ['80 tf', 'force', 784_532],
    ['210 nmi', 'length', 388_920],
    ['1 200 kg', 'mass', 1200],
    ['1\u202F200\u202F300\u202Fkg', 'mass', 1_200_300],
    ['1,200,300 kg', 'mass', 1_200_300],
    ['1,200.5 kg', 'mass', 1200.5],
    ['62 t', 'mass', 62_000],
    ['5 klb', 'mass', 2267.96185],
    ['−5 kg', 'mass', -5],
    ['+.5 kg', 'mass', 0.5],
    ['1.2e3 kg', 'mass', 1200],
    ['1.2e−3 kg', 'mass', 0.0012],
    ['12 m/s²', 'acceleration', 12],
    ['12 m·s⁻²', 'acceleration', 12],
    ['2 g', 'acceleration', 19.6133],
    ['2 g', 'mass', 0.002],
    ['2 gee', 'acceleration', 19.6133],
    ['100 kt', 'speed', 185_200 / 3600],
    ['36 km/h', 'speed', 10],
    ['5.3 m2', 'area', 5.3],
    ['5.3 m²', 'area', 5.3],
    ['700 kg/m³', 'density', 700],
    ['180°', 'angle', Math.PI],
    ['30 arcmin', 'angle', Math.PI / 360],
    ['30′', 'angle', Math.PI / 360],
    ['2:28.5', 'time', 148.5],
    ['-0:05', 'time', -5],
    ['2.5 min', 'time', 150],
    ['250 ms', 'time', 0.25],
    ['-0.0023 1/s', 'rate', -0.0023],
    ['85 %', 'ratio', 0.85],
    ['7', 'ratio', 7],
    ['14.7 psi', 'pressure', 14.7 * 6894.757293168361],
  ])('%s as %s', (text, dimension, value) => {
    // A few multiplications of rounded factors.
    expect(Math.abs(parsed(text, dimension) - value)).toBeLessThanOrEqual(4e-15 * Math.abs(value));
  });

  test('a bare number is in the SI unit, or in the one that the caller names', () => {
    expect(parsed('1650', 'mass')).toBe(1650);
    expect(parsed('180', 'angle')).toBe(180);
    expect(parsed('180', 'angle', 'deg')).toBe(Math.PI);
    expect(() => parseQuantity('1', 'mass', 'm')).toThrow('bareUnit: received "m"');
  });
});

describe('quantities that are refused, in one sentence', () => {
  test.each<[string, Dimension, string]>([
    ['1,200 kg', 'mass', 'the comma may group thousands or be a decimal mark, so write 1200 or 1.200'],
    ['-1,200 kg', 'mass', 'so write 1200 or 1.200'],
    ['1,5 kg', 'mass', 'the decimal mark is a point, so write 1.5'],
    ['12,34,567 kg', 'mass', 'the comma does not group thousands'],
    ['1,2.5 kg', 'mass', 'the comma does not group thousands'],
    ['', 'mass', 'a number such as 12'],
    ['kg', 'mass', 'a number such as 12'],
    ['NaN kg', 'mass', 'a number such as 12'],
    ['Infinity', 'mass', 'a number such as 12'],
    ['1e999 kg', 'mass', 'the number is too large'],
    ['1e308 t', 'mass', 'the number is too large'],
    ['3 ton', 'mass', 'so write t for the tonne'],
    ['3 tons', 'mass', 'so write t for the tonne'],
    ['3 ton', 'force', 'so write tf'],
    ['210 nm', 'length', 'so write nmi for the nautical mile'],
    ['210 NM', 'length', 'so write nmi for the nautical mile'],
    ['300 kg', 'force', 'so write kgf'],
    ['300 lb', 'force', 'so write lbf'],
    ['3 MN', 'mass', '"MN" is a unit of something else than a mass'],
    ['3 kn', 'force', '"kn" is a unit of something else than a force'],
    ['3 kilogramz', 'mass', '"kilogramz" is not a unit that is known here'],
    ['3 2 kg', 'mass', '"2 kg" is not a unit'],
    ['1 2000 kg', 'mass', '"2000 kg" is not a unit'],
    ['1 200 30 kg', 'mass', '"30 kg" is not a unit'],
    ['3 1 kg', 'mass', '"1 kg" is not a unit'],
    ['3 -kg', 'mass', '"-kg" is not a unit'],
    ['3 kg + 2 kg', 'mass', 'not a unit'],
    ['3 kg kg', 'mass', 'a unit of something else'],
    ['0x10', 'mass', '"x10" is not a unit'],
    ['1.2.3 kg', 'mass', '".3 kg" is not a unit'],
    ['7 kg', 'ratio', '"kg" is a unit, and a number has none'],
    ['2:75', 'time', '":75" is not a unit'],
    ['2:10', 'mass', '":10" is not a unit'],
    ['3 constructor', 'mass', 'not a unit'],
  ])('%s as %s', (text, dimension, words) => {
    const result = parseQuantity(text, dimension);
    expect(result.ok).toBe(false);
    if (result.ok) return;
    expect(
      result.sentence.startsWith(
        `received ${JSON.stringify(text)}, allowed is ${DIMENSIONS[dimension].phrase} such as`,
      ),
    ).toBe(true);
    expect(result.sentence).toContain(words);
    expect(result.sentence).toMatch(/[^.]\.$/);
  });

  test('no text whatever makes it throw or give a number that is none', () => {
    const letters = fc.constantFrom(
      ...Array.from('0123456789.,:+-−eE \u202Fkgmst°%/^()²'),
      'lbf',
      'ton',
      'Infinity',
      '𝄞',
    );
    fc.assert(
      fc.property(
        fc.array(letters, { maxLength: 8 }),
        fc.constantFrom(...Object.keys(DIMENSIONS)),
        (parts, name) => {
          const result = parseQuantity(parts.join(''), name as Dimension);
          if (result.ok) expect(Number.isFinite(result.value)).toBe(true);
          else expect(result.sentence).toContain('allowed is');
        },
      ),
      { seed: 7, numRuns: 2000 },
    );
  });
});

test('every unit that a sentence proposes is understood', () => {
  const readable = Object.entries(DIMENSIONS).flatMap(([name, facts]) =>
    facts.examples
      .filter((unit) => unit !== 'm:ss' && unit !== 'no unit')
      .map((unit) => [unit, parseQuantity(`1 ${unit}`, name as Dimension).ok] as const),
  );
  expect(readable.filter(([, ok]) => !ok)).toEqual([]);
  expect(readable.length).toBeGreaterThan(45);
});

describe('what is shown can be typed in again', () => {
  // Half of the last decimal shown, in SI, and a rounding error of the value itself.
  test.each<[Figure, Dimension, number]>([
    ['height', 'length', 50],
    ['speed', 'speed', 0.5],
    ['thrust', 'force', 5000],
    ['acceleration', 'acceleration', 0.005 * 9.80665],
    ['pressure', 'pressure', 50],
    ['mass', 'mass', 5],
    ['massDifference', 'mass', 0.5],
    ['angle', 'angle', (0.005 * Math.PI) / 180],
    ['share', 'ratio', 5e-5],
    ['gap', 'time', 0.05],
    ['massRate', 'massFlow', 0.05],
  ])('%s', (figure, dimension, half) => {
    fc.assert(
      fc.property(fc.double({ min: -1e9, max: 1e9, noNaN: true }), (value) => {
        const back = parsed(formatQuantity(value, figure), dimension);
        expect(Math.abs(back - value)).toBeLessThanOrEqual(half * (1 + 1e-9) + 4e-16 * Math.abs(value));
      }),
      { seed: 8, numRuns: 200 },
    );
  });

  test('a time as m:ss.s', () => {
    fc.assert(
      fc.property(fc.double({ min: -1e5, max: 1e5, noNaN: true }), (time) => {
        expect(Math.abs(parsed(formatTime(time, 1), 'time') - time)).toBeLessThanOrEqual(0.05 + 1e-9);
      }),
      { seed: 9, numRuns: 500 },
    );
  });

  test('a pure number, thousands and all', () => {
    fc.assert(
      fc.property(fc.integer({ min: -1e12, max: 1e12 }), (value) => {
        expect(parsed(formatNumber(value, 0, true), 'ratio')).toBe(value === 0 ? 0 : value);
      }),
      { seed: 10, numRuns: 300 },
    );
  });
});
