/** The report as one HTML page that stands alone: no script, no other file. A pure drawing of plain data. */
import { chartSvg, escaped } from './chart.ts';
import type { EvidenceReport } from './checks.ts';
import { countSentence } from './markdown.ts';
import { PAGE_STYLE } from './pageStyle.ts';
import type { EvidenceOutcome, EvidenceRow } from './rows.ts';
import { cells, figure, used } from './words.ts';

/** How many rows of a check without charts stand open; the rest fold. */
const OPEN_ROWS = 3;

/**
 * The page with the caution and the hash of the published numbers; `fontFace` is CSS that brings the typeface, or nothing.
 * Unitless text.
 */
export function evidencePage(report: EvidenceReport, caution: string, hash: string, fontFace = ''): string {
  const verdict =
    report.fails === 0 ? 'Every published number holds.' : `${report.fails} published numbers fail.`;
  const index = report.outcomes
    .map((outcome) => `<li><a href="#${outcome.id}">${escaped(outcome.title)}</a> ${standing(outcome)}</li>`)
    .join('');
  return (
    '<!doctype html><html lang="en"><head><meta charset="utf-8">' +
    '<meta name="viewport" content="width=device-width, initial-scale=1"><title>Published checks</title>' +
    `<style>${fontFace}${PAGE_STYLE}</style></head><body><main>` +
    `<header><h1>Published checks</h1><p class="answer">${verdict}</p><p>${escaped(countSentence(report))} ` +
    'Each stands beside what was published, with the deviation that is allowed and the reason for it.</p>' +
    `<p class="caution">${escaped(caution)}</p><ul class="index">${index}</ul></header>` +
    report.outcomes.map(section).join('') +
    `<footer class="caution">${escaped(caution)}<br>Published numbers ${escaped(hash)}</footer></main></body></html>\n`
  );
}

/** The figures and tables of one check, as HTML to stand in a page that has `PAGE_STYLE`. Units in the cells. */
function section(outcome: EvidenceOutcome): string {
  const { id, title, about, charts, notes, rows } = outcome;
  const reasons = [...new Set(rows.map((row) => row.why))];
  const detailed = charts.length > 0;
  const worst = [...rows].sort((a, b) => Math.abs(used(b)) - Math.abs(used(a))).slice(0, OPEN_ROWS);
  const whole = table(
    rows,
    reasons,
    rows.some((row) => row.band !== undefined),
  );
  return (
    `<section id="${escaped(id)}"><h2>${escaped(title)}</h2><p>${escaped(about)} ${standing(outcome)}.</p>` +
    fittedTable(outcome) +
    (detailed
      ? `<div class="charts">${charts.map((chart) => `<figure>${chartSvg(chart)}</figure>`).join('')}</div>`
      : '') +
    (detailed ? key() : '') +
    (notes.length > 0
      ? `<ul class="notes">${notes.map((note) => `<li>${escaped(note)}</li>`).join('')}</ul>`
      : '') +
    (detailed || rows.length <= OPEN_ROWS
      ? whole
      : `${table(worst, reasons, false)}<details><summary>All ${rows.length} rows, of which these come nearest to their limit</summary>${whole}</details>`) +
    `<ol class="reasons">${reasons.map((why) => `<li>${escaped(why)}</li>`).join('')}</ol>` +
    sources(rows) +
    '</section>'
  );
}

function standing({ rows }: EvidenceOutcome): string {
  const count = (verdict: string): number => rows.filter((row) => row.verdict === verdict).length;
  const fails = count('fails');
  return fails === 0 ? `<b>${count('holds')} hold</b>` : `<b>${fails} fail</b>, ${count('holds')} hold`;
}

function key(): string {
  return (
    '<p class="words">Line: ours with the middle drag table. Band and whiskers: the low and the high table, each fitted ' +
    'anew. Rings: reported. Below, light: what is allowed, where it is scored. Only the insertion was fitted.</p>'
  );
}

function fittedTable({ fitted }: EvidenceOutcome): string {
  if (fitted.length === 0) return '';
  const rows = fitted.map(({ name, unit, value, band, path }) => {
    const resolution = 1e-3 * Math.abs(value);
    const span = band === undefined ? '' : `${figure(band[0], resolution)} to ${figure(band[1], resolution)}`;
    return (
      `<tr><td>${escaped(name)}<br><code>${escaped(path)}</code></td>` +
      `<td class="n">${figure(value, resolution)} ${escaped(unit)}</td><td class="n">${span}</td></tr>`
    );
  });
  return (
    '<table class="fitted"><thead><tr><th>Fitted, and nothing else</th><th class="n">value</th>' +
    `<th class="n">low to high drag</th></tr></thead><tbody>${rows.join('')}</tbody></table>`
  );
}

function table(rows: readonly EvidenceRow[], reasons: readonly string[], banded: boolean): string {
  const head = ['published', 'ours', ...(banded ? ['low to high'] : []), 'deviation', 'allowed'];
  return (
    `<table><thead><tr><th>quantity</th>${head.map((name) => `<th class="n">${name}</th>`).join('')}` +
    '<th>of the allowed</th><th></th></tr></thead><tbody>' +
    rows.map((row) => line(row, reasons.indexOf(row.why) + 1, banded)).join('') +
    '</tbody></table>'
  );
}

function line(row: EvidenceRow, reason: number, banded: boolean): string {
  const { published, ours, deviation, allowed, verdict } = cells(row);
  const why = row.explained === undefined ? '' : `<div class="words">${escaped(row.explained)}</div>`;
  const resolution = Math.max(-row.tolerance[0], row.tolerance[1]);
  const band =
    row.band === undefined ? '' : `${figure(row.band[0], resolution)} to ${figure(row.band[1], resolution)}`;
  return (
    `<tr class="${verdict}"><td>${escaped(row.quantity)}${why}</td><td class="n">${escaped(published)}</td>` +
    `<td class="n">${escaped(ours)}</td>${banded ? `<td class="n words">${band}</td>` : ''}` +
    `<td class="n">${deviation}</td><td class="n">${allowed}<sup>${reason}</sup></td>` +
    `<td>${allowed === '' ? '' : gauge(used(row))}</td><td class="verdict">${verdict}</td></tr>`
  );
}

/** Where within the allowed span a deviation lies. */
function gauge(share: number): string {
  const x = 40 + 36 * Math.max(-1.1, Math.min(1.1, share));
  return (
    '<svg class="gauge" width="80" height="14" viewBox="0 0 80 14" aria-hidden="true">' +
    '<line class="rule" x1="4" x2="76" y1="7" y2="7"/><line class="rule" x1="4" x2="4" y1="3" y2="11"/>' +
    '<line class="rule" x1="76" x2="76" y1="3" y2="11"/><line class="rule" x1="40" x2="40" y1="5" y2="9"/>' +
    `<circle class="dot" cx="${x.toFixed(1)}" cy="7" r="3.2"/></svg>`
  );
}

function sources(rows: readonly EvidenceRow[]): string {
  const known = new Map(rows.map((row) => [row.source, row.status]));
  const list = [...known].map(([source, status]) => `<li>${escaped(source)}. <i>${escaped(status)}</i></li>`);
  return `<details class="sources"><summary>Sources and how each is known</summary><ul>${list.join('')}</ul></details>`;
}
