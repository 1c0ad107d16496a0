import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { runCommand } from './run-command.mjs';

/** Files and folders that decide what is built. launch/ is not built: it runs as it stands. */
const SOURCES = [
  'package.json',
  'package-lock.json',
  'tsconfig.json',
  'electron.config.ts',
  '.config/svelte.config.js',
  'core',
  'src-main',
  'src-renderer',
  'assets',
];
const NOT_BUILT = new Set(['src-main/launch']);

/** What the rest of the program starts from, so what a build must have left behind. */
const BUILT = [
  'out/main/cli.js',
  'out/main/compute.js',
  'out/main/electron.js',
  'out/main/loopback.js',
  'out/preload/preload.cjs',
  'out/renderer/index.html',
];
const STAMP = 'out/sources.sha256';

/**
 * The content hash of all that is built, names included.
 *
 * @param {string} root  The project's folder.
 * @returns {string} SHA-256, in hexadecimal digits.
 */
export function fingerprintSources(root) {
  const hash = createHash('sha256');
  for (const path of SOURCES) addToHash(hash, root, path);
  return hash.digest('hex');
}

/**
 * Says why the build is not that of the sources, or undefined when it is.
 *
 * @param {string} root  The project's folder.
 * @returns {string | undefined} A reason that completes "the build is made because …".
 */
export function whyBuild(root) {
  for (const path of BUILT) if (!existsSync(join(root, path))) return `${path} is missing`;
  const stamp = join(root, STAMP);
  if (!existsSync(stamp)) return 'it is not known from which sources the last one was made';
  return readFileSync(stamp, 'utf8') === fingerprintSources(root) ? undefined : 'the sources have changed';
}

/**
 * Builds out/ from the sources, and notes from which.
 *
 * @param {string} root  The project's folder.
 * @throws with the builder's whole output when the build fails.
 */
export async function buildAll(root) {
  // Taken before the build: a source that changes meanwhile makes the next start build again.
  const fingerprint = fingerprintSources(root);
  const builder = join(root, 'node_modules/electron-vite/bin/electron-vite.js');
  const args = [builder, 'build', '--config', 'electron.config.ts', '--ignoreConfigWarning'];
  const { code, output } = await runCommand(process.execPath, args, { cwd: root });
  if (code !== 0) throw new Error(`the build failed with exit code ${code}:\n${output}`);
  for (const path of BUILT) {
    if (!existsSync(join(root, path))) throw new Error(`the build made no ${path}:\n${output}`);
  }
  writeFileSync(join(root, STAMP), fingerprint);
}

/**
 * @param {import('node:crypto').Hash} hash
 * @param {string} root
 * @param {string} path  Relative to the root, with forward slashes on every system.
 */
function addToHash(hash, root, path) {
  if (NOT_BUILT.has(path)) return;
  const full = join(root, path);
  if (!existsSync(full)) return;
  const entries = listFolder(full);
  if (entries === undefined) {
    const content = readFileSync(full);
    hash.update(`${path}\0${content.length}\0`).update(content);
    return;
  }
  for (const name of entries) addToHash(hash, root, `${path}/${name}`);
}

/**
 * @param {string} path
 * @returns {string[] | undefined} Sorted names, or undefined when the path is a file.
 */
function listFolder(path) {
  try {
    return readdirSync(path).sort();
  } catch (error) {
    if (/** @type {NodeJS.ErrnoException} */ (error).code === 'ENOTDIR') return undefined;
    throw error;
  }
}
