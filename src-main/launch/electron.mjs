import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { howEnded } from './children.mjs';
import { runCommand } from './run-command.mjs';

/** So long a start waits for the runtime to be fetched, s. */
const FETCH_LIMIT_S = 20;
/** After a fetch that failed the next one is tried a day later: a start without a network must not wait each time. */
const RETRY_MS = 24 * 3600_000;
/** Electron that fails within this time has most likely not shown a window. */
const EARLY_MS = 10_000;

const FETCHER = 'node_modules/electron/install.js';
const FAILED = '.cache/electron-fetch-failed';

/**
 * @param {string} root  The project's folder.
 * @returns {string | undefined} Electron's program, where its runtime is present.
 */
export function findElectron(root) {
  const folder = join(root, 'node_modules/electron');
  try {
    // Written last, so that it stands for a runtime that is whole.
    const program = join(folder, 'dist', readFileSync(join(folder, 'path.txt'), 'utf8').trim());
    return existsSync(program) ? program : undefined;
  } catch {
    return undefined;
  }
}

/**
 * Fetches Electron's runtime within a short time, at most once a day.
 *
 * @param {string} root
 * @param {(line: string) => void} say
 * @param {number} [limit_s]
 * @returns {Promise<string | undefined>} Why it is not there now; undefined when it is.
 */
export async function fetchElectron(root, say, limit_s = FETCH_LIMIT_S) {
  const last = readTime(join(root, FAILED));
  if (last !== undefined && Date.now() - last < RETRY_MS) {
    return `it could not be fetched at ${new Date(last).toISOString().slice(0, 16)}Z, and is tried once a day`;
  }
  say(`fetching Electron's runtime, for ${limit_s} s at most`);
  const { code, output } = await runCommand(process.execPath, [FETCHER], {
    cwd: root,
    timeLimit_ms: limit_s * 1000,
  });
  if (code === 0 && findElectron(root) !== undefined) return undefined;
  mkdirSync(join(root, '.cache'), { recursive: true });
  writeFileSync(join(root, FAILED), String(Date.now()));
  const reason = output.includes('still running after')
    ? `it could not be fetched within ${limit_s} s`
    : `it could not be fetched (${firstLine(output)})`;
  return `${reason}; "node ${FETCHER}" fetches it without a limit of time`;
}

/**
 * Opens the window in Electron and waits for its end.
 *
 * @param {import('./children.mjs').Children} children
 * @param {string} program
 * @param {string} root
 * @param {string | undefined} study  A path.
 * @param {boolean} isRoot  Whether the system's superuser starts it.
 * @returns {Promise<{ shown: true, code: number } | { shown: false, reason: string }>}
 */
export async function openElectron(children, program, root, study, isRoot) {
  const args = [...(isRoot ? ['--no-sandbox'] : []), root, ...(study === undefined ? [] : [study])];
  const begun = Date.now();
  const { ended } = children.begin(program, args, { cwd: process.cwd(), stdio: 'inherit' });
  const outcome = await ended;
  const { code, fault } = outcome;
  if (fault !== undefined) return { shown: false, reason: fault.message };
  const bad = code !== 0 && children.signal === undefined;
  if (bad && Date.now() - begun < EARLY_MS) {
    return { shown: false, reason: `it ended at once with ${howEnded(outcome)}` };
  }
  return { shown: true, code: code ?? 1 };
}

/**
 * @param {string} path
 * @returns {number | undefined}
 */
function readTime(path) {
  try {
    const time = Number(readFileSync(path, 'utf8'));
    return Number.isFinite(time) ? time : undefined;
  } catch {
    return undefined;
  }
}

/**
 * @param {string} output
 * @returns {string}
 */
function firstLine(output) {
  return output.trim().split('\n')[0]?.slice(0, 200) || 'it said nothing';
}
