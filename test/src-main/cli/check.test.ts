import { readFile } from 'node:fs/promises';
import { mkdtemp } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { CAUTION } from '../../../core/contract/caution.ts';
import { documentHash } from '../../../core/contract/contentHash.ts';
import { evidenceReport, listChecks, type EvidenceReport } from '../../../core/evidence/checks.ts';
import { evidenceMarkdown } from '../../../core/evidence/markdown.ts';
import { evidencePage } from '../../../core/evidence/page.ts';
import { outcome, Rows } from '../../../core/evidence/rows.ts';
import { figure } from '../../../core/evidence/words.ts';
import { published } from '../../published/index.ts';
import { plumeline } from './harness.ts';

const FEW = ['check', '--only', 'kepler,normal-gravity'];

describe('plumeline check', () => {
  it('prints each row with source, both values, deviation, tolerance, reason and verdict', async () => {
    const { code, out } = await plumeline(FEW);
    expect(code).toBe(0);
    expect(out).toMatch(
      /normal gravity at the pole +9\.8321849378 m\/s² +9\.83\d+ m\/s² +[+−][\d.e−]+ +± 0\.00013 +\(1\) +holds/,
    );
    expect(out).toContain('(1) the size of the J4 term there');
    expect(out).toContain('Source: NIMA TR8350.2');
    expect(out).toContain('14 numbers in 2 checks: 14 hold, 0 fail.');
    expect(out.trimEnd().endsWith(CAUTION)).toBe(true);
  });

  it('writes the same rows as JSON, CSV, Markdown and a page, with the hash of what was published', async () => {
    const json = await plumeline([...FEW, '--format', 'json']);
    const report = JSON.parse(json.out) as EvidenceReport & { caution: string; hash: string };
    expect(report.caution).toBe(CAUTION);
    const rows = report.outcomes.flatMap((each) => each.rows);
    expect(rows).toHaveLength(14);
    const markdown = (await plumeline([...FEW, '--format', 'markdown'])).out;
    const file = join(await mkdtemp(join(tmpdir(), 'check-')), 'page.html');
    const written = await plumeline([...FEW, '--format', 'html', '--out', file]);
    expect([written.code, written.out]).toEqual([0, '']);
    const page = await readFile(file, 'utf8');
    const hash = documentHash(published);
    expect(report.hash).toBe(hash);
    const csv = (await plumeline([...FEW, '--format', 'csv'])).out;
    // Two remarks, the names, a line a row: none of these has a line feed in it.
    expect(csv.trimEnd().split('\n')).toHaveLength(3 + rows.length);
    for (const text of [csv, markdown, page]) expect(text).toContain(hash);
    for (const row of rows) {
      expect(csv).toContain(`,${row.ours},`);
      expect(markdown).toContain(row.quantity);
      expect(page).toContain(row.quantity);
    }
    expect(page).toContain(CAUTION);
    // It stands alone.
    expect(page).not.toMatch(/<script|src="|href="(?!#)/);
  });

  it('refuses names and forms that it does not know', async () => {
    const name = await plumeline(['check', '--only', 'kepler,astrology']);
    expect(name.code).toBe(2);
    expect(name.err).toMatch(/--only: received "astrology", allowed is one or more of as506, /);
    expect((await plumeline(['check', '--format', 'xml'])).code).toBe(2);
  });
});

describe('a row that fails', () => {
  const rows = new Rows({ source: 'A & B, "book" <1>', status: 'confirmed' });
  rows.compare({ quantity: 'x|y', unit: 'm', published: 1, ours: 1.5, tolerance: 0.1, why: 'a reason' });
  rows.compare({
    quantity: 'none',
    unit: 'm',
    published: 1,
    ours: Number.NaN,
    tolerance: 0.1,
    why: 'a reason',
  });
  rows.compare({
    quantity: 'near',
    unit: 'm',
    published: 1,
    ours: 0.95,
    tolerance: [-0.1, 0],
    why: 'a reason',
  });
  rows.range('in a range', 'm', 3, [1, 2], 0.5, 'a reason');
  rows.digits('printed', '', 0.16652, '1.665e-1', 'a reason', 0.5);
  const report = evidenceReport([outcome('one', 'One', 'About.', rows.rows)]);

  it('is counted, and what is no number fails too', () => {
    expect(rows.rows.map((row) => row.verdict)).toEqual(['fails', 'fails', 'holds', 'fails', 'holds']);
    expect([report.rows, report.holds, report.fails, report.unscored]).toEqual([5, 2, 3, 0]);
    expect(rows.rows[3]!.deviation).toBe(1);
  });

  it('is said in words, with what stands for markup escaped', () => {
    const page = evidencePage(report, CAUTION, 'abc123');
    expect(page).toContain('3 published numbers fail.');
    expect(page).toContain('Published numbers abc123');
    expect(page).toContain('A &amp; B, &quot;book&quot; &lt;1&gt;');
    expect(evidenceMarkdown(report, CAUTION, 'abc123')).toContain(
      '| x\\|y | 1 m | 1.500 m | +0.500 | ± 0.1 | fails |',
    );
  });
});

describe('figures', () => {
  it('have the digits that a tolerance tells apart, and a true minus', () => {
    expect(figure(-446.123, 1200, true)).toBe('−446');
    expect(figure(0.0817, 0.55, true)).toBe('+0.082');
    expect(figure(2.34e-9, 2e-8)).toBe('2.3400e−9');
    expect(figure(Number.NaN, 1)).toBe('none');
  });
});

it('every check has an id of its own', () => {
  const ids = listChecks(published).map((check) => check.id);
  expect(new Set(ids).size).toBe(ids.length);
});
