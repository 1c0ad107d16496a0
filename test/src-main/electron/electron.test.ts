import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { channels } from '../../../core/contract/channels.ts';
import { answerWindow } from '../../../src-main/electron/answering.ts';
import { chooseFile } from '../../../src-main/electron/dialogs.ts';
import { servePages } from '../../../src-main/electron/pages.ts';
import * as stub from './stub.ts';

vi.mock('electron', () => import('./stub.ts'));

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'electron-'));
  stub.restart();
});
afterEach(() => {
  rmSync(folder, { recursive: true });
});

describe('the contract in Electron', () => {
  it('has exactly one handler and one function of the preload a channel', async () => {
    await import('../../../src-main/electron/preload.ts');
    answerWindow(async () => ({ ok: true, value: {} }));
    const names = Object.keys(channels).sort();
    // The stub fails, as Electron does, on a second handler.
    expect(stub.handledChannels().sort()).toEqual(names);
    expect(Object.keys(stub.exposed)).toEqual(['plumeline']);
    expect(Object.keys(stub.exposed['plumeline']!).sort()).toEqual(names);
  });

  it('carries each function’s payload to its own handler and the answer back', async () => {
    await import('../../../src-main/electron/preload.ts');
    const asked: unknown[] = [];
    answerWindow(async (channel, payload) => {
      asked.push([channel, payload]);
      return { ok: true, value: {} };
    });
    for (const [channel, call] of Object.entries(stub.exposed['plumeline']!)) {
      asked.length = 0;
      expect(await call({ from: channel })).toEqual({ ok: true, value: {} });
      expect(asked).toEqual([[channel, { from: channel }]]);
    }
  });

  it.each([
    ['a frame in the page', () => ({ url: 'plumeline://app/' })],
    ['a frame that is gone', () => null],
  ])('does not answer %s', async (_, frame) => {
    let asked = false;
    answerWindow(async () => {
      asked = true;
      return { ok: true, value: {} };
    });
    stub.sender.senderFrame = frame();
    expect(await stub.ipcRenderer.invoke('app.info', {})).toMatchObject({ ok: false, code: 'refused' });
    expect(asked).toBe(false);
  });

  it.each(['https://example.org/', 'plumeline://other/', 'plumeline://app.example.org/', 'file:///app/'])(
    'does not answer the page of %s',
    async (url) => {
      answerWindow(async () => ({ ok: true, value: {} }));
      stub.sender.senderFrame!.url = url;
      expect(await stub.ipcRenderer.invoke('app.info', {})).toMatchObject({ ok: false, code: 'refused' });
    },
  );
});

describe('the page in Electron', () => {
  const get = (address: string, method = 'GET'): Promise<Response> =>
    stub.pages.get('plumeline')!(new Request(address, { method }));

  beforeEach(() => {
    writeFileSync(join(folder, 'index.html'), '<title>page</title>');
    servePages(folder);
  });

  it('comes by its own scheme with a strict policy and no socket', async () => {
    const reply = await get('plumeline://app/');
    expect([reply.status, await reply.text()]).toEqual([200, '<title>page</title>']);
    expect(reply.headers.get('content-type')).toBe('text/html; charset=utf-8');
    expect(reply.headers.get('x-content-type-options')).toBe('nosniff');
    const policy = reply.headers.get('content-security-policy')!.split('; ');
    expect(policy).toContain("default-src 'self'");
    expect(policy).toContain("connect-src 'self'");
  });

  it.each([
    ['plumeline://app/../etc/passwd', 404],
    ['plumeline://app/%2e%2e%2fsecret.html', 404],
    ['plumeline://app/none.js', 404],
    ['plumeline://other/index.html', 403],
  ])('is all that comes by it: not %s', async (address, status) => {
    expect((await get(address)).status).toBe(status);
  });

  it('is only read', async () => {
    expect((await get('plumeline://app/', 'POST')).status).toBe(403);
  });
});

describe('the dialogs of the system', () => {
  const wish = { suggestedName: 'a.plumeline.json', ending: 'plumeline.json', folder: '/studies' } as const;

  beforeEach(() => {
    stub.dialogs.asked.length = 0;
    stub.BrowserWindow.all.length = 0;
    new stub.BrowserWindow({ webPreferences: {}, show: false });
  });

  it('open one file of the wanted kind, in the last folder', async () => {
    stub.dialogs.open = { canceled: false, filePaths: ['/studies/b.plumeline.json'] };
    expect(await chooseFile({ ...wish, purpose: 'open' })).toBe('/studies/b.plumeline.json');
    expect(stub.dialogs.asked).toEqual([
      {
        defaultPath: '/studies',
        filters: [{ name: 'Study', extensions: ['plumeline.json'] }],
        properties: ['openFile'],
      },
    ]);
    stub.dialogs.open = { canceled: true, filePaths: [] };
    expect(await chooseFile({ ...wish, purpose: 'open' })).toBeNull();
  });

  it.each([
    ['c.plumeline.json', 'c.plumeline.json'],
    ['c', 'c.plumeline.json'],
    ['c.json', 'c.plumeline.json'],
  ])('save %s as %s', async (typed, saved) => {
    stub.dialogs.save = { canceled: false, filePath: join(folder, typed) };
    expect(await chooseFile({ ...wish, purpose: 'save' })).toBe(join(folder, saved));
  });

  it('ask before a file is replaced whose name was not the one typed', async () => {
    writeFileSync(join(folder, 'c.svg'), 'old');
    stub.dialogs.save = { canceled: false, filePath: join(folder, 'c') };
    stub.dialogs.button = 1;
    expect(await chooseFile({ ...wish, ending: 'svg', purpose: 'save' })).toBeNull();
    stub.dialogs.button = 0;
    expect(await chooseFile({ ...wish, ending: 'svg', purpose: 'save' })).toBe(join(folder, 'c.svg'));
  });

  it('choose nothing when they are cancelled or there is no window', async () => {
    stub.dialogs.save = { canceled: true, filePath: '' };
    expect(await chooseFile({ ...wish, purpose: 'save' })).toBeNull();
    stub.BrowserWindow.all.length = 0;
    stub.dialogs.open = { canceled: false, filePaths: ['/studies/b.plumeline.json'] };
    expect(await chooseFile({ ...wish, purpose: 'open' })).toBeNull();
  });
});

describe('Electron’s program', () => {
  let window: stub.BrowserWindow;
  const event = (fields: object = {}) => ({ ...fields, prevented: false, preventDefault: prevent });
  function prevent(this: { prevented: boolean }): void {
    this.prevented = true;
  }
  /** Whether the page was kept from doing it. */
  const kept = (
    emitter: { emit(name: string, event: object): boolean },
    name: string,
    fields: object,
  ): boolean => {
    const told = event(fields);
    expect(emitter.emit(name, told)).toBe(true);
    return told.prevented;
  };

  beforeEach(async () => {
    vi.resetModules();
    stub.BrowserWindow.all.length = 0;
    await import('../../../src-main/electron/main.ts');
    await vi.waitFor(() => expect(stub.BrowserWindow.all).toHaveLength(1));
    window = stub.BrowserWindow.all[0]!;
  });

  it('opens its one window in the sandbox, apart from Node and from its preload', () => {
    expect(stub.app.sandboxed).toBe(true);
    expect(window.options.webPreferences).toMatchObject({
      sandbox: true,
      contextIsolation: true,
      nodeIntegration: false,
      webviewTag: false,
      preload: expect.stringMatching(/out[\\/]preload[\\/]preload\.cjs$/) as string,
    });
    expect(window.address).toBe('plumeline://app/');
  });

  it('shows the window when there is something to see', () => {
    expect([window.options.show, window.shown]).toEqual([false, false]);
    window.emit('ready-to-show');
    expect(window.shown).toBe(true);
  });

  it('registers its scheme as one with an origin', () => {
    expect(stub.schemes[0]).toMatchObject({
      scheme: 'plumeline',
      privileges: { standard: true, secure: true },
    });
    expect(stub.schemes[0]!.privileges).not.toHaveProperty('bypassCSP');
  });

  it('lets the page go nowhere and open nothing', () => {
    const { webContents } = window;
    expect(kept(webContents, 'will-navigate', { url: 'https://example.org/' })).toBe(true);
    expect(kept(webContents, 'will-navigate', { url: 'plumeline://app/other.html' })).toBe(true);
    expect(kept(webContents, 'will-navigate', { url: 'plumeline://app/' })).toBe(false);
    expect(kept(webContents, 'will-frame-navigate', { isMainFrame: false })).toBe(true);
    expect(kept(webContents, 'will-attach-webview', {})).toBe(true);
    expect(webContents.openRule!()).toEqual({ action: 'deny' });
  });

  it('grants no permission, loads nothing from elsewhere and downloads nothing', () => {
    const granted: boolean[] = [];
    stub.rules['request']!(...([{}, 'media', (answer: boolean) => granted.push(answer)] as never[]));
    expect(granted).toEqual([false]);
    expect([stub.rules['check']!(), stub.rules['device']!()]).toEqual([false, false]);
    const loads: unknown[] = [];
    stub.rules['load']!(...([{}, (answer: unknown) => loads.push(answer)] as never[]));
    expect(loads).toEqual([{ cancel: true }]);
    expect(kept(stub.session.defaultSession, 'will-download', {})).toBe(true);
  });

  it('asks before changes are lost', () => {
    stub.dialogs.button = 1;
    expect(kept(window.webContents, 'will-prevent-unload', {})).toBe(false);
    stub.dialogs.button = 0;
    expect(kept(window.webContents, 'will-prevent-unload', {})).toBe(true);
  });

  it('answers its window by the services', async () => {
    expect(await stub.ipcRenderer.invoke('app.info', {})).toMatchObject({
      ok: true,
      value: { host: 'electron', version: expect.stringMatching(/^\d/) as string },
    });
    const demos = await stub.ipcRenderer.invoke('demo.list', {});
    expect(demos).toMatchObject({ ok: true });
  });

  it('leaves undo and redo to the study', () => {
    expect(JSON.stringify(stub.Menu.template)).not.toMatch(/undo|redo/i);
  });
});
