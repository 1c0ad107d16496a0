import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  countEdits,
  describeValue,
  makeProblem,
  nearestName,
  oneOf,
  quote,
} from '../../../core/contract/problem.ts';

describe('counting edits', () => {
  // The first three: V. I. Levenshtein's distance as commonly quoted, from memory; the rest follow from the definition.
  test.each([
    ['kitten', 'sitting', 3],
    ['saturday', 'sunday', 3],
    ['flaw', 'lawn', 2],
    ['', 'abc', 3],
    ['abc', '', 3],
    ['relase', 'release', 1],
    ['mian', 'main', 1],
    ['upper', 'Upper', 0.5],
    ['same', 'same', 0],
  ])('%s to %s takes %d', (from, to, edits) => {
    expect(countEdits(from, to)).toBe(edits);
  });

  test('the way back is as long, and no longer than the longer word', () => {
    fc.assert(
      fc.property(fc.string({ maxLength: 12 }), fc.string({ maxLength: 12 }), (a, b) => {
        expect(countEdits(a, b)).toBe(countEdits(b, a));
        expect(countEdits(a, b)).toBeLessThanOrEqual(Math.max(a.length, b.length));
        expect(countEdits(a, b) === 0).toBe(a === b);
      }),
      { seed: 5, numRuns: 500 },
    );
  });
});

describe('proposing a name', () => {
  test('the nearest of several is proposed', () => {
    expect(nearestName('dryMas_kg', ['name', 'dryMass_kg', 'fittings'])).toBe('dryMass_kg');
  });
  test('nothing is proposed where nothing is near', () => {
    expect(nearestName('comment', ['format', 'title', 'earth'])).toBeUndefined();
    expect(nearestName('x', ['ab', 'q'])).toBeUndefined();
  });
});

test('a long text is quoted in part, by whole characters', () => {
  expect(quote('𝄞'.repeat(80))).toBe(`"${'𝄞'.repeat(59)}…"`);
  expect(quote('a"b')).toBe('"a\\"b"');
});

test('values are named by kind where they are not plain', () => {
  expect([undefined, null, {}, [], [1], true, 1.5, ''].map(describeValue)).toEqual([
    'nothing',
    'null',
    'an object',
    'a list of 0 entries',
    'a list of 1 entry',
    'true',
    '1.5',
    'an empty text',
  ]);
});

test('a list of names ends in "or", and a long one is cut', () => {
  expect(oneOf([], 'nothing')).toBe('nothing');
  expect(oneOf(['a'], '')).toBe('"a"');
  expect(oneOf(['a', 'b', 'c'], '')).toBe('"a", "b" or "c"');
  expect(oneOf(Array.from('abcdefghijklmno'), '')).toMatch(/"l" or one of 3 more$/);
});

test('a hint ends the sentence, once', () => {
  expect(makeProblem('a.b', '1', '2', 'did you mean 3?').sentence).toBe(
    'a.b: received 1, allowed is 2; did you mean 3?',
  );
  expect(makeProblem('', '1', '2', 'try again').sentence).toBe(
    'the study: received 1, allowed is 2; try again.',
  );
});
