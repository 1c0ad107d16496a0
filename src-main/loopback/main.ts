/**
 * The loopback host as a program: `node out/main/loopback.js [--stay] [--port N] [STUDY]`. Started by another one over a
 * channel for messages it tells that one where it is reached and when a window comes, and ends with it; started alone it
 * prints the address.
 */
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { serveDesktop } from '../host/desktop.ts';
import { startLoopback, type EndReason } from './server.ts';

const GRACE_ms = 3_000;
const PATIENCE_ms = 60_000;
/** Exit codes: the window was closed or the starter ended it; no window came. */
const CODES: Record<EndReason, number> = { windowClosed: 0, closed: 0, noWindow: 1 };

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { stay: { type: 'boolean', default: false }, port: { type: 'string' } },
});

const root = join(import.meta.dirname, '../..');
const log = (line: string): void => void process.stderr.write(`plumeline: ${line}\n`);
const tell = (message: object): void => void process.send?.(message);

const serve = serveDesktop(root, { host: 'loopback', startStudy: positionals[0] ?? null, choose: null }, log);
const loopback = await startLoopback({
  serve,
  pageFolder: join(root, 'out/renderer'),
  ...(values.port === undefined ? {} : { port: Number(values.port) }),
  grace_ms: values.stay ? null : GRACE_ms,
  patience_ms: values.stay ? null : PATIENCE_ms,
  report: (fault) => log(fault instanceof Error ? (fault.stack ?? fault.message) : String(fault)),
  onWindow: () => tell({ kind: 'window' }),
});

if (process.send === undefined) {
  process.stdout.write(`${loopback.address}\n`);
} else {
  tell({ kind: 'listening', address: loopback.address });
  process.on('message', (message) => {
    if (message === 'ticket') tell({ kind: 'ticket', ticket: loopback.issueTicket() });
    if (message === 'end') void loopback.close();
  });
  process.on('disconnect', () => void loopback.close());
}
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) {
  process.on(signal, () => void loopback.close());
}

const reason = await loopback.ended;
process.exit(CODES[reason]);
