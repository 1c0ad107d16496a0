import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { whyInstall } from '../../../src-main/launch/packages.mjs';

let root = '';
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'packages-'));
  mkdirSync(join(root, 'node_modules'));
});
afterEach(() => {
  rmSync(root, { recursive: true });
});

const dependencies = { a: '1.0.0' };
const a = { version: '1.0.0', integrity: 'sha512-a' };
const b = { version: '2.0.0', integrity: 'sha512-b' };

function write(path: string, value: unknown): void {
  writeFileSync(join(root, path), JSON.stringify(value));
}

/** Writes a project that asks for `wanted` and has `installed`. */
function stand(wanted: object, installed?: object): void {
  write('package.json', { dependencies });
  write('package-lock.json', { packages: { '': { dependencies }, ...wanted } });
  if (installed) write('node_modules/.package-lock.json', { packages: installed });
}

describe('the reason to install packages', () => {
  it('is none when what is installed is what the lock file names', () => {
    stand({ 'node_modules/a': a, 'node_modules/b': b }, { 'node_modules/a': a, 'node_modules/b': b });
    expect(whyInstall(root)).toBeUndefined();
  });

  it('is none when only an optional package is left out, as npm does on other machines', () => {
    stand({ 'node_modules/a': a, 'node_modules/b': { ...b, optional: true } }, { 'node_modules/a': a });
    expect(whyInstall(root)).toBeUndefined();
  });

  it.each([
    ['nothing is installed', undefined, /node_modules is missing/],
    ['a package is missing', { 'node_modules/a': a }, /node_modules\/b is missing/],
    [
      'a package has another version',
      { 'node_modules/a': a, 'node_modules/b': { ...b, version: '2.0.1' } },
      /node_modules\/b is not the version/,
    ],
    [
      'a package has other contents',
      { 'node_modules/a': a, 'node_modules/b': { ...b, integrity: 'sha512-c' } },
      /node_modules\/b is not the version/,
    ],
    [
      'a package is left over',
      { 'node_modules/a': a, 'node_modules/b': b, 'node_modules/c': a },
      /node_modules\/c is no longer/,
    ],
  ])('is told when %s', (_, installed, reason) => {
    stand({ 'node_modules/a': a, 'node_modules/b': b }, installed);
    expect(whyInstall(root)).toMatch(reason);
  });

  it('is told when npm’s note of what it installed is cut short', () => {
    stand({ 'node_modules/a': a });
    writeFileSync(join(root, 'node_modules/.package-lock.json'), '{"packages": {');
    expect(whyInstall(root)).toMatch(/node_modules is missing/);
  });

  it('is an error, not an install, when package.json and the lock file disagree', () => {
    stand({ 'node_modules/a': a }, { 'node_modules/a': a });
    write('package.json', { dependencies: { a: '1.0.1' } });
    expect(() => whyInstall(root)).toThrow(
      /disagree on a \(dependencies: 1\.0\.1 and 1\.0\.0\): run npm install/,
    );
    write('package.json', { dependencies, devDependencies: { d: '3.0.0' } });
    expect(() => whyInstall(root)).toThrow(/disagree on d \(devDependencies: 3\.0\.0 and absent\)/);
  });

  it('is an error when there is no lock file', () => {
    write('package.json', { dependencies });
    expect(() => whyInstall(root)).toThrow(/package-lock\.json is missing/);
  });
});
