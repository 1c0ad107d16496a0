/**
 * What the pictures of a film cost in a real browser: each step by itself, and recorded as the program records them, all in
 * one run. Bytes are counted beside the times: the same film must come to the same bytes however many lanes make it.
 */
import { createServer } from 'node:http';
import { existsSync, readFileSync } from 'node:fs';
import { availableParallelism, loadavg } from 'node:os';
import { extname, join } from 'node:path';
import { chromium, type Page } from 'playwright-core';
import { findBrowsers } from '../../src-main/launch/browsers.mjs';
import type { Apart, Made, Prepared, Wish } from './film/page.ts';

interface Orders {
  readonly study: string;
  /** Of the built page. */
  readonly folder: string;
  readonly json: boolean;
}

/** The functions that the page puts up. */
interface Bench {
  readonly prepare: (text: string) => Promise<Prepared>;
  readonly apart: (wish: Wish) => Promise<Apart>;
  readonly raster: (wish: Wish) => number;
  readonly recorded: (wish: Wish, lanes: number, each: number) => Promise<Made>;
}

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.woff2': 'font/woff2',
};
const PICTURES = 240;
/** Pictures of a segment, as at 30 a second. */
const SEGMENT = 60;

async function measure(page: Page, text: string): Promise<unknown> {
  const { globe } = await page.evaluate(
    (study) => (globalThis as unknown as { bench: Bench }).bench.prepare(study),
    text,
  );
  const whole: Wish = {
    width_px: 1920,
    height_px: 1080,
    format: 'webm',
    from: globe,
    count: PICTURES,
    stride: 1,
  };
  const overlay: Wish = { ...whole, format: 'webm-alpha' };
  const apart = (wish: Wish): Promise<Apart> =>
    page.evaluate((w) => (globalThis as unknown as { bench: Bench }).bench.apart(w), {
      ...wish,
      count: 60,
      stride: 4,
    });
  const raster = (wish: Wish): Promise<number> =>
    page.evaluate((w) => (globalThis as unknown as { bench: Bench }).bench.raster(w), wish);
  const recorded = (wish: Wish, lanes: number, each: number): Promise<Made> =>
    page.evaluate(([w, l, e]) => (globalThis as unknown as { bench: Bench }).bench.recorded(w, l, e), [
      wish,
      lanes,
      each,
    ] as const);
  const lanes = Math.min(4, availableParallelism());
  const rows = {
    'raster only, with the globe': { rate: await raster(whole) },
    'raster only, overlay alone': { rate: await raster(overlay) },
    'recorded, with the globe': await recorded(whole, lanes, SEGMENT),
    'recorded, with the globe, in one lane': await recorded(whole, 1, SEGMENT),
    'recorded, overlay alone, transparent WebM': await recorded(overlay, lanes, SEGMENT),
    'recorded, overlay alone, numbered pictures': await recorded(
      { ...overlay, format: 'png-alpha', count: 120 },
      lanes,
      8,
    ),
    'recorded, with the globe, H.264': await recorded({ ...whole, format: 'mp4' }, lanes, SEGMENT),
    'raster only, with the globe, again': { rate: await raster(whole) },
    'in segments of one second': await recorded(whole, lanes, SEGMENT / 2),
    'in one segment': await recorded(whole, 1, PICTURES),
  };
  const steps = { 'with the globe': await apart(whole), 'overlay alone': await apart(overlay) };
  return { load: loadavg()[0], lanes, pictures: PICTURES, rows, steps };
}

function print(report: {
  load: number;
  lanes: number;
  rows: Record<string, { rate: number; bytes?: number; sum?: number }>;
  steps: Record<string, Apart>;
}): string {
  const lines = [`1920×1080, ${report.lanes} lanes, load of the machine ${report.load.toFixed(1)}`, ''];
  const raster = report.rows['raster only, with the globe']!.rate;
  for (const [name, { rate, bytes, sum }] of Object.entries(report.rows)) {
    const cells = [
      name.padEnd(46),
      `${rate.toFixed(1)}/s`.padStart(9),
      `${((100 * rate) / raster).toFixed(0)} %`.padStart(6),
    ];
    if (bytes !== undefined && sum !== undefined)
      cells.push(`${bytes} bytes`.padStart(15), `sum ${sum >>> 0}`);
    lines.push(cells.join('  '));
  }
  lines.push('', 'ms a picture, each step by itself');
  for (const [name, { draw_ms, read_ms, convert_ms, encode_ms }] of Object.entries(report.steps)) {
    const cells = { draw: draw_ms, read: read_ms, convert: convert_ms, encode: encode_ms };
    const words = Object.entries(cells).map(([step, ms]) => `${step} ${ms.toFixed(1)}`);
    lines.push(`${name.padEnd(20)} ${words.join(', ')}`);
  }
  return `${lines.join('\n')}\n`;
}

const orders = JSON.parse(process.argv[2] ?? '') as Orders;
const server = createServer((request, response) => {
  const path = join(orders.folder, (request.url ?? '').split('?')[0]!);
  if (!existsSync(path)) {
    response.writeHead(404).end();
    return;
  }
  response.writeHead(200, { 'content-type': TYPES[extname(path)] ?? 'application/octet-stream' });
  response.end(readFileSync(path));
});
await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
const program = findBrowsers(process.platform, process.env)[0];
if (program === undefined) throw new Error('No browser of the Chromium family was found.');
const browser = await chromium.launch({
  executablePath: program,
  args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--force-color-profile=srgb'],
});
try {
  const page = await browser.newPage();
  await page.goto(`http://127.0.0.1:${(server.address() as { port: number }).port}/page.html`);
  await page.waitForFunction(() => 'bench' in globalThis);
  const report = await measure(page, readFileSync(orders.study, 'utf8'));
  process.stdout.write(
    orders.json ? `${JSON.stringify(report, null, 2)}\n` : print(report as Parameters<typeof print>[0]),
  );
} finally {
  await browser.close();
  server.close();
}
