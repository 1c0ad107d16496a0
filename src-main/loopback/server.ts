/** The services for an installed browser's window: on 127.0.0.1, for one token, for as long as a window lives. */
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { getRequestListener } from '@hono/node-server';
import getPort, { portNumbers } from 'get-port';
import { codeOf } from '../host/failure.ts';
import type { Serve } from '../host/serve.ts';
import { loopbackApp } from './app.ts';
import { Gate } from './gate.ts';
import { Windows } from './windows.ts';

const HOST = '127.0.0.1';
/** So long an answer that is on its way is waited for at the end. */
const LAST_ANSWER_ms = 500;
/** Tried first, so that a tunnel from another machine can be set up once. */
const USUAL_PORTS = portNumbers(47_310, 47_330);

export interface LoopbackOptions {
  readonly serve: Serve;
  /** The built window. */
  readonly pageFolder: string;
  /** Taken if it is free; else one of the usual ones, else any. */
  readonly port?: number;
  /** How long the last window may be gone before the host ends; null: it stays. */
  readonly grace_ms: number | null;
  /** How long the first window may take to come before the host ends; null: any time. */
  readonly patience_ms: number | null;
  /** Told of faults of the program. */
  readonly report: (fault: unknown) => void;
  /** Called when a window is there and none was before. */
  readonly onWindow?: () => void;
}

export type EndReason = 'windowClosed' | 'noWindow' | 'closed';

export interface Loopback {
  /** The window's address, token and all. */
  readonly address: string;
  /** See Gate.issueTicket. */
  issueTicket(page?: string): string;
  /** Settles when the host has ended: nothing is being served or written any more. */
  readonly ended: Promise<EndReason>;
  /** Ends it. */
  close(): Promise<void>;
}

/** Starts to serve. Rejects when no port can be had. */
export async function startLoopback(options: LoopbackOptions): Promise<Loopback> {
  const { server, port } = await listen(options.port);
  const gate = new Gate(port);

  let settle: (reason: EndReason) => void = () => undefined;
  const ended = new Promise<EndReason>((resolve) => (settle = resolve));
  const running = new Set<Promise<unknown>>();
  let ending: Promise<void> | undefined;
  const end = (reason: EndReason): Promise<void> => {
    ending ??= (async () => {
      clearTimeout(patience);
      windows.close();
      const closed = new Promise((resolve) => server.close(resolve));
      // A window may close on the heels of its last save.
      while (running.size > 0) await Promise.allSettled(running);
      const timer = setTimeout(() => server.closeAllConnections(), LAST_ANSWER_ms);
      await closed;
      clearTimeout(timer);
      settle(reason);
    })();
    return ending;
  };

  const { patience_ms, grace_ms } = options;
  const patience = patience_ms === null ? undefined : setTimeout(() => void end('noWindow'), patience_ms);
  const windows = new Windows(
    gate,
    grace_ms ?? 0,
    () => {
      clearTimeout(patience);
      options.onWindow?.();
    },
    () => {
      if (grace_ms !== null) void end('windowClosed');
    },
  );

  const serve: Serve = (channel, payload) => {
    const answer = options.serve(channel, payload);
    running.add(answer);
    const done = (): boolean => running.delete(answer);
    answer.then(done, done);
    return answer;
  };
  const app = loopbackApp(gate, serve, options.pageFolder, options.report);
  const answer = getRequestListener(app.fetch, { overrideGlobalObjects: false });
  server.on('request', (request, response) => void answer(request, response));
  server.on('upgrade', (request, stream, head) => windows.upgrade(request, stream, head));

  return {
    address: gate.address,
    issueTicket: (page) => gate.issueTicket(page),
    ended,
    close: () => end('closed'),
  };
}

async function listen(wanted: number | undefined): Promise<{ server: Server; port: number }> {
  const server = createServer();
  const ports = wanted === undefined ? USUAL_PORTS : [wanted, ...USUAL_PORTS];
  try {
    await listenOn(server, await getPort({ host: HOST, port: ports }));
  } catch (error) {
    // Another program took it between the question and the answer: the system then gives one that is free.
    if (codeOf(error) !== 'EADDRINUSE') throw error;
    await listenOn(server, 0);
  }
  return { server, port: (server.address() as AddressInfo).port };
}

function listenOn(server: Server, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(port, HOST, () => {
      server.off('error', reject);
      resolve();
    });
  });
}
