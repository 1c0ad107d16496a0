/** The report as a table for other programs. */
import { csvText } from '../study/sweepCsv.ts';
import type { EvidenceReport } from './checks.ts';

/**
 * The rows as CSV under the caution and the hash of the published numbers. Published, ours, deviation, tolerance and band in
 * the row's unit; numbers of ours in full, published ones as printed.
 */
export function evidenceCsv(report: EvidenceReport, caution: string, hash: string): string {
  const names = [
    ...['check', 'quantity', 'unit', 'published', 'ours', 'low', 'high', 'deviation'],
    ...['least_allowed', 'most_allowed', 'verdict', 'why', 'explained', 'source', 'status'],
  ];
  const rows = report.outcomes.flatMap(({ id, rows: own }) =>
    own.map((row) => {
      const scored = row.verdict === 'holds' || row.verdict === 'fails';
      return [
        ...[id, row.quantity, row.unit, row.published, row.ours, row.band?.[0], row.band?.[1], row.deviation],
        ...(scored ? row.tolerance : [undefined, undefined]),
        ...[row.verdict, row.why, row.explained, row.source, row.status],
      ];
    }),
  );
  return csvText([caution, `published numbers ${hash}`], names, rows);
}
