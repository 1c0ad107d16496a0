import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { withLock } from '../../../src-main/launch/lock.mjs';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'lock-'));
});
afterEach(() => {
  rmSync(folder, { recursive: true });
});

describe('the set-up’s lock', () => {
  it('lets one piece of work run after the other, and says that it waits', async () => {
    const path = join(folder, 'new/setup.lock');
    const events: string[] = [];
    const said: string[] = [];
    const work = (name: string) =>
      withLock(
        path,
        (line) => said.push(line),
        async () => {
          events.push(`${name} begins`);
          await sleep(20);
          events.push(`${name} ends`);
          return name;
        },
      );
    expect(await Promise.all([work('one'), work('two')])).toEqual(['one', 'two']);
    expect(events).toEqual(['one begins', 'one ends', 'two begins', 'two ends']);
    expect(said).toEqual([`waiting for another set-up to end (process ${process.pid})`]);
    expect(existsSync(path)).toBe(false);
  });

  it('is given back when the work fails', async () => {
    const path = join(folder, 'setup.lock');
    await expect(withLock(path, String, () => Promise.reject(new Error('no')))).rejects.toThrow('no');
    expect(existsSync(path)).toBe(false);
  });

  it('is taken over from a process that has died', async () => {
    const path = join(folder, 'setup.lock');
    // Above the largest process number that Linux, macOS and Windows give out.
    writeFileSync(path, '2147483647');
    expect(await withLock(path, String, () => Promise.resolve('done'))).toBe('done');
  });
});
