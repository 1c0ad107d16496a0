/** A real browser on the real loopback host, for tests that drive the window as a person would. */
import { spawn, type ChildProcess } from 'node:child_process';
import { copyFileSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { chromium, type Browser, type Page } from 'playwright-core';

// The bench drives the window from a bundle that lies elsewhere.
const root = process.env['PLUMELINE_ROOT'] ?? join(import.meta.dirname, '../..');
const BROWSERS = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'];
/** The browser in software, quiet on the network, same pixels run after run. */
const FLAGS = [
  '--no-sandbox',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  // Nothing here needs a graphics card, and drawing through an emulated one takes twenty times as long.
  '--disable-gpu',
  '--force-color-profile=srgb',
];

export interface Stage {
  readonly page: Page;
  /** A folder of the test's own, which the host takes for the home folder. */
  readonly home: string;
  /** What the page wrote as errors: empty in a good run. */
  readonly faults: string[];
  close(): Promise<void>;
}

function findBrowser(): string {
  const found = BROWSERS.find((path) => existsSync(path));
  if (found === undefined) throw new Error('No Chromium-family browser: install the package "chromium".');
  return found;
}

async function firstLine(child: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let text = '';
    let complaint = '';
    child.stderr?.on('data', (data: Buffer) => (complaint += data.toString()));
    child.stdout?.on('data', (data: Buffer) => {
      text += data.toString();
      const end = text.indexOf('\n');
      if (end >= 0) resolve(text.slice(0, end));
    });
    child.on('exit', (code) =>
      reject(new Error(`The loopback host ended with ${String(code)}: ${complaint}`)),
    );
  });
}

/** Starts host and browser and opens the window on a study file, or on the first demo. */
export async function openWindow(study: string | null, size = { width: 1440, height: 900 }): Promise<Stage> {
  const home = mkdtempSync(join(tmpdir(), 'plumeline-e2e-'));
  // A copy, so that whatever the window saves beside its study lands in the test's own folder.
  const own = study === null ? null : join(home, basename(study));
  if (study !== null && own !== null) copyFileSync(study, own);
  const host = spawn(
    process.execPath,
    [join(root, 'out/main/loopback.js'), '--stay', ...(own === null ? [] : [own])],
    {
      env: { ...process.env, HOME: home, XDG_CONFIG_HOME: join(home, '.config') },
      stdio: ['ignore', 'pipe', 'pipe'],
    },
  );
  let browser: Browser | null = null;
  try {
    const address = await firstLine(host);
    browser = await chromium.launch({ executablePath: findBrowser(), args: FLAGS });
    const page = await browser.newPage({ viewport: size });
    const faults: string[] = [];
    page.on('pageerror', (error) => faults.push(error.message));
    page.on('console', (message) => {
      if (message.type() === 'error') faults.push(message.text());
    });
    page.setDefaultTimeout(15_000);
    await page.goto(address);
    const opened = browser;
    return {
      page,
      home,
      faults,
      async close() {
        await opened.close();
        host.removeAllListeners('exit');
        host.kill();
        rmSync(home, { recursive: true, force: true });
      },
    };
  } catch (error) {
    await browser?.close();
    host.kill();
    throw error;
  }
}

/** Payload on show, kg, once a settled answer stands. */
export async function settledPayload_kg(page: Page): Promise<number> {
  const figure = page.locator('[data-payload-kg][data-settled="true"]');
  await figure.waitFor();
  return Number(await figure.getAttribute('data-payload-kg'));
}

/** Mission time on the playhead's tab, as written. */
export async function shownTime(page: Page): Promise<string> {
  return (await page.locator('.playhead text').first().textContent()) ?? '';
}
