import { chmodSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { Children } from '../../../src-main/launch/children.mjs';
import { fetchElectron, findElectron, openElectron } from '../../../src-main/launch/electron.mjs';

let root = '';
const said: string[] = [];
const say = (line: string): void => void said.push(line);

beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'electron-'));
  said.length = 0;
});
afterEach(() => {
  rmSync(root, { recursive: true });
});

function write(path: string, text: string, mode = 0o644): string {
  const full = join(root, path);
  mkdirSync(dirname(full), { recursive: true });
  writeFileSync(full, text);
  chmodSync(full, mode);
  return full;
}

/** A fetcher that does as told instead of going to the network. */
function fetcher(code: string): void {
  write('node_modules/electron/install.js', code);
}

const BRINGS = `
  const { mkdirSync, writeFileSync } = require('node:fs');
  mkdirSync(__dirname + '/dist');
  writeFileSync(__dirname + '/dist/electron', '');
  writeFileSync(__dirname + '/path.txt', 'electron');
`;

describe('Electron’s runtime', () => {
  it('is there when it is whole', () => {
    expect(findElectron(root)).toBeUndefined();
    const program = write('node_modules/electron/dist/electron', '');
    // As after a fetch that was broken off.
    expect(findElectron(root)).toBeUndefined();
    write('node_modules/electron/path.txt', 'electron');
    expect(findElectron(root)).toBe(program);
    rmSync(program);
    expect(findElectron(root)).toBeUndefined();
  });

  it('is fetched, which is said before', async () => {
    fetcher(BRINGS);
    expect(await fetchElectron(root, say)).toBeUndefined();
    expect(findElectron(root)).toBeDefined();
    expect(said).toEqual(["fetching Electron's runtime, for 20 s at most"]);
  });

  it('that cannot be fetched is told of with its reason, and tried again a day later only', async () => {
    fetcher('console.error("fetch failed\\n  at a place"); process.exit(1)');
    expect(await fetchElectron(root, say)).toMatch(
      /^it could not be fetched \(fetch failed\); "node .*install\.js"/,
    );
    fetcher(BRINGS);
    expect(await fetchElectron(root, say)).toMatch(/^it could not be fetched at \d{4}-.*once a day$/);
    expect(said).toHaveLength(1);
    const note = join(root, '.cache/electron-fetch-failed');
    writeFileSync(note, String(Number(readFileSync(note, 'utf8')) - 25 * 3600_000));
    expect(await fetchElectron(root, say)).toBeUndefined();
    expect(said).toHaveLength(2);
  });

  it('that does not come in time is not waited for', async () => {
    fetcher('setInterval(() => {}, 1000)');
    expect(await fetchElectron(root, say, 0.3)).toMatch(/^it could not be fetched within 0\.3 s; /);
  });

  it('is not taken for there because its fetcher says so', async () => {
    fetcher('');
    expect(await fetchElectron(root, say)).toMatch(/could not be fetched/);
  });
});

describe('the window in Electron', () => {
  const electron = (script: string): string => write('electron', `#!/bin/sh\n${script}\n`, 0o755);

  it('is given the project and the study, and its exit code is passed on', async () => {
    const program = electron(`printf '%s\\n' "$@" > ${root}/words; exit 0`);
    expect(await openElectron(new Children(), program, root, '/a study', false)).toEqual({
      shown: true,
      code: 0,
    });
    expect(readFileSync(join(root, 'words'), 'utf8')).toBe(`${root}\n/a study\n`);
  });

  it('has no sandbox for the superuser, whom Chromium would refuse', async () => {
    const program = electron(`printf '%s\\n' "$@" > ${root}/words`);
    await openElectron(new Children(), program, root, undefined, true);
    expect(readFileSync(join(root, 'words'), 'utf8')).toBe(`--no-sandbox\n${root}\n`);
  });

  it('that fails at once has not been shown', async () => {
    const outcome = await openElectron(new Children(), electron('exit 7'), root, undefined, false);
    expect(outcome).toEqual({ shown: false, reason: 'it ended at once with exit code 7' });
    const missing = await openElectron(new Children(), join(root, 'none'), root, undefined, false);
    expect(missing).toMatchObject({ shown: false, reason: expect.stringMatching(/ENOENT/) as string });
  });
});

describe('the programs of a start', () => {
  it('are ended with it, also the one that does not listen', async () => {
    const children = new Children();
    const deaf = write(
      'deaf',
      `#!/bin/sh\ntrap '' TERM\ntouch ${root}/ready\nwhile :; do sleep 0.1; done\n`,
      0o755,
    );
    const { ended } = children.begin(deaf, [], { stdio: 'ignore' });
    while (!existsSync(join(root, 'ready'))) await new Promise((resolve) => setTimeout(resolve, 20));
    await children.endAll();
    expect(await ended).toMatchObject({ signal: 'SIGKILL' });
  });

  it('that cannot be started are an outcome', async () => {
    const { ended } = new Children().begin(join(root, 'none'), [], {});
    expect(await ended).toMatchObject({ code: 127, fault: expect.any(Error) as Error });
  });
});
