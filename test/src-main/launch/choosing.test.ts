import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { readArguments } from '../../../src-main/launch/arguments.mjs';
import { browserArguments, findBrowsers } from '../../../src-main/launch/browsers.mjs';
import { hasDisplay } from '../../../src-main/launch/display.mjs';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'choosing-'));
});
afterEach(() => {
  rmSync(folder, { recursive: true });
});

describe('the command line of a start', () => {
  it('names nothing that has to be named', () => {
    expect(readArguments([], folder)).toEqual({
      study: undefined,
      places: undefined,
      port: undefined,
      help: false,
    });
  });

  it('names a study from where the user stands', () => {
    const path = join(folder, 'a.plumeline.json');
    writeFileSync(path, '{}');
    expect(readArguments(['a.plumeline.json'], folder).study).toBe(path);
    expect(readArguments([path, '--in', 'browser,terminal', '--port', '8080'], '/')).toMatchObject({
      study: path,
      places: ['browser', 'terminal'],
      port: '8080',
    });
  });

  it.each([
    [['none.plumeline.json'], /there is no file .*none\.plumeline\.json/],
    [['--in', 'browser,nowhere'], /--in nowhere: allowed are electron, browser, terminal/],
    [['--port', '80'], /--port 80: allowed are whole numbers from 1024 to 65535/],
    [['--port', '99999'], /--port 99999/],
    [['a', 'b'], /one study is opened at a time, and 2 were named/],
    [['--dark'], /--dark/],
  ])('%j is refused in a sentence', (words, message) => {
    expect(() => readArguments(words, folder)).toThrow(message);
  });
});

describe('a display', () => {
  it.each([
    ['linux', {}, false],
    ['linux', { DISPLAY: '' }, false],
    ['linux', { DISPLAY: ':0' }, true],
    ['linux', { WAYLAND_DISPLAY: 'wayland-0' }, true],
    ['darwin', {}, true],
    ['win32', {}, true],
  ] as const)('on %s with %j: %s', (platform, env, there) => {
    expect(hasDisplay(platform, env)).toBe(there);
  });
});

describe('an installed browser', () => {
  it('is looked for on the path of Linux, the widest-spread first, each once', () => {
    const env = { PATH: ['/usr/bin', '', '/opt/bin', '/usr/bin'].join(delimiter) };
    const there = new Set(['/opt/bin/google-chrome', '/usr/bin/chromium', '/usr/bin/firefox']);
    expect(findBrowsers('linux', env, (path) => there.has(path))).toEqual([
      '/opt/bin/google-chrome',
      '/usr/bin/chromium',
    ]);
  });

  it('is looked for among the applications of macOS, the home folder’s too', () => {
    const found = findBrowsers('darwin', { HOME: '/Users/a' }, (path) => path.includes('Chromium'));
    expect(found).toEqual([
      '/Applications/Chromium.app/Contents/MacOS/Chromium',
      '/Users/a/Applications/Chromium.app/Contents/MacOS/Chromium',
    ]);
  });

  it('is looked for in the program folders of Windows that there are', () => {
    const env = { PROGRAMFILES: 'C:\\Program Files', LOCALAPPDATA: 'C:\\Local' };
    const found = findBrowsers('win32', env, (path) => path.endsWith('msedge.exe'));
    expect(found).toEqual([
      'C:\\Program Files\\Microsoft\\Edge\\Application\\msedge.exe',
      'C:\\Local\\Microsoft\\Edge\\Application\\msedge.exe',
    ]);
  });

  it('is the one that the user names, without a search', () => {
    const env = { PATH: '/usr/bin', PLUMELINE_BROWSER: '/my/browser' };
    expect(findBrowsers('linux', env, () => true)).toEqual(['/my/browser']);
  });

  it('shows one address as an app, in a fresh folder', () => {
    const args = browserArguments('http://127.0.0.1:1/open/x', '/fresh', {
      platform: 'linux',
      isRoot: false,
      hasGpu: true,
    });
    expect(args).toEqual(
      expect.arrayContaining(['--app=http://127.0.0.1:1/open/x', '--user-data-dir=/fresh']),
    );
    expect(args.join(' ')).not.toMatch(/no-sandbox|disable-gpu/);
  });

  it('leaves its sandbox out for the superuser of Linux alone, and draws in software without a GPU', () => {
    const args = (platform: NodeJS.Platform): string =>
      browserArguments('a', 'b', { platform, isRoot: true, hasGpu: false }).join(' ');
    expect(args('linux')).toMatch(/--no-sandbox/);
    expect(args('linux')).toMatch(/--disable-gpu/);
    expect(args('darwin')).not.toMatch(/--no-sandbox/);
  });
});
