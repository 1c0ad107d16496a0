import { basename, join } from 'node:path';
import { readJson } from './read-json.mjs';
import { runCommand } from './run-command.mjs';

/**
 * @typedef {object} LockEntry
 * @property {string} [version]
 * @property {string} [integrity]
 * @property {boolean} [optional]
 * @property {boolean} [devOptional]
 *
 * @typedef {object} Lock
 * @property {Record<string, LockEntry | undefined>} packages
 */

/** What npm writes into node_modules about what it put there. */
const INSTALLED = 'node_modules/.package-lock.json';

/**
 * Says why the installed packages are not those of the lock file, or undefined when they are.
 *
 * The contents are compared, not the files' times: a checkout touches files without changing them.
 *
 * @param {string} root  The project's folder.
 * @returns {string | undefined} A reason that completes "packages are installed because …".
 * @throws when package.json and the lock file name different direct dependencies: no install can mend that.
 */
export function whyInstall(root) {
  const lock = readLock(join(root, 'package-lock.json'));
  if (lock === undefined)
    throw new Error('package-lock.json is missing or unreadable: restore it from the repository.');
  assertLockMatchesManifest(root, lock);

  const installed = readLock(join(root, INSTALLED));
  if (installed === undefined) return 'node_modules is missing';

  for (const [path, wanted] of Object.entries(lock.packages)) {
    if (path === '' || wanted === undefined) continue;
    const present = installed.packages[path];
    if (present === undefined) {
      // npm leaves out optional packages that are made for other machines.
      if (wanted.optional === true || wanted.devOptional === true) continue;
      return `${path} is missing`;
    }
    if (present.version !== wanted.version || present.integrity !== wanted.integrity) {
      return `${path} is not the version of package-lock.json`;
    }
  }
  for (const path of Object.keys(installed.packages)) {
    if (lock.packages[path] === undefined) return `${path} is no longer in package-lock.json`;
  }
  return undefined;
}

/**
 * Installs exactly what the lock file names, development packages too: the build needs them.
 *
 * @param {string} root  The project's folder.
 * @throws with npm's whole output when npm fails.
 */
export async function installPackages(root) {
  const args = ['ci', '--include=dev', '--no-audit', '--no-fund'];
  // Under npm or npx the same npm is called again, by its own path.
  const npm = process.env.npm_execpath;
  const own = npm !== undefined && basename(npm) === 'npm-cli.js';
  const { code, output } = await (own
    ? runCommand(process.execPath, [npm, ...args], { cwd: root })
    : runCommand('npm', args, { cwd: root }));
  if (code !== 0) throw new Error(`npm ci failed with exit code ${code}:\n${output}`);
}

/**
 * @param {string} path
 * @returns {Lock | undefined} undefined when there is no such file or it is not a lock file.
 */
function readLock(path) {
  try {
    const value = /** @type {Partial<Lock> | null} */ (readJson(path));
    return typeof value?.packages === 'object' ? { packages: value.packages } : undefined;
  } catch {
    return undefined;
  }
}

/**
 * @param {string} root
 * @param {Lock} lock
 */
function assertLockMatchesManifest(root, lock) {
  /** @typedef {Record<string, Record<string, string> | undefined>} Manifest */
  const manifest = /** @type {Manifest} */ (readJson(join(root, 'package.json')));
  const locked = /** @type {Manifest} */ (lock.packages[''] ?? {});
  for (const field of ['dependencies', 'devDependencies']) {
    const wanted = manifest[field] ?? {};
    const known = locked[field] ?? {};
    for (const name of new Set([...Object.keys(wanted), ...Object.keys(known)])) {
      if (wanted[name] !== known[name]) {
        throw new Error(
          `package.json and package-lock.json disagree on ${name} (${field}: ` +
            `${wanted[name] ?? 'absent'} and ${known[name] ?? 'absent'}): run npm install.`,
        );
      }
    }
  }
}
