import { mkdtempSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { browserArguments } from './browsers.mjs';
import { howEnded } from './children.mjs';

/** A browser that handed its window over to another process shows it within this time. */
const HANDED_OVER_MS = 5_000;

/**
 * Opens the window in an installed browser and waits for its end.
 *
 * @param {import('./children.mjs').Children} children
 * @param {import('./loopback.mjs').LoopbackHost} host
 * @param {string} browser  Its program.
 * @param {import('./browsers.mjs').MachineFacts} machine
 * @param {() => void} onShown  Called when the window's page is at work.
 * @returns {Promise<{ shown: true, code: number } | { shown: false, reason: string }>}
 */
export async function openBrowser(children, host, browser, machine, onShown) {
  // Only its owner may look into a folder made this way.
  const profile = mkdtempSync(join(tmpdir(), 'plumeline-'));
  try {
    const args = browserArguments(await host.ticket(), profile, machine);
    const { child, ended } = children.begin(browser, args, { stdio: ['ignore', 'ignore', 'pipe'] });
    const said = keepLast(child.stderr);

    const window = host.window.then(() => /** @type {const} */ ('window'));
    let first = await Promise.race([window, ended, host.ended.then(() => /** @type {const} */ ('noWindow'))]);
    if (typeof first === 'object' && first.code === 0 && children.signal === undefined) {
      first = await Promise.race([window, sleep(HANDED_OVER_MS, first, { ref: false })]);
    }
    if (first === 'noWindow') return { shown: false, reason: 'its window did not come within a minute' };
    if (first !== 'window') {
      if (children.signal !== undefined) return { shown: true, code: 1 };
      const how = first.fault?.message ?? `it ended at once with ${howEnded(first)}`;
      return { shown: false, reason: `${how}${said() === '' ? '' : `: ${said()}`}` };
    }

    onShown();
    // On some systems a browser stays when its last window has closed; on others it goes first.
    const goesFirst = await Promise.race([ended, host.ended.then(() => undefined)]);
    const { code } = await host.ended;
    if (goesFirst !== undefined && goesFirst.code !== 0) return { shown: true, code: goesFirst.code ?? 1 };
    return { shown: true, code: code ?? 1 };
  } finally {
    await children.endAll();
    // A browser's helpers may still be writing when it has ended.
    await rm(profile, { recursive: true, force: true, maxRetries: 20, retryDelay: 100 });
  }
}

/**
 * @param {import('node:stream').Readable | null} stream
 * @returns {() => string} The last line that came.
 */
function keepLast(stream) {
  let text = '';
  stream?.on('data', (/** @type {Buffer} */ chunk) => {
    text = (text + chunk.toString('utf8')).slice(-4000);
  });
  return () => text.trim().split('\n').at(-1)?.trim() ?? '';
}
