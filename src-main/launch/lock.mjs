import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';

const POLL_MS = 200;
const PATIENCE_MS = 15 * 60_000;

/**
 * Runs `work` while holding a lock file, so that two commands started at once do not install or build over one
 * another. A lock whose process has died is taken over.
 *
 * @template T
 * @param {string} path  The lock file; its folder is made.
 * @param {(line: string) => void} say  Called once when another process holds the lock.
 * @param {() => Promise<T>} work
 * @returns {Promise<T>}
 * @throws when another process keeps the lock for a quarter of an hour.
 */
export async function withLock(path, say, work) {
  mkdirSync(dirname(path), { recursive: true });
  const until = Date.now() + PATIENCE_MS;
  let told = false;
  while (!tryTake(path)) {
    const holder = readHolder(path);
    // A file without a number is one that its process is about to write.
    if (holder !== undefined && !isAlive(holder)) {
      rmSync(path, { force: true });
      continue;
    }
    if (!told) say(`waiting for another set-up to end (process ${holder ?? 'unknown'})`);
    told = true;
    if (Date.now() > until) {
      throw new Error(`another set-up has held ${path} for a quarter of an hour: end it or remove the file.`);
    }
    await sleep(POLL_MS);
  }
  try {
    return await work();
  } finally {
    rmSync(path, { force: true });
  }
}

/**
 * @param {string} path
 * @returns {boolean} Whether the lock is now ours.
 */
function tryTake(path) {
  try {
    writeFileSync(path, String(process.pid), { flag: 'wx' });
    return true;
  } catch (error) {
    if (/** @type {NodeJS.ErrnoException} */ (error).code === 'EEXIST') return false;
    throw error;
  }
}

/**
 * @param {string} path
 * @returns {number | undefined} The holder's process number, where the file tells it.
 */
function readHolder(path) {
  try {
    const pid = Number.parseInt(readFileSync(path, 'utf8'), 10);
    return Number.isNaN(pid) ? undefined : pid;
  } catch {
    return undefined;
  }
}

/**
 * @param {number} pid
 * @returns {boolean}
 */
function isAlive(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return /** @type {NodeJS.ErrnoException} */ (error).code === 'EPERM';
  }
}
