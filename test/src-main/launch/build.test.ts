import { mkdirSync, mkdtempSync, renameSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { fingerprintSources, whyBuild } from '../../../src-main/launch/build.mjs';

const built = [
  'out/main/cli.js',
  'out/main/compute.js',
  'out/main/electron.js',
  'out/main/loopback.js',
  'out/preload/preload.cjs',
  'out/renderer/index.html',
];

let root = '';
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'build-'));
  write('package.json', '{}');
  write('core/math/a.ts', 'one');
  write('src-main/cli/main.ts', 'two');
  write('assets/studies/a.json', '{}');
  for (const path of built) write(path, 'built');
  write('out/sources.sha256', fingerprintSources(root));
});
afterEach(() => {
  rmSync(root, { recursive: true });
});

function write(path: string, text: string): void {
  mkdirSync(dirname(join(root, path)), { recursive: true });
  writeFileSync(join(root, path), text);
}

describe('the reason to build', () => {
  it('is none while the sources are those of the last build, whenever they were written', () => {
    utimesSync(join(root, 'core/math/a.ts'), new Date(), new Date(Date.now() + 60_000));
    expect(whyBuild(root)).toBeUndefined();
  });

  it.each([
    ['a source has changed', () => write('core/math/a.ts', 'ONE')],
    ['a source has been added', () => write('core/math/b.ts', '')],
    ['a source has been removed', () => rmSync(join(root, 'core/math/a.ts'))],
    [
      'a source has another name',
      () => renameSync(join(root, 'core/math/a.ts'), join(root, 'core/math/b.ts')),
    ],
    [
      'text has moved from one file to the next',
      () => {
        write('core/math/a.ts', 'on');
        write('core/math/b.ts', 'e');
      },
    ],
    ['an asset has changed', () => write('assets/studies/a.json', '{ }')],
    ['package.json has changed', () => write('package.json', '{ }')],
  ])('is told when %s', (_, change) => {
    change();
    expect(whyBuild(root)).toMatch(/sources have changed/);
  });

  it('is told when the note of its sources is gone', () => {
    rmSync(join(root, 'out/sources.sha256'));
    expect(whyBuild(root)).toMatch(/not known from which sources/);
  });

  it.each(built)('is told when %s is gone', (path) => {
    rmSync(join(root, path));
    expect(whyBuild(root)).toBe(`${path} is missing`);
  });

  it('is none when only what is not built has changed', () => {
    write('src-main/launch/setup.mjs', 'new');
    write('test/a.test.ts', 'new');
    write('README.md', 'new');
    expect(whyBuild(root)).toBeUndefined();
  });
});
