/** Both hosts over the same services, each as its window reaches it. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Channel } from '../../../core/contract/channels.ts';
import { answerWindow } from '../../../src-main/electron/answering.ts';
import { makeHandlers, type ChooseFile, type Surroundings } from '../../../src-main/host/handlers.ts';
import { Remembered } from '../../../src-main/host/remembered.ts';
import { serveWith, type Serve } from '../../../src-main/host/serve.ts';
import { startLoopback } from '../../../src-main/loopback/server.ts';
import { exposed, ipcRenderer, restart } from '../electron/stub.ts';

export type Send = (channel: Channel, payload: unknown) => Promise<unknown>;

/** A machine of its own: home, settings and demos, all in one folder. */
export class Machine {
  readonly folder = mkdtempSync(join(tmpdir(), 'host-'));
  readonly home = this.make('home');
  readonly config = join(this.folder, 'config');
  readonly demos = this.make('demos');
  /** What went wrong beside the requests, and what was a fault of the program. */
  readonly warnings: string[] = [];
  readonly faults: unknown[] = [];

  make(name: string): string {
    const path = join(this.folder, name);
    mkdirSync(path, { recursive: true });
    return path;
  }

  write(path: string, content: string | Uint8Array): string {
    const full = join(this.folder, path);
    writeFileSync(full, content);
    return full;
  }

  serve(changes: Partial<Surroundings> = {}): Serve {
    const warn = (sentence: string): void => void this.warnings.push(sentence);
    const handlers = makeHandlers({
      host: 'loopback',
      version: '1.2.3',
      platform: process.platform,
      homeFolder: this.home,
      demosFolder: this.demos,
      remembered: new Remembered(this.config, warn),
      warn,
      startStudy: null,
      choose: null,
      ...changes,
    });
    return serveWith(handlers, (_, fault) => void this.faults.push(fault));
  }

  remove(): void {
    rmSync(this.folder, { recursive: true });
  }
}

export interface Running {
  /** As the window sends. */
  readonly send: Send;
  /** A channel by any name, past the preload and the window's own table. */
  readonly sendAny: (channel: string, payload: unknown) => Promise<unknown>;
  stop(): Promise<void>;
}

export interface StandUp {
  readonly host: 'electron' | 'loopback';
  /** How this host lets a file be chosen. */
  readonly choose: ChooseFile | null;
  start(serve: Serve): Promise<Running>;
}

/** Needs `vi.mock('electron', …)` with the stub. */
async function startElectron(serve: Serve): Promise<Running> {
  restart();
  await import('../../../src-main/electron/preload.ts');
  answerWindow(serve);
  const api = exposed['plumeline']!;
  return {
    send: (channel, payload) => api[channel]!(payload),
    sendAny: (channel, payload) => ipcRenderer.invoke(channel, payload),
    stop: async () => restart(),
  };
}

async function startLoopbackHost(serve: Serve): Promise<Running> {
  const host = await startLoopback({
    serve,
    pageFolder: '/nowhere',
    grace_ms: null,
    patience_ms: null,
    report: (fault) => {
      throw fault;
    },
  });
  const { origin, hash } = new URL(host.address);
  const token = new URLSearchParams(hash.slice(1)).get('token')!;
  const sendAny = async (channel: string, payload: unknown): Promise<unknown> => {
    const reply = await fetch(`${origin}/api/${channel}`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', authorization: `Bearer ${token}`, origin },
      body: JSON.stringify(payload),
    });
    return reply.json();
  };
  return { send: sendAny, sendAny, stop: () => host.close() };
}

export const standUps: StandUp[] = [
  {
    host: 'electron',
    choose: async ({ folder, purpose, suggestedName }) =>
      suggestedName === 'cancel' ? null : join(folder, `${purpose}-${suggestedName}`),
    start: startElectron,
  },
  { host: 'loopback', choose: null, start: startLoopbackHost },
];
