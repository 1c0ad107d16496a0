import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { buildAll, whyBuild } from './build.mjs';
import { withLock } from './lock.mjs';
import { installPackages, whyInstall } from './packages.mjs';
import { provideSystemNeeds } from './system.mjs';

/** The project's folder. */
export const ROOT = fileURLToPath(new URL('../..', import.meta.url));

/** The oldest Node that the build tools run on; package.json's `engines` says the same. */
const OLDEST_NODE = [20, 19];

/** Held by whoever installs or builds. */
export const LOCK = join(ROOT, '.cache/setup.lock');

/**
 * Told before anything slow is done. Standard error, since standard output belongs to what is being set up.
 *
 * @param {string} line
 */
const sayOnStandardError = (line) => {
  process.stderr.write(`plumeline: ${line}\n`);
};

/**
 * Does what a new machine lacks, and nothing on one that lacks nothing: programs of the system, packages as the
 * lock file names them, and the build.
 *
 * @param {object} [options]
 * @param {readonly import('./system.mjs').SystemNeed[]} [options.needs]  Programs beside Node. None if left out.
 * @param {boolean} [options.build]  Whether the build is seen to. It is if left out.
 * @param {(line: string) => void} [options.say]  Told before anything slow.
 * @throws with a message for the person at the terminal.
 */
export async function setUp({ needs = [], build = true, say = sayOnStandardError } = {}) {
  assertNode(process.versions.node);
  await provideSystemNeeds(needs, say);
  if (whyInstall(ROOT) !== undefined) {
    await withLock(LOCK, say, async () => {
      const reason = whyInstall(ROOT);
      if (reason === undefined) return;
      say(`installing packages, some 20 s (${reason})`);
      await installPackages(ROOT);
    });
  }
  if (build) await buildIfStale(say);
}

/**
 * @param {(line: string) => void} say  Told before a build.
 * @returns {Promise<string | undefined>} Why a build was made; undefined when none was needed.
 * @throws with the builder's whole output when the build fails.
 */
export async function buildIfStale(say) {
  if (whyBuild(ROOT) === undefined) return undefined;
  return withLock(LOCK, say, async () => {
    const reason = whyBuild(ROOT);
    if (reason === undefined) return undefined;
    say(`building (${reason})`);
    await buildAll(ROOT);
    return reason;
  });
}

/**
 * `setUp` for a script that can do nothing without it: a failure's message goes to standard error, and the
 * process ends with code 1.
 *
 * @param {Parameters<typeof setUp>[0]} [options]
 */
export async function setUpOrExit(options) {
  try {
    await setUp(options);
  } catch (error) {
    process.stderr.write(`plumeline: ${error instanceof Error ? error.message : String(error)}\n`);
    process.exit(1);
  }
}

/**
 * @param {string} version  As Node reports it, e.g. "20.20.2".
 * @throws when it is older than the oldest that will do.
 */
export function assertNode(version) {
  const [major = 0, minor = 0] = version.split('.').map(Number);
  const [oldestMajor = 0, oldestMinor = 0] = OLDEST_NODE;
  if (major > oldestMajor || (major === oldestMajor && minor >= oldestMinor)) return;
  throw new Error(
    `Node ${OLDEST_NODE.join('.')} or newer is needed, and this is ${version}: please install it.`,
  );
}
