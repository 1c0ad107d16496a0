/** The report as Markdown. */
import type { EvidenceReport } from './checks.ts';
import type { EvidenceOutcome } from './rows.ts';
import { cells, figure } from './words.ts';

const cell = (text: string): string => text.replace(/\|/g, '\\|').replace(/\n/g, ' ');

/** One sentence that counts a report. Unitless. */
export function countSentence({ rows, holds, fails, unscored, outcomes }: EvidenceReport): string {
  const fit = unscored > 0 ? `, ${unscored} were given or fitted to and are not scored` : '';
  return `${rows} numbers in ${outcomes.length} ${outcomes.length === 1 ? 'check' : 'checks'}: ${holds} hold, ${fails} fail${fit}.`;
}

/** The whole report with the caution and the hash of the published numbers, one table a check; numbers with their units. */
export function evidenceMarkdown(report: EvidenceReport, caution: string, hash: string): string {
  const parts = [
    '# Published checks',
    '',
    countSentence(report),
    '',
    caution,
    '',
    `Published numbers ${hash}`,
    '',
  ];
  for (const outcome of report.outcomes) parts.push(...section(outcome));
  return `${parts.join('\n').trimEnd()}\n`;
}

function section({ title, about, rows, fitted, notes }: EvidenceOutcome): string[] {
  const lines = [`## ${title}`, '', about, ''];
  if (fitted.length > 0) {
    lines.push('| fitted | value | low to high |', '| --- | ---: | ---: |');
    for (const { name, unit, value, band } of fitted) {
      const span =
        band === undefined ? '' : `${figure(band[0], 1e-3 * value)} to ${figure(band[1], 1e-3 * value)}`;
      lines.push(`| ${cell(name)} | ${figure(value, 1e-3 * value)} ${unit} | ${span} |`);
    }
    lines.push('');
  }
  lines.push(
    '| quantity | published | ours | deviation | allowed | verdict | why | source (status) |',
    '| --- | ---: | ---: | ---: | ---: | --- | --- | --- |',
  );
  for (const row of rows) {
    const { published, ours, deviation, allowed, verdict } = cells(row);
    const why = row.explained === undefined ? row.why : `${row.why}. Deviation: ${row.explained}`;
    const source = `${row.source} (${row.status})`;
    lines.push(
      `| ${[row.quantity, published, ours, deviation, allowed, verdict, why, source].map(cell).join(' | ')} |`,
    );
  }
  lines.push('', ...notes.map((note) => `- ${note}`));
  return [...lines, ''];
}
