// The built host as a program of its own, so that the system can set it a limit.
import { spawn, type ChildProcess } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeAll, beforeEach, expect, it } from 'vitest';
import { ROOT, setUp } from '../../../src-main/launch/setup.mjs';

beforeAll(() => setUp({ say: () => undefined }));

let folder = '';
let host: ChildProcess;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'saving-'));
});
afterEach(() => {
  host.kill('SIGKILL');
  rmSync(folder, { recursive: true });
});

it('leaves the old content whole when the disk takes only a part of the new one', async () => {
  const path = join(folder, 'a.plumeline.json');
  writeFileSync(path, 'the old content');
  // No file may grow beyond 64 blocks of 1024 bytes (512 by some shells): a write that meets the limit is cut short
  // there, and succeeds, exactly as on a disk that fills up; the next one fails. The signal that comes with it would
  // end the program.
  const deaf = 'data:text/javascript,process.on("SIGXFSZ",()=>{})';
  const words = ['--import', deaf, join(ROOT, 'out/main/loopback.js'), '--stay', path];
  host = spawn('sh', ['-c', 'ulimit -f 64; exec "$0" "$@"', process.execPath, ...words], {
    env: { ...process.env, XDG_CONFIG_HOME: join(folder, 'config') },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const address = await new Promise<URL>((resolve) => {
    host.stdout!.once('data', (chunk: Buffer) => resolve(new URL(chunk.toString().trim())));
  });
  const ask = async (channel: string, payload: unknown): Promise<{ ok: boolean; [key: string]: unknown }> => {
    const reply = await fetch(`${address.origin}/api/${channel}`, {
      method: 'POST',
      headers: {
        'content-type': 'application/json',
        authorization: `Bearer ${address.hash.slice('#token='.length)}`,
        origin: address.origin,
      },
      body: JSON.stringify(payload),
    });
    return (await reply.json()) as { ok: boolean };
  };

  const { token } = (await ask('app.startStudy', {}))['value'] as { token: string };
  const answer = await ask('file.write', { token, text: 'x'.repeat(1_000_000) });
  expect(answer).toEqual({
    ok: false,
    code: 'notWritable',
    message: '“a.plumeline.json” cannot be written: it would be larger than files may be here.',
  });
  expect(readFileSync(path, 'utf8')).toBe('the old content');
  expect(readdirSync(folder).filter((name) => name !== 'config')).toEqual(['a.plumeline.json']);
  // A text that fits is written: it was the limit, and nothing else.
  expect(await ask('file.write', { token, text: 'new' })).toMatchObject({ ok: true });
  expect(readFileSync(path, 'utf8')).toBe('new');
});
