/** `plumeline check`: every published check, run and told. */
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import picocolors from 'picocolors';
import { CAUTION } from '../../core/contract/caution.ts';
import { documentHash } from '../../core/contract/contentHash.ts';
import { evidenceSteps, listChecks, type EvidenceReport } from '../../core/evidence/checks.ts';
import { evidenceCsv } from '../../core/evidence/csv.ts';
import { countSentence, evidenceMarkdown } from '../../core/evidence/markdown.ts';
import { evidencePage } from '../../core/evidence/page.ts';
import { cells } from '../../core/evidence/words.ts';
import { published } from '../../test/published/index.ts';
import { badInput, CommandFailure, EXIT, type ExitCode } from './exit.ts';
import { workThrough } from './progress.ts';
import { asPlain, deliverText, ENGINE } from './report.ts';
import { section, table } from './tables.ts';
import type { Terminal } from './terminal.ts';

export const CHECK_FORMATS = ['text', 'markdown', 'json', 'csv', 'html'] as const;
export type CheckFormat = (typeof CHECK_FORMATS)[number];

export interface CheckOptions {
  readonly format?: CheckFormat;
  readonly only?: string;
  readonly out?: string;
}

/** Runs the checks (all, or those named) and writes the report; 3 when a row fails. Throws CommandFailure. */
export async function check(terminal: Terminal, options: CheckOptions): Promise<ExitCode> {
  const all = listChecks(published);
  const names = options.only?.split(',').map((name) => name.trim());
  const unknown = names?.find((name) => !all.some((each) => each.id === name));
  if (unknown !== undefined) {
    throw badInput('--only', `"${unknown}"`, `one or more of ${all.map((each) => each.id).join(', ')}`);
  }
  const chosen = names === undefined ? all : all.filter((each) => names.includes(each.id));
  const report = await workThrough(terminal, evidenceSteps(chosen), 'checks');
  await deliverText(terminal, await write(terminal, report, options.format ?? 'text'), options.out);
  if (report.fails === 0) return EXIT.done;
  throw new CommandFailure(
    EXIT.noAnswer,
    `${report.fails} of ${report.rows} published numbers fail; the report says which.`,
  );
}

async function write(terminal: Terminal, report: EvidenceReport, format: CheckFormat): Promise<string> {
  const hash = documentHash(published);
  switch (format) {
    case 'markdown':
      return evidenceMarkdown(report, CAUTION, hash);
    case 'json':
      return `${JSON.stringify({ caution: CAUTION, engine: ENGINE, command: 'check', hash, ...report }, asPlain, 2)}\n`;
    case 'csv':
      return evidenceCsv(report, CAUTION, hash);
    case 'html':
      return evidencePage(report, CAUTION, hash, await fontFace(terminal));
    case 'text':
      return people(report, terminal.colour);
  }
}

function people(report: EvidenceReport, colour: boolean): string {
  const { bold, dim } = picocolors.createColors(colour);
  const parts = report.outcomes.map(({ title, about, rows, fitted }) => {
    const reasons = [...new Set(rows.map((row) => row.why))];
    const body = rows.map((row) => {
      const { published: theirs, ours, deviation, allowed, verdict } = cells(row);
      const mark = allowed === '' ? '' : `(${reasons.indexOf(row.why) + 1})`;
      return [
        row.quantity,
        theirs,
        ours,
        deviation,
        allowed,
        mark,
        verdict === 'fails' ? bold(verdict) : verdict,
      ];
    });
    const sources = [...new Map(rows.map((row) => [row.source, row.status]))];
    const adjusted = fitted.map(({ name, value, unit }) => `${name} ${value.toPrecision(7)} ${unit}`.trim());
    return section(
      title,
      [
        about,
        ...(adjusted.length > 0 ? [`Fitted: ${adjusted.join('; ')}.`] : []),
        table(['quantity ', 'published', 'ours', 'deviation', 'allowed', 'why', ' '], body, colour),
        ...reasons.map((why, i) => dim(`(${i + 1}) ${why}`)),
        ...sources.map(([source, status]) => dim(`Source: ${source} [${status}]`)),
      ].join('\n'),
      colour,
    );
  });
  return `${parts.join('\n\n')}\n\n${countSentence(report)}\n${CAUTION}\n`;
}

/** The typeface as part of the page, where its package is installed; without it the page falls back on the reader's own. */
async function fontFace({ demosFolder }: Terminal): Promise<string> {
  const name = '@fontsource-variable/atkinson-hyperlegible-next';
  const file = 'files/atkinson-hyperlegible-next-latin-wght-normal.woff2';
  try {
    const bytes = await readFile(join(demosFolder, '../../node_modules', name, file));
    return (
      "@font-face{font-family:'Atkinson Hyperlegible Next Variable';font-weight:200 800;" +
      `src:url(data:font/woff2;base64,${bytes.toString('base64')}) format('woff2')}`
    );
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'ENOENT') return '';
    throw error;
  }
}
