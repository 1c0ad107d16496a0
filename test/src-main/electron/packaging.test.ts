// The installed program: electron-builder checks its configuration and packs the built program around a stand-in for
// Electron's runtime, and what it packed is started by Node alone, away from the project.
import { spawn, type ChildProcess } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { listDemos } from '../../../src-main/launch/demos.mjs';
import { withLock } from '../../../src-main/launch/lock.mjs';
import { runCommand } from '../../../src-main/launch/run-command.mjs';
import { LOCK, ROOT, setUp } from '../../../src-main/launch/setup.mjs';

let folder = '';
let output = '';
let host: ChildProcess | undefined;

/** Where the switches of a runtime stand in its program: this text, version 1, their number, one letter each. */
const SWITCHES = ['dL7pKGdnNz796PbbjQWNKmHXBZaB9tsX', '\u0001\u0009', '101100111'].join('');

beforeAll(async () => {
  await setUp({ say: () => undefined });
  folder = mkdtempSync(join(tmpdir(), 'packaging-'));
  const runtime = join(folder, 'runtime');
  mkdirSync(join(runtime, 'locales'), { recursive: true });
  writeFileSync(join(runtime, 'electron'), `#!/bin/sh\n${SWITCHES}`, { mode: 0o755 });
  writeFileSync(join(runtime, 'locales/en-US.pak'), '');
  for (const name of ['LICENSE', 'LICENSES.chromium.html', 'version']) writeFileSync(join(runtime, name), '');
  const pack = (): ReturnType<typeof run> =>
    run([
      'node_modules/electron-builder/cli.js',
      ...['--linux', '--dir', '--config', '.config/electron-builder.yml'],
      `-c.electronDist=${runtime}`,
      `-c.directories.output=${join(folder, 'dist')}`,
    ]);
  // Nobody is to build anew while the build is being packed.
  const packed = await withLock(LOCK, () => undefined, pack);
  ({ output } = packed);
  if (packed.code !== 0) throw new Error(`electron-builder failed:\n${output}`);
  const unpacked = await run([
    ...['node_modules/@electron/asar/bin/asar.js', 'extract'],
    ...[join(folder, 'dist/linux-unpacked/resources/app.asar'), join(folder, 'app')],
  ]);
  expect(unpacked).toMatchObject({ code: 0 });
});
afterAll(() => {
  host?.kill('SIGKILL');
  rmSync(folder, { recursive: true });
});

function run(args: readonly string[], cwd = ROOT): ReturnType<typeof runCommand> {
  // electron-builder says nothing when it sees that a test runs it.
  const env = Object.fromEntries(
    Object.entries(process.env).filter(([name]) => !/VITEST|^TEST$|^NODE_ENV$/.test(name)),
  );
  return runCommand(process.execPath, args, { cwd, env });
}

describe('the packed program', () => {
  it('has the runtime under its own name, with the switches that close it', async () => {
    const program = join(folder, 'dist/linux-unpacked/plumeline');
    const { output: switches } = await run([
      'node_modules/@electron/fuses/dist/bin.js',
      'read',
      '--app',
      program,
    ]);
    const states = Object.fromEntries(
      [...switches.matchAll(/^\s+(\w+) is (\w+)$/gm)].map((found): [string, string] => [
        found[1]!,
        found[2]!,
      ]),
    );
    expect(states).toMatchObject({
      RunAsNode: 'Disabled',
      EnableNodeOptionsEnvironmentVariable: 'Disabled',
      EnableNodeCliInspectArguments: 'Disabled',
      GrantFileProtocolExtraPrivileges: 'Disabled',
      OnlyLoadAppFromAsar: 'Enabled',
      EnableEmbeddedAsarIntegrityValidation: 'Enabled',
      EnableCookieEncryption: 'Enabled',
    });
  });

  it('has everything that its entry, its window and its demos need', () => {
    const manifest = JSON.parse(readFileSync(join(folder, 'app/package.json'), 'utf8')) as { main: string };
    for (const path of [
      manifest.main,
      'out/preload/preload.cjs',
      'out/renderer/index.html',
      'assets/demos',
    ]) {
      expect([path, existsSync(join(folder, 'app', path))]).toEqual([path, true]);
    }
  });

  it('has nothing of the sources, the tests and the tools', () => {
    for (const path of ['src-main', 'core', 'test', 'node_modules/electron-vite', 'node_modules/d3']) {
      expect([path, existsSync(join(folder, 'app', path))]).toEqual([path, false]);
    }
  });

  it('has every package that Electron’s entry imports', async () => {
    // Electron itself is the runtime; with a stand-in for it the entry must load and open its window.
    const stand = join(folder, 'app/node_modules/electron');
    mkdirSync(stand, { recursive: true });
    writeFileSync(join(stand, 'package.json'), '{"name":"electron","type":"module","main":"index.js"}');
    writeFileSync(
      join(stand, 'index.js'),
      `const any = () => new Proxy(function () {}, {
         get: (_, name) => (name === 'then' ? undefined : any()), apply: any, construct: any,
       });
       export const app = new Proxy({}, {
         get: (_, name) => (name === 'whenReady' ? async () => undefined : any()),
       });
       export const [BrowserWindow, Menu, dialog, ipcMain, protocol, session] = Array.from({ length: 6 }, any);`,
    );
    const entry = JSON.stringify(join(folder, 'app/out/main/electron.js'));
    const script = `import(${entry}).then(() => setTimeout(() => { console.log('opened'); process.exit(); }, 100))`;
    expect(await run(['-e', script], folder)).toEqual({ code: 0, output: 'opened\n' });
  });

  it('computes: its command tells the payload of a demo', async () => {
    const { code, output: told } = await run(
      [join(folder, 'app/out/main/cli.js'), 'payload', 'heavy'],
      folder,
    );
    expect([code, told]).toEqual([0, expect.stringMatching(/\bkg\b/)]);
  });

  it('serves its window and its demos', async () => {
    host = spawn(process.execPath, [join(folder, 'app/out/main/loopback.js'), '--stay'], {
      cwd: folder,
      env: { ...process.env, XDG_CONFIG_HOME: join(folder, 'config') },
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    const address = await new Promise<URL>((resolve) => {
      host!.stdout!.once('data', (chunk: Buffer) => resolve(new URL(chunk.toString().trim())));
    });
    const page = await (await fetch(address.origin)).text();
    const script = /<script[^>]+src="([^"]+)"/.exec(page)![1]!;
    expect((await fetch(new URL(script, address.origin))).status).toBe(200);
    const demos = await fetch(`${address.origin}/api/demo.list`, {
      method: 'POST',
      headers: {
        'content-type': 'application/json',
        authorization: `Bearer ${address.hash.slice('#token='.length)}`,
        origin: address.origin,
      },
      body: '{}',
    });
    const listed = await listDemos(join(ROOT, 'assets/demos'));
    const packed = readdirSync(join(ROOT, 'assets/demos')).map((file) => file.replace('.plumeline.json', ''));
    expect(listed.map(({ id }) => id).sort()).toEqual(packed.sort());
    expect(await demos.json()).toMatchObject({ ok: true, value: listed });
  });
});

describe('electron-builder', () => {
  it('knows every key of the configuration, and a wrong one would be told', async () => {
    expect(output).toMatch(/loaded configuration/);
    const { code, output: told } = await run([
      'node_modules/electron-builder/cli.js',
      ...['--linux', '--dir', '--config', '.config/electron-builder.yml', '-c.linux.categry=Science'],
    ]);
    expect(code).not.toBe(0);
    expect(told).toMatch(/Invalid configuration object.*configuration\.linux/s);
  });
});
