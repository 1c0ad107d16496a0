// `npm start` itself, over the real build and the real loopback host.
import { spawn, type ChildProcess } from 'node:child_process';
import { chmodSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, dirname, join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { ROOT, setUp } from '../../../src-main/launch/setup.mjs';

const START = join(ROOT, 'src-main/launch/start.mjs');
const STUDY = join(ROOT, 'test/fixtures/ondel.plumeline.json');

beforeAll(() => setUp({ say: () => undefined }));

let folder = '';
let begun: ChildProcess[] = [];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'start-'));
  mkdirSync(join(folder, 'bin'));
  mkdirSync(join(folder, 'temp'));
  begun = [];
});
afterEach(() => {
  for (const child of begun) if (child.exitCode === null && child.signalCode === null) child.kill('SIGKILL');
  rmSync(folder, { recursive: true, force: true, maxRetries: 20, retryDelay: 100 });
});

class Start {
  out = '';
  err = '';
  readonly child: ChildProcess;
  readonly code: Promise<number | null>;

  constructor(args: readonly string[], env: Record<string, string>) {
    this.child = spawn(process.execPath, [START, ...args], {
      env: {
        PATH: [join(folder, 'bin'), dirname(process.execPath), '/usr/bin', '/bin'].join(delimiter),
        HOME: folder,
        XDG_CONFIG_HOME: join(folder, 'config'),
        TMPDIR: join(folder, 'temp'),
        ...env,
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    begun.push(this.child);
    this.child.stdout!.on('data', (chunk: Buffer) => (this.out += chunk.toString()));
    this.child.stderr!.on('data', (chunk: Buffer) => (this.err += chunk.toString()));
    this.code = new Promise((resolve) => this.child.on('close', resolve));
  }

  /** Waits for what is said; fails with all that was said when the start ends before. */
  async says(pattern: RegExp): Promise<void> {
    while (!pattern.test(this.err)) {
      if (this.child.exitCode !== null)
        throw new Error(`The start ended and never said ${String(pattern)}:\n${this.err}${this.out}`);
      await sleep(20);
    }
  }
}

/** A browser that is a script: it gets the address of the app in `app` and the profile's folder in `profile`. */
function browser(name: string, script: string): string {
  const path = join(folder, 'bin', name);
  const head = `#!${process.execPath}
    const word = (name) => process.argv.find((each) => each.startsWith(name)).slice(name.length);
    const app = word('--app='), profile = word('--user-data-dir=');
    const { WebSocket } = require(${JSON.stringify(join(ROOT, 'node_modules/ws'))});
    /** Goes the way of a browser: the address, where it leads, the token behind the hash, the socket. */
    async function visit() {
      const reply = await fetch(app, { redirect: 'manual' });
      const address = new URL(reply.headers.get('location'), app);
      const page = await (await fetch(address)).text();
      if (!page.includes('Plumeline')) throw new Error('the page is not served');
      const token = new URLSearchParams(address.hash.slice(1)).get('token');
      const ask = async (channel, payload) => (await fetch(address.origin + '/api/' + channel, {
        method: 'POST', body: JSON.stringify(payload),
        headers: { 'content-type': 'application/json', authorization: 'Bearer ' + token, origin: address.origin },
      })).json();
      const socket = new WebSocket('ws://' + address.host + '/alive?token=' + token, { origin: address.origin });
      await new Promise((resolve, reject) => { socket.on('open', resolve); socket.on('error', reject); });
      return { ask, socket, token };
    }
  `;
  writeFileSync(path, head + script);
  chmodSync(path, 0o755);
  return path;
}

const leftOver = (): string[] => readdirSync(join(folder, 'temp'));

describe('a start with a display', () => {
  const display = { DISPLAY: ':99' };

  it('opens the study in an app window of an installed browser, says so, and ends with it', async () => {
    const path = browser(
      'chromium',
      `visit().then(async ({ ask, socket, token }) => {
        const start = await ask('app.startStudy', {});
        const file = await ask('file.read', { token: start.value.token });
        const words = process.argv.join(' ');
        require('node:fs').writeFileSync(${JSON.stringify(join(folder, 'seen.json'))},
          JSON.stringify({ name: file.value.name, tokenShown: words.includes(token), words }));
        socket.close();
      });`,
    );
    const start = new Start(['--in', 'browser', STUDY], { ...display, PLUMELINE_BROWSER: path });
    expect(await start.code).toBe(0);
    expect(start.err).toContain(`opening an app window of ${path}`);
    expect(start.err).toMatch(/the window is open, \d+\.\d s after the start; it ends with it/);
    const seen = JSON.parse(readFileSync(join(folder, 'seen.json'), 'utf8')) as Record<string, unknown>;
    // A command line can be read by every user of the machine.
    expect(seen).toMatchObject({ name: 'ondel.plumeline.json', tokenShown: false });
    expect(leftOver()).toEqual([]);
  });

  it('ends a browser that stays when its window has closed', async () => {
    const path = browser(
      'chromium',
      `visit().then(({ socket }) => socket.close());
       require('node:fs').writeFileSync(${JSON.stringify(join(folder, 'pid'))}, String(process.pid));
       setInterval(() => {}, 1000);`,
    );
    const start = new Start(['--in', 'browser'], { ...display, PLUMELINE_BROWSER: path });
    expect(await start.code).toBe(0);
    const pid = Number(readFileSync(join(folder, 'pid'), 'utf8'));
    expect(() => process.kill(pid, 0)).toThrow(/ESRCH/);
    expect(leftOver()).toEqual([]);
  });

  it('goes to the next browser when one fails, and then to the terminal', async () => {
    browser('google-chrome', 'console.error("no display of mine"); process.exit(3);');
    browser('chromium', 'process.exit(4);');
    // The one of this machine would be found too.
    const path = [join(folder, 'bin'), dirname(process.execPath)].join(delimiter);
    const start = new Start(['--in', 'browser,terminal', STUDY], { ...display, PATH: path });
    await start.says(/serving until Ctrl-C/);
    expect(start.err).toMatch(
      /not in .*google-chrome: it ended at once with exit code 3: no display of mine/,
    );
    expect(start.err).toMatch(/not in .*chromium: it ended at once with exit code 4/);
    expect(start.err).toMatch(/in the terminal, without a window/);
    start.child.kill('SIGTERM');
    expect(await start.code).toBe(143);
    expect(leftOver()).toEqual([]);
  });

  it('passes on the exit code of a browser that breaks down', async () => {
    const path = browser('chromium', 'visit().then(() => process.exit(9));');
    const start = new Start(['--in', 'browser'], { ...display, PLUMELINE_BROWSER: path });
    expect(await start.code).toBe(9);
  });

  it('is called off by Ctrl-C: all that it began ends with it, and nothing is left', async () => {
    const path = browser(
      'chromium',
      `require('node:fs').writeFileSync(${JSON.stringify(join(folder, 'pid'))}, String(process.pid));
       visit();`,
    );
    const start = new Start(['--in', 'browser'], { ...display, PLUMELINE_BROWSER: path });
    await start.says(/the window is open/);
    start.child.kill('SIGINT');
    expect(await start.code).toBe(130);
    const pid = Number(readFileSync(join(folder, 'pid'), 'utf8'));
    expect(() => process.kill(pid, 0)).toThrow(/ESRCH/);
    expect(leftOver()).toEqual([]);
  });
});

describe('a start without a display', () => {
  it('serves, prints the address with its token, and the solved sweep', async () => {
    const start = new Start([], {});
    await start.says(/serving until Ctrl-C/);
    expect(start.err).toMatch(/there is no display\n.*in the terminal, without a window/);
    const address = new URL(start.out.split('\n')[0]!);
    expect(address.hash).toMatch(/^#token=.{43}$/);
    const page = await fetch(address);
    expect([page.status, await page.text()]).toEqual([200, expect.stringContaining('Plumeline')]);
    // The sweep of the first demo, re-solved: a payload of tonnes at a gap of nought.
    expect(start.out).toMatch(/payload against the staging gap/);
    expect(start.out).toMatch(/^ +0 +.*100\.0/m);
    start.child.kill('SIGINT');
    expect(await start.code).toBe(130);
    await expect(fetch(address)).rejects.toThrow(/fetch failed/);
  });

  it('goes on serving when the study cannot be swept, and says so', async () => {
    const study = join(folder, 'bad.plumeline.json');
    writeFileSync(study, '{}');
    const start = new Start([study], {});
    await start.says(/the sweep ended with exit code 2/);
    await start.says(/serving until Ctrl-C/);
    start.child.kill('SIGINT');
    expect(await start.code).toBe(130);
  });
});

describe('a start that is not understood', () => {
  it('ends at once with a sentence', async () => {
    const start = new Start(['none.plumeline.json'], {});
    expect(await start.code).toBe(2);
    expect(start.err).toMatch(/there is no file .*none\.plumeline\.json/);
  });
});
