import { describe, expect, it } from 'vitest';
import { evidenceReport, type Topic } from '../../../core/evidence/checks.ts';
import { outcome, Rows } from '../../../core/evidence/rows.ts';
import { findRows, verdictSentence, type RowWish } from '../../../src-renderer/evidence/rows.ts';

const rows = (deviations: readonly number[], source: string): Rows => {
  const made = new Rows({ source, status: 'confirmed' });
  deviations.forEach((deviation, i) =>
    made.compare({
      quantity: `pressure ${i}`,
      unit: 'Pa',
      published: 100,
      ours: 100 + deviation,
      tolerance: [-1, 4],
      why: 'printed digits',
    }),
  );
  return made;
};
const air = rows([0.5, 5, -0.9], 'a table of air');
air.show('given pressure', 'Pa', 1, 1, 'given');
const report = evidenceReport([
  outcome('air', 'Air', 'About.', air.rows),
  outcome('orbit', 'Orbit', 'About.', rows([3.8, -2], 'a book').rows),
]);
const checks: { id: string; topic: Topic }[] = [
  { id: 'air', topic: 'air' },
  { id: 'orbit', topic: 'orbits' },
];
const all: RowWish = { check: null, topic: null, words: '', order: 'report' };
const found = (wish: Partial<RowWish>): string[] =>
  findRows(report, checks, { ...all, ...wish }).map(({ key }) => key);

describe('rows of the published checks', () => {
  it('stand as reported, or failing first and then by how much of the allowed they use up on their own side', () => {
    expect(found({})).toEqual(['air.0', 'air.1', 'air.2', 'air.3', 'orbit.0', 'orbit.1']);
    expect(found({ order: 'failing' })).toEqual(['air.1', 'orbit.1', 'orbit.0', 'air.2', 'air.0', 'air.3']);
  });

  it('are found by check, by topic and by words of whatever they say', () => {
    expect(found({ check: 'orbit' })).toEqual(['orbit.0', 'orbit.1']);
    expect(found({ topic: 'air' })).toHaveLength(4);
    expect(found({ words: 'BOOK fails' })).toEqual(['orbit.1']);
    expect(found({ words: 'given put' })).toEqual(['air.3']);
    expect(found({ words: 'book', topic: 'air' })).toEqual([]);
  });

  it('are counted in one sentence, the unscored apart', () => {
    expect(verdictSentence(report)).toBe(
      '2 of 5 published numbers fail. 1 more were put in or fitted to, and prove nothing.',
    );
    expect(verdictSentence(evidenceReport([]))).toBe('All 0 published numbers hold.');
  });
});
