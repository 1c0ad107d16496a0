/** The command as it is started: built, with real streams and signals. */
import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildIfStale } from '../../../src-main/launch/setup.mjs';
import reference from '../../published/r1/reference.json' with { type: 'json' };
import { R1, ROOT, type Ended } from './harness.ts';

const folder = mkdtempSync(join(tmpdir(), 'plumeline-process-'));
afterAll(() => {
  rmSync(folder, { recursive: true });
});
beforeAll(async () => {
  await buildIfStale(() => undefined);
});

/** Starts the command elsewhere than in the project's folder; `onErr` sees standard error as it comes. */
function start(args: readonly string[], onErr?: (text: string, child: ChildProcess) => void): Promise<Ended> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [join(ROOT, 'out/main/cli.js'), ...args], { cwd: folder });
    let out = '';
    let err = '';
    child.stdout.on('data', (chunk: Buffer) => (out += chunk.toString()));
    child.stderr.on('data', (chunk: Buffer) => {
      err += chunk.toString();
      onErr?.(err, child);
    });
    child.on('error', reject);
    child.on('close', (code, signal) => {
      if (code === null) reject(new Error(`ended by ${signal ?? 'nothing'}: ${err}`));
      else resolve({ code, out, err });
    });
  });
}

describe('the built command', () => {
  it('solves R1 from another folder', async () => {
    const { code, out, err } = await start(['payload', R1, '--json']);
    expect(err).toBe('');
    expect(code).toBe(0);
    const { payload_kg } = JSON.parse(out) as { payload_kg: number };
    // Within 10 kg: the two integrate and interpolate differently.
    expect(Math.abs(payload_kg - reference.gap_sweep.payload_kg[0]!)).toBeLessThan(10);
  });

  it('ends with code 2 for a missing file and a bad option', async () => {
    const missing = await start(['sweep', 'nowhere']);
    expect(missing.code).toBe(2);
    expect(missing.err).toMatch(/^plumeline: STUDY: received "nowhere", which is not there, allowed is/);
    const option = await start(['sweep', R1, '--gapps', '3']);
    expect(option.code).toBe(2);
    expect(option.err).toContain('option --gapps');
  });

  it('ends with code 130 on an interruption, tells its progress before, and leaves no file', async () => {
    const path = join(folder, 'cut.json');
    // Far more solves than are done when the first line of progress comes, after a second.
    const args = ['sweep', R1, '--step', '0.05', '--json', '--out', path];
    let sent = false;
    const { code, out, err } = await start(args, (text, child) => {
      if (sent || !/of 1804 solves, about \d+ (s|min) left\n/.test(text)) return;
      sent = true;
      child.kill('SIGINT');
    });
    expect(sent).toBe(true);
    expect(code).toBe(130);
    expect(out).toBe('');
    expect(err.trimEnd().split('\n').at(-1)).toBe('plumeline: cancelled; nothing was written');
    expect(existsSync(path)).toBe(false);
  });
});
