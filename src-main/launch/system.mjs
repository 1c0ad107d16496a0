import { accessSync, constants, existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { runCommand } from './run-command.mjs';

/**
 * @typedef {object} SystemNeed
 * @property {string} command        The program that must be on the path.
 * @property {string} debianPackage  The Debian package that brings it.
 * @property {string} purpose        What it is for: completes "… is needed for …".
 */

const WINDOW_TESTS = 'the tests that drive the window';

/**
 * The one list of programs that the tests need beside Node.
 *
 * @type {readonly SystemNeed[]}
 */
export const TEST_NEEDS = [
  { command: 'chromium', debianPackage: 'chromium', purpose: WINDOW_TESTS },
  { command: 'Xvfb', debianPackage: 'xvfb', purpose: WINDOW_TESTS },
];

/**
 * @typedef {object} Machine  What the set-up must know of the machine, so that a test can stand one up.
 * @property {boolean} isDebian
 * @property {boolean} isRoot
 * @property {(command: string) => boolean} has
 * @property {(args: readonly string[]) => Promise<import('./run-command.mjs').Outcome>} aptGet
 */

/** @type {Machine} */
const thisMachine = {
  isDebian: existsSync('/etc/debian_version') && isOnPath('apt-get'),
  isRoot: process.getuid?.() === 0,
  has: isOnPath,
  aptGet: (args) =>
    runCommand('apt-get', args, {
      cwd: '/',
      env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' },
      timeLimit_ms: 900_000,
    }),
};

/**
 * Sees to it that the programs of the list are there: installs them where that is allowed, that is as root on
 * Debian, and otherwise says in one sentence what to install.
 *
 * @param {readonly SystemNeed[]} needs
 * @param {(line: string) => void} say  Called with one line before something slow is done.
 * @param {Machine} [machine]
 * @throws when a program is missing and cannot be installed.
 */
export async function provideSystemNeeds(needs, say, machine = thisMachine) {
  const missing = needs.filter((need) => !machine.has(need.command));
  if (missing.length === 0) return;
  const names = missing.map((need) => need.debianPackage).join(' ');
  const purposes = [...new Set(missing.map((need) => need.purpose))].join(' and ');

  if (!machine.isDebian) {
    const commands = missing.map((need) => need.command).join(' and ');
    throw new Error(`Please install ${commands}, needed for ${purposes}, so that they are on the path.`);
  }
  if (!machine.isRoot) {
    throw new Error(`Please run "sudo apt-get install ${names}", needed for ${purposes}.`);
  }

  say(`installing Debian packages: ${names}`);
  for (const args of [['update'], ['install', '--yes', '--no-install-recommends', ...names.split(' ')]]) {
    const { code, output } = await machine.aptGet(args);
    if (code !== 0) throw new Error(`apt-get ${args.join(' ')} failed with exit code ${code}:\n${output}`);
  }
  const still = missing.filter((need) => !machine.has(need.command));
  if (still.length > 0) {
    const commands = still.map((need) => need.command).join(' and ');
    throw new Error(`Debian's ${names} did not bring ${commands}: please install ${commands} by hand.`);
  }
}

/**
 * @param {string} command
 * @returns {boolean}
 */
function isOnPath(command) {
  return (process.env.PATH ?? '')
    .split(delimiter)
    .filter((folder) => folder !== '')
    .some((folder) => isExecutable(join(folder, command)));
}

/**
 * @param {string} path
 * @returns {boolean}
 */
function isExecutable(path) {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}
