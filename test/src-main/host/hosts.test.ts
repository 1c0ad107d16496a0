import { execFileSync } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import {
  channels,
  type Answer,
  type Channel,
  type Request,
  type Response,
} from '../../../core/contract/channels.ts';
import { serveWith, type Handlers } from '../../../src-main/host/serve.ts';
import { hostOver, HostError, type Host } from '../../../src-renderer/bridge/host.ts';
import { Machine, standUps, type Running, type StandUp } from './standUps.ts';

vi.mock('electron', () => import('../electron/stub.ts'));

const names = Object.keys(channels) as Channel[];

describe.each(standUps)('the $host host', (standUp: StandUp) => {
  let machine: Machine;
  let running: Running;
  /** The window's own door over this host: it parses what comes back. */
  let host: Host;

  beforeEach(async () => {
    machine = new Machine();
    machine.write('demos/large.plumeline.json', '{ "title": "A large one" }');
    machine.write('demos/small.plumeline.json', '{ "title": "A small one" }');
    machine.write('demos/readme.txt', 'no study');
    await start();
  });
  afterEach(async () => {
    await running.stop();
    expect(machine.faults).toEqual([]);
    machine.remove();
  });

  async function start(startStudy: string | null = null): Promise<void> {
    running = await standUp.start(machine.serve({ host: standUp.host, choose: standUp.choose, startStudy }));
    host = hostOver(running.send);
  }

  async function startAgain(startStudy: string | null = null): Promise<void> {
    await running.stop();
    await start(startStudy);
  }

  /** The failure of a request; fails when it is answered. */
  async function failure<C extends Channel>(channel: C, payload: Request<C>): Promise<HostError> {
    const outcome = await host.request(channel, payload).then(
      () => undefined,
      (error: unknown) => error,
    );
    expect(outcome).toBeInstanceOf(HostError);
    return outcome as HostError;
  }

  /** A token for a file of the home folder, as the window gets one: by the folder and the name. */
  async function fileToken(name: string): Promise<string> {
    const home = await host.request('folder.list', { token: null });
    return (await host.request('folder.file', { folder: home.token, name })).file.token;
  }

  describe('requests', () => {
    it('are answered on every channel as the contract says', async () => {
      machine.write('home/a.plumeline.json', 'text');
      const token = await fileToken('a.plumeline.json');
      const folder = (await host.request('folder.list', { token: null })).token;
      const rate = { numerator: 30, denominator: 1 };
      const film = await fileToken('a.webm');
      const opening = {
        kind: 'file',
        rate,
        expected_bytes: 10,
        identity: { size: '1' },
        anew: false,
      } as const;
      const { sink } = await host.request('film.open', { token: film, ...opening });
      const good: { [C in Channel]: Request<C> } = {
        'app.info': {},
        'app.startStudy': {},
        'demo.list': {},
        'demo.read': { id: 'large' },
        'file.choose': { purpose: 'open', suggestedName: 'a', ending: 'svg' },
        'file.read': { token },
        'file.write': { token, text: 'new' },
        'folder.list': { token: folder },
        'folder.file': { folder, name: 'b.svg' },
        'recent.list': {},
        'settings.read': {},
        'settings.write': { sheet: 'night' },
        'evidence.data': {},
        'film.job': {},
        'film.report': { kind: 'solving', done: 1, of: 2 },
        'film.tools': {},
        'film.open': { token: film, ...opening, kind: 'pictures' },
        'film.keep': { sink, data: 'QUJD', last: true },
        'film.kept': { sink, segment: 0, from: 0 },
        'film.write': { sink, picture: null, position: 0, data: 'QUJD', closing: false },
        'film.beside': { sink, ending: 'srt', text: '1' },
        'film.close': { sink, keep: true, later: false },
      };
      for (const channel of names) await host.request(channel, good[channel]);
      expect(await host.request('app.info', {})).toEqual({ version: '1.2.3', host: standUp.host });
    });

    it.each(names)('of another form on %s are refused in a sentence', async (channel) => {
      for (const payload of [null, 7, 'text', [], { token: 5 }, { extra: 1 }]) {
        const answer = (await running.send(channel, payload)) as Answer<Channel>;
        expect(answer).toMatchObject({ ok: false, code: 'badRequest' });
        expect(!answer.ok && answer.message).toMatch(/^The request “.+” is not understood: .+\.$/);
      }
    });

    it('name what is wrong with them', async () => {
      const answer = await running.send('settings.write', { sheet: 'green' });
      expect(answer).toMatchObject({
        message: expect.stringMatching(/“settings\.write”.*: sheet: /) as string,
      });
    });

    it.each(['toString', '__proto__', 'constructor', 'file', 'file.delete'])(
      'on a channel that the contract lacks, such as %s, reach nothing',
      async (channel) => {
        const answer = await running.sendAny(channel, {}).catch((error: unknown) => String(error));
        if (standUp.host === 'electron') expect(answer).toMatch(/No handler registered/);
        else expect(answer).toMatchObject({ ok: false, code: 'unknownChannel' });
      },
    );
  });

  describe('demos', () => {
    it('are listed by name with the titles of their studies', async () => {
      expect(await host.request('demo.list', {})).toEqual([
        { id: 'large', title: 'A large one' },
        { id: 'small', title: 'A small one' },
      ]);
    });

    it('are read by their id', async () => {
      const { name, text } = await host.request('demo.read', { id: 'small' });
      expect({ name, text }).toEqual({ name: 'small.plumeline.json', text: '{ "title": "A small one" }' });
    });

    it.each(['../secret', '..%2fsecret', 'none', 'small.plumeline.json', '.', '/etc/passwd'])(
      'are not found by %s',
      async (id) => {
        machine.write('secret.plumeline.json', 'secret');
        expect((await failure('demo.read', { id })).code).toBe('notFound');
      },
    );
  });

  describe('files', () => {
    it('are read back as they were written, whatever the letters', async () => {
      const text = 'ä “quoted” \u0000 \r\n 𝛥v {"a": 1}\n';
      const token = await fileToken('a.plumeline.json');
      expect(await host.request('file.write', { token, text })).toEqual({ name: 'a.plumeline.json' });
      expect(await host.request('file.read', { token })).toEqual({ name: 'a.plumeline.json', text });
      expect(readFileSync(join(machine.home, 'a.plumeline.json'), 'utf8')).toBe(text);
    });

    it('hold the very bytes of a picture that came as base64', async () => {
      const bytes = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0x00, 0xff, 0xc3]);
      const token = await fileToken('chart.png');
      const text = bytes.toString('base64');
      await host.request('file.write', { token, text, encoding: 'base64' });
      expect(readFileSync(join(machine.home, 'chart.png')).equals(bytes)).toBe(true);
    });

    it('are reached by tokens alone: one that was never given, or one of a folder, opens nothing', async () => {
      const path = machine.write('home/a.plumeline.json', 'text');
      const folder = (await host.request('folder.list', { token: null })).token;
      for (const token of ['b1', path, folder, '../a.plumeline.json']) {
        const read = await failure('file.read', { token });
        const write = await failure('file.write', { token, text: 'new' });
        expect([read.code, write.code]).toEqual(['unknownToken', 'unknownToken']);
        expect(read.message).toBe('This file is not known here any more; choose it again.');
      }
      expect(readFileSync(path, 'utf8')).toBe('text');
      const file = await fileToken('a.plumeline.json');
      expect((await failure('folder.list', { token: file })).code).toBe('unknownToken');
      expect((await failure('folder.file', { folder: file, name: 'a' })).code).toBe('unknownToken');
    });

    it('have tokens that last no longer than the host', async () => {
      machine.write('home/a.plumeline.json', 'text');
      const token = await fileToken('a.plumeline.json');
      await startAgain();
      expect((await failure('file.read', { token })).code).toBe('unknownToken');
    });

    it('that are gone are not found', async () => {
      const error = await failure('file.read', { token: await fileToken('gone.plumeline.json') });
      expect([error.code, error.message]).toEqual(['notFound', '“gone.plumeline.json” is not there.']);
    });

    it('that are larger than any study are not read', async () => {
      truncateSync(machine.write('home/huge', ''), 20_000_001);
      const error = await failure('file.read', { token: await fileToken('huge') });
      expect([error.code, error.message]).toEqual([
        'tooLarge',
        '“huge” has 20.0 MB, and at most 20 MB are read.',
      ]);
    });

    it('that are no text are not read', async () => {
      machine.write('home/picture', new Uint8Array([0x89, 0x50, 0xff, 0xfe]));
      const error = await failure('file.read', { token: await fileToken('picture') });
      expect([error.code, error.message]).toEqual([
        'notReadable',
        '“picture” cannot be read: it is no UTF-8 text.',
      ]);
    });

    it('that are folders or pipes are neither read nor replaced', async () => {
      mkdirSync(join(machine.home, 'folder'));
      execFileSync('mkfifo', [join(machine.home, 'pipe')]);
      for (const name of ['folder', 'pipe']) {
        const token = await fileToken(name);
        expect((await failure('file.read', { token })).code).toBe('notReadable');
        expect((await failure('file.write', { token, text: 'x' })).code).toBe('notWritable');
      }
    });

    it('cannot be written into a folder that is gone, and a sentence says so', async () => {
      machine.make('home/sub');
      const { entries } = await host.request('folder.list', { token: null });
      const folder = entries.find((entry) => entry.name === 'sub')!.token;
      const { file } = await host.request('folder.file', { folder, name: 'a.plumeline.json' });
      rmSync(join(machine.home, 'sub'), { recursive: true });
      writeFileSync(join(machine.home, 'sub'), 'a file in the way');
      const error = await failure('file.write', { token: file.token, text: 'x' });
      expect([error.code, error.message]).toEqual([
        'notWritable',
        '“a.plumeline.json” cannot be written: a part of its path is no folder.',
      ]);
    });

    it('take no more text than the contract allows', async () => {
      const token = await fileToken('a.plumeline.json');
      const text = 'x'.repeat(20_000_001);
      const error = await failure('file.write', { token, text });
      expect(error.code).toBe('badRequest');
      expect(existsSync(join(machine.home, 'a.plumeline.json'))).toBe(false);
      await host.request('file.write', { token, text: text.slice(1) });
    });

    it('leave nothing beside them when they are written', async () => {
      const token = await fileToken('a.svg');
      await Promise.all(['one', 'two', 'three'].map((text) => host.request('file.write', { token, text })));
      expect(readdirSync(machine.home)).toEqual(['a.svg']);
      expect(['one', 'two', 'three']).toContain(readFileSync(join(machine.home, 'a.svg'), 'utf8'));
    });

    it('that are links are written where the link leads', async () => {
      const real = machine.write('real', 'old');
      symlinkSync(real, join(machine.home, 'link'));
      await host.request('file.write', { token: await fileToken('link'), text: 'new' });
      expect(readFileSync(real, 'utf8')).toBe('new');
    });
  });

  describe('choosing a file', () => {
    it('is done by the system’s dialog where there is one, else left to the window', async () => {
      const wish = { purpose: 'save', suggestedName: 'b.svg', ending: 'svg' } as const;
      const choice = await host.request('file.choose', wish);
      if (standUp.host === 'loopback') {
        expect(choice).toEqual({ outcome: 'browse' });
        return;
      }
      expect(choice).toMatchObject({ outcome: 'chosen', file: { name: 'save-b.svg' } });
      if (choice.outcome === 'chosen') {
        await host.request('file.write', { token: choice.file.token, text: 'chart' });
        expect(readFileSync(join(machine.home, 'save-b.svg'), 'utf8')).toBe('chart');
      }
      const cancelled = await host.request('file.choose', { ...wish, suggestedName: 'cancel' });
      expect(cancelled).toEqual({ outcome: 'cancelled' });
    });
  });

  describe('folders', () => {
    it('list folders, then studies, then other files, each by name, and nothing hidden', async () => {
      for (const name of ['z.txt', 'b10.plumeline.json', 'b9.plumeline.json', '.hidden']) {
        machine.write(`home/${name}`, '');
      }
      machine.make('home/sub');
      symlinkSync('nowhere', join(machine.home, 'broken'));
      const list = await host.request('folder.list', { token: null });
      expect(list.entries.map(({ name, kind }) => `${kind} ${name}`)).toEqual([
        'folder sub',
        'study b9.plumeline.json',
        'study b10.plumeline.json',
        'other z.txt',
      ]);
      expect([list.name, list.leftOut]).toEqual(['~', 0]);
    });

    it('lead down and up again, and up to the top', async () => {
      machine.make('home/sub');
      const home = await host.request('folder.list', { token: null });
      const sub = await host.request('folder.list', { token: home.entries[0]!.token });
      expect([sub.name, sub.parent]).toEqual(['~/sub', home.token]);
      let above: Response<'folder.list'> = sub;
      while (above.parent !== null) above = await host.request('folder.list', { token: above.parent });
      expect(above.name).toBe('/');
    });

    it('of very many files are cut, and say by how many', async () => {
      for (let i = 0; i < 2005; i++) machine.write(`home/${i}.txt`, '');
      machine.write('home/z.plumeline.json', '');
      const list = await host.request('folder.list', { token: null });
      expect([list.entries.length, list.leftOut, list.entries[0]!.kind]).toEqual([2000, 6, 'study']);
    });

    it('that are gone are a sentence', async () => {
      machine.make('home/sub');
      const home = await host.request('folder.list', { token: null });
      rmSync(join(machine.home, 'sub'), { recursive: true });
      const error = await failure('folder.list', { token: home.entries[0]!.token });
      expect([error.code, error.message]).toEqual([
        'notReadable',
        '“sub” cannot be opened: it is not there.',
      ]);
    });

    it('tell whether a name is taken in them', async () => {
      machine.write('home/a.svg', '');
      const { token: folder } = await host.request('folder.list', { token: null });
      expect(await host.request('folder.file', { folder, name: 'a.svg' })).toMatchObject({ exists: true });
      expect(await host.request('folder.file', { folder, name: 'b.svg' })).toMatchObject({ exists: false });
    });

    it.each(['../a', 'sub/a', 'sub\\a', '/etc/passwd', '.', '..', 'a\u0000b', 'a\nb', 'ä'.repeat(128)])(
      'take no name that is none, such as %j',
      async (name) => {
        const { token: folder } = await host.request('folder.list', { token: null });
        const error = await failure('folder.file', { folder, name });
        expect(error.code).toBe('badRequest');
        expect(error.message).toMatch(/cannot be the name of a file/);
      },
    );
  });

  describe('what is remembered', () => {
    it('are the studies that were read or written, the latest first, over the end of the host', async () => {
      for (const name of ['a.plumeline.json', 'b.plumeline.json', 'c.svg']) {
        await host.request('file.write', { token: await fileToken(name), text: '{}' });
      }
      await host.request('file.read', { token: await fileToken('a.plumeline.json') });
      await startAgain();
      const recent = await host.request('recent.list', {});
      expect(recent.map(({ file, folder }) => `${folder} ${file.name}`)).toEqual([
        '~ a.plumeline.json',
        '~ b.plumeline.json',
      ]);
      expect(await host.request('file.read', { token: recent[0]!.file.token })).toMatchObject({ text: '{}' });
    });

    it('are twelve studies at most, and none that is gone', async () => {
      for (let i = 1; i <= 14; i++) {
        await host.request('file.write', { token: await fileToken(`${i}.plumeline.json`), text: '{}' });
      }
      rmSync(join(machine.home, '14.plumeline.json'));
      const recent = await host.request('recent.list', {});
      expect(recent.map(({ file }) => parseInt(file.name))).toEqual([13, 12, 11, 10, 9, 8, 7, 6, 5, 4, 3]);
    });

    it('is where the last study was: there folders begin', async () => {
      const path = join(machine.make('elsewhere'), 'a.plumeline.json');
      writeFileSync(path, '{}');
      await startAgain(path);
      const start = await host.request('app.startStudy', {});
      await host.request('file.read', { token: start!.token });
      expect((await host.request('folder.list', { token: null })).entries.map(({ name }) => name)).toEqual([
        'a.plumeline.json',
      ]);
      rmSync(machine.make('elsewhere'), { recursive: true });
      expect((await host.request('folder.list', { token: null })).name).toBe('~');
    });

    it('are the settings, over the end of the host', async () => {
      expect(await host.request('settings.read', {})).toEqual({ sheet: 'paper' });
      await host.request('settings.write', { sheet: 'night' });
      await startAgain();
      expect(await host.request('settings.read', {})).toEqual({ sheet: 'night' });
    });

    it.each(['{ not JSON', '{"format": 2}', '{"format":1,"settings":{"sheet":"green"},"recent":[]}'])(
      'starts afresh when its file is %s, which is kept and told of',
      async (content) => {
        machine.make('config');
        machine.write('config/remembered.json', content);
        expect(await host.request('settings.read', {})).toEqual({ sheet: 'paper' });
        expect(machine.warnings).toEqual([expect.stringMatching(/could not be understood.*put aside/)]);
        expect(readFileSync(join(machine.config, 'remembered.json.unreadable'), 'utf8')).toBe(content);
        await host.request('settings.write', { sheet: 'night' });
        expect(await host.request('settings.read', {})).toEqual({ sheet: 'night' });
      },
    );

    it('is not why a save fails: that the list cannot be kept is told beside it', async () => {
      machine.write('config', 'a file in the way');
      const token = await fileToken('a.plumeline.json').catch(() => undefined);
      // The list is read too, so the folder has to be had before.
      expect(token).toBeUndefined();
      machine.faults.length = 0;
      rmSync(machine.config);
      const had = await fileToken('a.plumeline.json');
      machine.make('config/remembered.json');
      await host.request('file.write', { token: had, text: '{}' });
      expect(readFileSync(join(machine.home, 'a.plumeline.json'), 'utf8')).toBe('{}');
      expect(machine.warnings).toEqual([expect.stringMatching(/^The list of recent studies is as before/)]);
    });
  });

  describe('the study of the command line', () => {
    it('is none where none was named', async () => {
      expect(await host.request('app.startStudy', {})).toBeNull();
    });

    it('is a token, the same each time the page is loaded', async () => {
      const path = machine.write('named.plumeline.json', '{ "a": 1 }');
      await startAgain(path);
      const first = await host.request('app.startStudy', {});
      expect(await host.request('app.startStudy', {})).toEqual(first);
      expect(first!.token).not.toContain('named');
      expect(await host.request('file.read', { token: first!.token })).toMatchObject({ text: '{ "a": 1 }' });
    });
  });

  it('tells the window one sentence of a fault of the program, and the log all', async () => {
    const faults: unknown[] = [];
    const broken = {
      'app.info': () => Promise.reject(new Error('secret of the inside')),
      'settings.read': () => Promise.resolve({ sheet: 'green' }),
    } as unknown as Handlers;
    await running.stop();
    running = await standUp.start(
      serveWith(broken, (channel, fault) => faults.push([channel, String(fault)])),
    );
    const internal = { ok: false, code: 'internal' };
    const first = await running.send('app.info', {});
    expect(first).toMatchObject(internal);
    expect(JSON.stringify(first)).not.toContain('secret');
    // A response of another form is no less a fault.
    expect(await running.send('settings.read', {})).toMatchObject(internal);
    expect(faults).toEqual([
      ['app.info', 'Error: secret of the inside'],
      ['settings.read', expect.stringContaining('sheet') as string],
    ]);
  });
});
