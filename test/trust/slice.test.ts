import { describe, expect, it } from 'vitest';
import { compileStudy } from '../../core/flight/compile.ts';
import { judge } from './judge.ts';
import { searchOrbit } from './search.ts';
import { randomStudy } from './vehicles.ts';

/** Sixty of the thousand vehicles of `npm run trust`. */
const SEEDS = Array.from({ length: 60 }, (_, i) => i + 1);

describe('sixty random vehicles solved from cold', () => {
  const judged = SEEDS.map(judge);

  it('end as optima that hold, or out of reach for a reason that holds', () => {
    const doubtful = judged.filter(({ verdict }) => verdict !== 'optimum' && verdict !== 'infeasible');
    expect(doubtful).toEqual([]);
  });

  it('are of both kinds', () => {
    for (const verdict of ['optimum', 'infeasible'] as const) {
      expect(judged.filter((each) => each.verdict === verdict).length).toBeGreaterThan(10);
    }
  });

  it('are found to reach orbit by the search that certifies the others, where they do', () => {
    const optima = judged.filter(({ verdict }) => verdict === 'optimum');
    const missed = optima.filter(({ seed }) => searchOrbit(compileStudy(randomStudy(seed))) === null);
    expect(missed).toEqual([]);
  });
});

/**
 * Vehicles that once went wrong: launches to the west whose least kick is an optimum of its own, and upper laws steeper than
 * the tangent was allowed to be.
 */
const ONCE_WRONG = [98, 309, 628, 487, 1_000_013, 1_000_236];

describe('vehicles that once went wrong', () => {
  it.each(ONCE_WRONG)('seed %d ends as an optimum that holds or out of reach', (seed) => {
    expect(['optimum', 'infeasible']).toContain(judge(seed).verdict);
  });
});
