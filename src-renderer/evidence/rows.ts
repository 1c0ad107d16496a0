/** The rows of the published checks as the view looks through them. */
import type { EvidenceCheck, EvidenceReport, Topic } from '../../core/evidence/checks.ts';
import type { EvidenceOutcome, EvidenceRow } from '../../core/evidence/rows.ts';
import { used } from '../../core/evidence/words.ts';

export const TOPICS: readonly Topic[] = ['flights', 'staging', 'air', 'Earth', 'orbits', 'integration'];

export interface FoundRow {
  /** Place in the report, which no two rows share. */
  readonly key: string;
  readonly outcome: EvidenceOutcome;
  readonly row: EvidenceRow;
}

export interface RowWish {
  /** Id of a check; null for all. */
  readonly check: string | null;
  readonly topic: Topic | null;
  /** Words that must all be there, in whatever a row says. */
  readonly words: string;
  readonly order: 'failing' | 'report';
}

/** Rows that are wanted; `failing` has those that fail first, and then those that come nearest to their limit. */
export function findRows(
  { outcomes }: EvidenceReport,
  checks: readonly Pick<EvidenceCheck, 'id' | 'topic'>[],
  wish: RowWish,
): FoundRow[] {
  const topicOf = new Map(checks.map(({ id, topic }) => [id, topic]));
  const words = wish.words.toLowerCase().split(/\s+/).filter(Boolean);
  const found = outcomes
    .filter(({ id }) => wish.check === null || id === wish.check)
    .filter(({ id }) => wish.topic === null || topicOf.get(id) === wish.topic)
    .flatMap((outcome) =>
      outcome.rows.map((row, i): FoundRow => ({ key: `${outcome.id}.${i}`, outcome, row })),
    )
    .filter(({ outcome, row }) => {
      const { quantity, unit, source, status, why, explained, verdict, published } = row;
      const hay = [outcome.title, quantity, unit, source, status, why, explained, verdict, published]
        .join(' ')
        .toLowerCase();
      return words.every((word) => hay.includes(word));
    });
  if (wish.order === 'report') return found;
  return found.sort((a, b) => urgency(b.row) - urgency(a.row));
}

/** How near a row comes to its limit, 1 at it; what fails stands above all others, what is not scored below. */
function urgency(row: EvidenceRow): number {
  if (row.verdict === 'fails') return Number.POSITIVE_INFINITY;
  return row.verdict === 'holds' ? Math.abs(used(row)) : -1;
}

/** How a check stands, in few words. */
export function standing({ rows }: EvidenceOutcome): string {
  const count = (verdict: EvidenceRow['verdict']): number =>
    rows.filter((row) => row.verdict === verdict).length;
  const fails = count('fails');
  return fails === 0 ? `${count('holds')} hold` : `${fails} of ${fails + count('holds')} fail`;
}

/** The report in one sentence. */
export function verdictSentence({ holds, fails, unscored }: EvidenceReport): string {
  const given = unscored === 0 ? '' : ` ${unscored} more were put in or fitted to, and prove nothing.`;
  if (fails === 0) return `All ${holds} published numbers hold.${given}`;
  return `${fails} of ${holds + fails} published numbers ${fails === 1 ? 'fails' : 'fail'}.${given}`;
}
