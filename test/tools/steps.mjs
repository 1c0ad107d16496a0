import { existsSync, mkdirSync, readdirSync, rmSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { readJson } from '../../src-main/launch/read-json.mjs';
import { runCommand } from '../../src-main/launch/run-command.mjs';

// The steps of `npm test` after its set-up: what each one runs, and how its outcome is counted.

/**
 * @typedef {object} StepResult
 * @property {number} passed
 * @property {number} failed
 * @property {string} output   All that the step printed.
 * @property {string} [note]   A few words beside the step's name.
 * @property {number} time_ms
 *
 * @typedef {object} Check  A step that passes or fails as one.
 * @property {string} name
 * @property {(root: string) => Promise<Omit<StepResult, 'time_ms'>>} run
 */

/** Ends a step that hangs. */
const STEP_LIMIT_MS = 40 * 60_000;

const CACHE = '.cache';

/**
 * In the order of their report. The slowest comes first, so that two at a time end together.
 *
 * @type {Check[]}
 */
export const CHECKS = [
  tool('lint', 'eslint', ['--config', '.config/eslint.config.mjs', '--max-warnings', '0', '.']),
  tool('format', 'prettier', ['--check', '--log-level', 'warn', '.']),
  types('core'),
  types('src-main'),
  { name: 'types-src-renderer', run: checkWindowTypes },
  types('test'),
  types('.config'),
  tool('imports', 'dependency-cruiser', [
    ...['--config', '.config/dependency-cruiser.cjs'],
    ...['core', 'src-main', 'src-renderer', 'test'],
  ]),
  tool('unused', 'knip', ['--config', '.config/knip.jsonc', '--treat-config-hints-as-errors']),
  {
    name: 'docstrings',
    run: (root) => runNode(root, ['test/tools/docstrings.mjs']),
  },
];

/**
 * Runs the tests and counts them from vitest's own report.
 *
 * @param {string} root
 * @param {readonly string[]} extra  More arguments for vitest, such as the files to run.
 * @returns {Promise<Omit<StepResult, 'time_ms'>>}
 */
export async function runVitest(root, extra) {
  const reportPath = join(root, CACHE, 'vitest.json');
  mkdirSync(dirname(reportPath), { recursive: true });
  // An old report must not be taken for that of a run that died.
  rmSync(reportPath, { force: true });
  const { code, output } = await runNode(root, [
    ...[binaryOf(root, 'vitest'), 'run', '--config', '.config/vitest.config.ts'],
    ...['--reporter=default', '--reporter=json', `--outputFile.json=${reportPath}`],
    ...extra,
  ]);
  if (!existsSync(reportPath)) return { passed: 0, failed: 1, output, note: 'vitest made no report' };
  return { ...countTests(readJson(reportPath), code), output };
}

/**
 * Counts tests from vitest's JSON report.
 *
 * @param {unknown} json  The report.
 * @param {number} code  Vitest's exit code.
 * @returns {{ passed: number, failed: number, note: string }} A file that fails before any of its tests runs
 *   counts as one failure, and so does a run that ends badly with no failed test, e.g. by an unhandled error.
 */
export function countTests(json, code) {
  /**
   * @typedef {{ status: string, assertionResults: unknown[] }} FileReport
   * @typedef {{ numPassedTests: number, numFailedTests: number, numPendingTests: number, numTodoTests: number,
   *   testResults: FileReport[] }} Report
   */
  const report = /** @type {Report} */ (json);
  const brokenFiles = report.testResults.filter(
    (file) => file.status === 'failed' && file.assertionResults.length === 0,
  ).length;
  let failed = report.numFailedTests + brokenFiles;
  if (code !== 0 && failed === 0) failed = 1;
  const skipped = report.numPendingTests + report.numTodoTests;
  const files = report.testResults.length;
  return {
    passed: report.numPassedTests,
    failed,
    note: `${report.numPassedTests + failed} tests in ${files} files${skipped > 0 ? `, ${skipped} skipped` : ''}`,
  };
}

/**
 * @param {string} name
 * @param {string} packageName
 * @param {readonly string[]} args
 * @returns {Check}
 */
function tool(name, packageName, args) {
  return { name, run: (root) => runNode(root, [binaryOf(root, packageName), ...args]) };
}

/**
 * @param {string} layer  The folder of a tsconfig.json.
 * @returns {Check}
 */
function types(layer) {
  const name = `types-${layer.replace(/^\./, '')}`;
  return tool(name, 'typescript', [
    ...['--project', layer, '--pretty', 'false'],
    ...['--incremental', '--tsBuildInfoFile', `${CACHE}/tsc/${name}.tsbuildinfo`],
  ]);
}

/**
 * The window's types are read by svelte-check as soon as there are components, and by tsc until then.
 *
 * @param {string} root
 * @returns {Promise<Omit<StepResult, 'time_ms'>>}
 */
async function checkWindowTypes(root) {
  const files = readdirSync(join(root, 'src-renderer'), { recursive: true, encoding: 'utf8' });
  if (files.some((file) => file.endsWith('.svelte'))) {
    const args = ['--workspace', 'src-renderer', '--tsconfig', 'tsconfig.json', '--fail-on-warnings'];
    return runNode(root, [binaryOf(root, 'svelte-check'), ...args]);
  }
  if (files.some((file) => file.endsWith('.ts'))) return types('src-renderer').run(root);
  return { passed: 0, failed: 0, output: '', note: 'src-renderer has no files yet' };
}

/**
 * @param {string} root
 * @param {readonly string[]} args
 * @returns {Promise<Omit<StepResult, 'time_ms'> & { code: number }>}
 */
async function runNode(root, args) {
  const { code, output } = await runCommand(process.execPath, args, {
    cwd: root,
    timeLimit_ms: STEP_LIMIT_MS,
  });
  return { code, output, passed: code === 0 ? 1 : 0, failed: code === 0 ? 0 : 1 };
}

/**
 * @param {string} root
 * @param {string} packageName
 * @returns {string} The path of the package's program.
 */
function binaryOf(root, packageName) {
  const folder = join(root, 'node_modules', packageName);
  /** @typedef {{ bin?: string | Record<string, string> }} Manifest */
  const { bin } = /** @type {Manifest} */ (readJson(join(folder, 'package.json')));
  const path = typeof bin === 'string' ? bin : Object.values(bin ?? {})[0];
  if (path === undefined) throw new Error(`the package ${packageName} brings no program`);
  return join(folder, path);
}
