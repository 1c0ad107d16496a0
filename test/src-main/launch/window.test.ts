// `npm start` on a display, with the browser of this machine: what a user sees.
import { spawn, type ChildProcess } from 'node:child_process';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterEach, beforeAll, beforeEach, expect, it } from 'vitest';
import { ROOT, setUp } from '../../../src-main/launch/setup.mjs';

beforeAll(() => setUp({ say: () => undefined }));

let folder = '';
let display: ChildProcess;
let number = '';
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'window-'));
  mkdirSync(join(folder, 'temp'));
  // Takes the first number that is free and tells it; keeps its picture in a file.
  const args = ['-displayfd', '3', '-screen', '0', '1440x900x24', '-fbdir', folder];
  display = spawn('Xvfb', args, { stdio: ['ignore', 'ignore', 'ignore', 'pipe'] });
  number = await new Promise<string>((resolve, reject) => {
    display.stdio[3]!.once('data', (chunk: Buffer) => resolve(chunk.toString().trim()));
    display.once('error', reject);
  });
});
afterEach(() => {
  display.kill();
  rmSync(folder, { recursive: true, force: true, maxRetries: 20, retryDelay: 100 });
});

/** How many pixels of the display are drawn, and in how many colours. The file is an X window dump: header, map, rows. */
function look(): { drawn: number; colours: number } {
  const file = readFileSync(join(folder, 'Xvfb_screen0'));
  const start = file.readUInt32BE(0) + 12 * file.readUInt32BE(76);
  const pixels = new Uint32Array(
    file.buffer.slice(file.byteOffset + start, file.byteOffset + start + 1440 * 900 * 4),
  );
  const colours = new Set<number>();
  let drawn = 0;
  for (const pixel of pixels) {
    const colour = pixel & 0xffffff;
    colours.add(colour);
    if (colour !== 0) drawn += 1;
  }
  return { drawn: drawn / pixels.length, colours: colours.size };
}

it('shows the demo in an app window of the installed browser, and ends by Ctrl-C with nothing left', async () => {
  const start = spawn(process.execPath, [join(ROOT, 'src-main/launch/start.mjs'), '--in', 'browser'], {
    env: {
      ...process.env,
      DISPLAY: `:${number}`,
      HOME: folder,
      XDG_CONFIG_HOME: join(folder, 'config'),
      TMPDIR: join(folder, 'temp'),
    },
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  let said = '';
  start.stderr.on('data', (chunk: Buffer) => (said += chunk.toString()));
  const code = new Promise((resolve) => start.on('close', resolve));

  // Drawn nearly to the edge, and with the many colours of type and drawing: not an empty page.
  const there = ({ drawn, colours }: ReturnType<typeof look>): boolean => drawn > 0.8 && colours > 100;
  while (!/the window is open/.test(said) || !there(look())) {
    if (start.exitCode !== null) throw new Error(`The start ended before there was a picture:\n${said}`);
    await sleep(100);
  }
  expect(said).toMatch(/opening an app window of .*chrom/);

  start.kill('SIGINT');
  expect(await code).toBe(130);
  expect(readdirSync(join(folder, 'temp')).filter((name) => name.startsWith('plumeline-'))).toEqual([]);
});
