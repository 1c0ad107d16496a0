import { mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { request } from 'node:http';
import { createServer, type AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import type { Serve } from '../../../src-main/host/serve.ts';
import { startLoopback, type Loopback, type LoopbackOptions } from '../../../src-main/loopback/server.ts';

const GRACE_ms = 150;

let folder = '';
let host: Loopback;
let origin = '';
let token = '';
let asked: [string, unknown][] = [];
const faults: unknown[] = [];

const answering: Serve = async (channel, payload) => {
  asked.push([channel, payload]);
  return { ok: true, value: {} };
};

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'loopback-'));
  mkdirSync(join(folder, 'renderer/assets'), { recursive: true });
  writeFileSync(join(folder, 'renderer/index.html'), '<!doctype html><title>page</title>');
  writeFileSync(join(folder, 'renderer/assets/a.js'), 'export {};');
  writeFileSync(join(folder, 'renderer/assets/notes.txt'), 'not part of the window');
  writeFileSync(join(folder, 'secret.html'), 'secret');
  symlinkSync(join(folder, 'secret.html'), join(folder, 'renderer/link.html'));
  asked = [];
  faults.length = 0;
});
afterEach(async () => {
  await host.close();
  rmSync(folder, { recursive: true });
});

async function start(changes: Partial<LoopbackOptions> = {}): Promise<void> {
  host = await startLoopback({
    serve: answering,
    pageFolder: join(folder, 'renderer'),
    grace_ms: GRACE_ms,
    patience_ms: null,
    report: (fault) => faults.push(fault),
    ...changes,
  });
  const address = new URL(host.address);
  origin = address.origin;
  token = new URLSearchParams(address.hash.slice(1)).get('token')!;
}

interface Reply {
  readonly status: number;
  readonly headers: NodeJS.Dict<string | string[]>;
  readonly text: string;
}

/** A request as it is, past the care that `fetch` takes of paths and headers. */
function raw(
  path: string,
  headers: Record<string, string> = {},
  options: { method?: string; body?: string } = {},
): Promise<Reply> {
  return new Promise((resolve, reject) => {
    const { method = 'GET', body } = options;
    const { port } = new URL(origin);
    const sent = request({ host: '127.0.0.1', port, path, method, headers, agent: false }, (reply) => {
      const chunks: Buffer[] = [];
      reply.on('data', (chunk: Buffer) => chunks.push(chunk));
      reply.on('end', () =>
        resolve({
          status: reply.statusCode ?? 0,
          headers: reply.headers,
          text: Buffer.concat(chunks).toString('utf8'),
        }),
      );
    });
    sent.on('error', reject);
    // Of a body that is refused while it is being sent, when the answer is there already.
    sent.on('socket', (socket) => socket.on('error', () => undefined));
    sent.end(body);
  });
}

function ask(changes: Record<string, string | undefined> = {}, body = '{}', method = 'POST'): Promise<Reply> {
  const headers: Record<string, string | undefined> = {
    'content-type': 'application/json',
    authorization: `Bearer ${token}`,
    origin,
    ...changes,
  };
  const given = Object.entries(headers).filter((entry): entry is [string, string] => entry[1] !== undefined);
  return raw('/api/app.info', Object.fromEntries(given), { method, body });
}

/** A window's socket: resolves when it is open, rejects when it is refused. */
function open(
  changes: { token?: string; path?: string; origin?: string; host?: string } = {},
): Promise<WebSocket> {
  const path = changes.path ?? '/alive';
  const address = `${origin.replace('http', 'ws')}${path}?token=${encodeURIComponent(changes.token ?? token)}`;
  const socket = new WebSocket(address, {
    origin: changes.origin ?? origin,
    ...(changes.host === undefined ? {} : { headers: { host: changes.host } }),
  });
  return new Promise((resolve, reject) => {
    socket.on('open', () => resolve(socket));
    socket.on('error', reject);
  });
}

describe('the page', () => {
  it('is served with a strict policy, and so are its files', async () => {
    await start();
    for (const [path, type, text] of [
      ['/', 'text/html; charset=utf-8', '<!doctype html><title>page</title>'],
      ['/index.html', 'text/html; charset=utf-8', '<!doctype html><title>page</title>'],
      ['/assets/a.js', 'text/javascript; charset=utf-8', 'export {};'],
    ] as const) {
      const reply = await raw(path);
      expect([reply.status, reply.headers['content-type'], reply.text]).toEqual([200, type, text]);
      expect(reply.headers).toMatchObject({
        'x-content-type-options': 'nosniff',
        'referrer-policy': 'no-referrer',
        'cross-origin-opener-policy': 'same-origin',
        'cross-origin-embedder-policy': 'require-corp',
        'cross-origin-resource-policy': 'same-origin',
      });
    }
  });

  it('has the policy that it states itself, its socket narrowed to this host, and what only a header can say', async () => {
    await start();
    const page = readFileSync(join(import.meta.dirname, '../../../src-renderer/index.html'), 'utf8');
    const stated = /http-equiv="Content-Security-Policy"\s+content="([^"]+)"/.exec(page)![1]!;
    const policy = String((await raw('/')).headers['content-security-policy']);
    const narrowed = stated.replace('ws://127.0.0.1:*', origin.replace('http', 'ws'));
    expect(narrowed).not.toBe(stated);
    for (const rule of narrowed.split('; ')) expect(policy.split('; ')).toContain(rule);
    for (const rule of [
      "object-src 'none'",
      "base-uri 'none'",
      "form-action 'none'",
      "frame-ancestors 'none'",
    ]) {
      expect(policy.split('; ')).toContain(rule);
    }
    expect(policy).not.toMatch(/unsafe-eval|script-src|\*/);
  });

  it.each([
    '/../secret.html',
    '/..%2fsecret.html',
    '/%2e%2e/secret.html',
    '/assets/../../secret.html',
    '/assets/..%5c..%5csecret.html',
    '/assets//a.js',
    '//secret.html',
    '/link.html',
    '/assets/notes.txt',
    '/assets',
    '/%00.html',
    '/%zz.html',
    '/none.html',
    `/${'a'.repeat(300)}.html`,
  ])('is all that is served: not %s', async (path) => {
    await start();
    const reply = await raw(path);
    expect(reply.status).toBe(404);
    expect(reply.text).not.toContain('secret');
    expect(reply.headers['x-content-type-options']).toBe('nosniff');
    expect(faults).toEqual([]);
  });
});

describe('a request', () => {
  it('reaches the services with token, host and origin', async () => {
    await start();
    const reply = await ask({}, '{"a":[1]}');
    expect([reply.status, JSON.parse(reply.text)]).toEqual([200, { ok: true, value: {} }]);
    expect(asked).toEqual([['app.info', { a: [1] }]]);
    expect(reply.headers['cache-control']).toBe('no-store');
  });

  it.each([
    ['without a token', 401, () => ({ authorization: undefined })],
    ['with another start’s token', 401, () => ({ authorization: `Bearer ${'x'.repeat(token.length)}` })],
    ['with a part of the token', 401, () => ({ authorization: `Bearer ${token.slice(0, -1)}` })],
    ['with the token in another form', 401, () => ({ authorization: token })],
    ['from another origin', 403, () => ({ origin: 'http://example.org' })],
    ['from another port of this machine', 403, () => ({ origin: 'http://127.0.0.1:1' })],
    ['from a page without an origin', 403, () => ({ origin: 'null' })],
    ['that tells no origin', 403, () => ({ origin: undefined })],
    [
      'to another name of this machine',
      403,
      () => ({ host: origin.replace('http://127.0.0.1', 'localhost') }),
    ],
    ['to a foreign name that leads here', 403, () => ({ host: 'example.org' })],
    ['of a kind that a foreign page may send unasked', 415, () => ({ 'content-type': 'text/plain' })],
  ] as const)('%s is refused', async (_, status, changes) => {
    await start();
    const reply = await ask(changes());
    expect(reply.status).toBe(status);
    expect(JSON.parse(reply.text)).toMatchObject({
      ok: false,
      message: expect.stringMatching(/\.$/) as string,
    });
    expect(asked).toEqual([]);
  });

  it('for the page from another name or origin is refused as well', async () => {
    await start();
    expect((await raw('/', { host: 'example.org' })).status).toBe(403);
    expect((await raw('/', { origin: 'http://example.org' })).status).toBe(403);
  });

  it('that is not posted is refused', async () => {
    await start();
    expect((await ask({}, '', 'PUT')).status).toBe(405);
    expect(asked).toEqual([]);
  });

  it('that is no JSON is refused', async () => {
    await start();
    expect((await ask({}, '{')).status).toBe(400);
    expect(asked).toEqual([]);
  });

  it('that is larger than any the contract allows is refused, whether it says so or not', async () => {
    await start();
    const body = `"${'x'.repeat(80_000_000)}"`;
    const reply = await ask({ 'content-length': String(body.length) }, body).catch(() => undefined);
    // The host may close the line before all is sent.
    expect([413, undefined]).toContain(reply?.status);
    const chunked = await ask({ 'transfer-encoding': 'chunked' }, body).catch(() => undefined);
    expect([413, undefined]).toContain(chunked?.status);
    expect(asked).toEqual([]);
    expect((await ask()).status).toBe(200);
  });
});

describe('each start', () => {
  it('has its own token of 256 bits and stands on 127.0.0.1 alone', async () => {
    await start();
    const first = token;
    await host.close();
    await start();
    expect(token).not.toBe(first);
    expect(Buffer.from(token, 'base64url')).toHaveLength(32);
    expect(new URL(origin).hostname).toBe('127.0.0.1');
  });

  it('finds another port when the wanted one is taken', async () => {
    const other = createServer();
    await new Promise<void>((resolve) => other.listen(0, '127.0.0.1', resolve));
    const { port } = other.address() as AddressInfo;
    await start({ port });
    expect(new URL(origin).port).not.toBe(String(port));
    expect((await ask()).status).toBe(200);
    other.close();
  });

  it('gives out an address that leads to the window once', async () => {
    await start();
    const path = new URL(host.issueTicket()).pathname;
    expect(path).not.toContain(token);
    const first = await raw(path);
    expect([first.status, first.headers['location']]).toEqual([303, `/#token=${token}`]);
    const again = await raw(path);
    expect([again.status, again.headers['location']]).toEqual([403, undefined]);
    expect((await raw(`/open/${token}`)).status).toBe(403);
    // A new ticket does away with the one before.
    const [old, fresh] = [new URL(host.issueTicket()).pathname, new URL(host.issueTicket()).pathname];
    expect([(await raw(old)).status, (await raw(fresh)).status]).toEqual([403, 303]);
  });
});

describe('the host', () => {
  it.each([
    ['another token', () => ({ token: 'x' })],
    ['no token', () => ({ token: '' })],
    ['another origin', () => ({ origin: 'http://example.org' })],
    ['another host', () => ({ host: 'example.org' })],
    ['another path', () => ({ path: '/other' })],
  ] as const)('takes no socket with %s for its window', async (_, changes) => {
    let windows = 0;
    await start({ onWindow: () => (windows += 1) });
    await expect(open(changes())).rejects.toThrow(/403/);
    expect(windows).toBe(0);
  });

  it('ends when its last window has been gone for a while', async () => {
    let windows = 0;
    await start({ onWindow: () => (windows += 1) });
    const [one, two] = [await open(), await open()];
    expect(windows).toBe(1);
    one.close();
    await sleep(GRACE_ms * 2);
    expect((await ask()).status).toBe(200);
    two.close();
    expect(await host.ended).toBe('windowClosed');
    await expect(ask()).rejects.toThrow(/ECONNREFUSED/);
  });

  it('stays when its window is only loaded anew', async () => {
    await start();
    for (let i = 0; i < 3; i++) {
      (await open()).close();
      await sleep(GRACE_ms / 3);
    }
    const last = await open();
    await sleep(GRACE_ms * 2);
    expect((await ask()).status).toBe(200);
    last.close();
    expect(await host.ended).toBe('windowClosed');
  });

  it('ends when no window comes, and not when one has come', async () => {
    await start({ patience_ms: 50 });
    expect(await host.ended).toBe('noWindow');
    await start({ patience_ms: 300 });
    const window = await open();
    await sleep(500);
    expect((await ask()).status).toBe(200);
    window.close();
    expect(await host.ended).toBe('windowClosed');
  });

  it('outlives its windows when it is to stay', async () => {
    await start({ grace_ms: null });
    (await open()).close();
    await sleep(GRACE_ms * 2);
    expect((await ask()).status).toBe(200);
    await host.close();
    expect(await host.ended).toBe('closed');
  });

  it('ends what it is doing before it ends, though the window is gone', async () => {
    let done = false;
    let begun: () => void = () => undefined;
    const atWork = new Promise<void>((resolve) => (begun = resolve));
    const slow: Serve = async () => {
      begun();
      await sleep(1500);
      done = true;
      return { ok: true, value: {} };
    };
    await start({ serve: slow });
    const gone = new AbortController();
    const headers = { 'content-type': 'application/json', authorization: `Bearer ${token}`, origin };
    const reply = fetch(`${origin}/api/file.write`, {
      method: 'POST',
      headers,
      body: '{}',
      signal: gone.signal,
    }).catch(() => undefined);
    await atWork;
    gone.abort();
    await host.close();
    expect(done).toBe(true);
    await reply;
  });

  it('sends the answers that are on their way before it ends', async () => {
    let begun: () => void = () => undefined;
    const atWork = new Promise<void>((resolve) => (begun = resolve));
    const slow: Serve = async () => {
      begun();
      await sleep(300);
      return { ok: true, value: {} };
    };
    await start({ serve: slow });
    const reply = ask();
    await atWork;
    await host.close();
    expect((await reply).status).toBe(200);
  });

  it('tells of a fault in one sentence, and logs it', async () => {
    await start({ serve: () => Promise.reject(new Error('secret of the inside')) });
    const reply = await ask();
    expect([reply.status, JSON.parse(reply.text)]).toMatchObject([500, { ok: false, code: 'internal' }]);
    expect(reply.text).not.toContain('secret');
    expect(faults.map(String)).toEqual(['Error: secret of the inside']);
  });
});
