import { describe, expect, it } from 'vitest';
import { judgeReturn, type ReturnVerdict } from './returnJudge.ts';
import { returnVariations } from './returnPlans.ts';

/** Every thirty-seventh of the variations of `npm run trust -- --returns`: starts, ends and places come together anew. */
const EVERY = 37;
const variations = returnVariations();
const picked = variations.flatMap((variation, i) => (i % EVERY === 0 ? [{ ...variation, seed: i + 1 }] : []));

describe('flights home with edges and limits of every kind, solved from cold', () => {
  const found = new Set<ReturnVerdict>();

  it.each(picked)(
    '$name',
    (variation) => {
      const { verdict, detail } = judgeReturn(variation, variation.seed);
      found.add(verdict);
      expect({ verdict, detail }).toMatchObject({
        verdict: expect.stringMatching(/^(optimum|limits out of reach|edge out of reach|refused)$/) as string,
      });
    },
    60_000,
  );

  it('are of all kinds', () => {
    for (const verdict of ['optimum', 'limits out of reach', 'edge out of reach'] as const)
      expect(found.has(verdict)).toBe(true);
  });
});

/** What once came out as a poor optimum of its own, or as out of reach. */
const ONCE_WRONG = [
  'heavy, to-site, from free to heating 10000',
  'heavy, to-site, from altitude 70000 to altitude 30000',
  'heavy, to-site, from free to altitude 45000',
  'heavy, to-site, from dynamicPressure 500 to dynamicPressure 60000',
];

describe('flights home that once went wrong', () => {
  it.each(ONCE_WRONG)(
    '%s',
    (name) => {
      const index = variations.findIndex((each) => each.name === name);
      const { verdict, detail } = judgeReturn(variations[index]!, index + 1);
      expect(['optimum', 'limits out of reach', 'edge out of reach'], detail).toContain(verdict);
    },
    60_000,
  );
});
