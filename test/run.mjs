// `npm test`: all set-up, every check, every test, and one closing line. Plain Node: it starts where nothing is
// installed. `node test/run.mjs --help` says what else it can do.
import { availableParallelism } from 'node:os';
import { parseArgs } from 'node:util';
import { buildIfStale, ROOT, setUp } from '../src-main/launch/setup.mjs';
import { TEST_NEEDS } from '../src-main/launch/system.mjs';
import { CHECKS, runVitest } from './tools/steps.mjs';

/** @typedef {import('./tools/steps.mjs').StepResult} StepResult */

const BUILD = 'build';
const VITEST = 'vitest';
const NAMES = [BUILD, ...CHECKS.map((check) => check.name), VITEST];

const HELP = `node test/run.mjs [--only NAME[,NAME…]] [--verbose] [-- ARGUMENTS FOR VITEST]

  --only     runs the named steps alone; "types" means all steps that begin with "types-"
  --verbose  shows the output of passing steps too

  Steps: ${NAMES.join(', ')}
  Example: node test/run.mjs --only vitest -- test/core/earth
`;

const { values: options, positionals: vitestArguments } = readArguments();
if (options.help) {
  process.stdout.write(HELP);
  process.exit(0);
}

/** @type {{ passed: number, failed: number }} */
const total = { passed: 0, failed: 0 };
const started = performance.now();

try {
  const wanted = selectSteps(options.only);
  await setUp({ needs: TEST_NEEDS, build: false, say });
  if (wanted(BUILD)) report(BUILD, await timed(build));
  await runChecks(CHECKS.filter((check) => wanted(check.name)));
  if (wanted(VITEST)) report(VITEST, await timed(() => runVitest(ROOT, vitestArguments)));
} catch (error) {
  // Set-up or this script itself: a failure as any other.
  total.failed += 1;
  process.stdout.write(`${error instanceof Error ? error.message : String(error)}\n`);
}
say(`took ${seconds(performance.now() - started)}`);
process.stdout.write(`${total.passed} passed, ${total.failed} failed\n`);
process.exitCode = total.failed === 0 && total.passed > 0 ? 0 : 1;

/** The command line, or the end of the process with a sentence on what is wrong with it. */
function readArguments() {
  try {
    return parseArgs({
      allowPositionals: true,
      options: {
        only: { type: 'string', multiple: true },
        verbose: { type: 'boolean', default: false },
        help: { type: 'boolean', default: false },
      },
    });
  } catch (error) {
    process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n\n${HELP}`);
    process.exit(2);
  }
}

/**
 * @param {readonly string[] | undefined} only
 * @returns {(name: string) => boolean}
 */
function selectSteps(only) {
  if (only === undefined) return () => true;
  const asked = only.flatMap((list) => list.split(','));
  /** @type {(name: string, ask: string) => boolean} */
  const fits = (name, ask) => name === ask || name.startsWith(`${ask}-`);
  for (const ask of asked) {
    if (!NAMES.some((name) => fits(name, ask))) {
      throw new Error(`--only ${ask}: there is no such step; the steps are ${NAMES.join(', ')}.`);
    }
  }
  return (name) => asked.some((ask) => fits(name, ask));
}

/**
 * Runs as many checks side by side as there are processors, and reports them in their order.
 *
 * @param {readonly import('./tools/steps.mjs').Check[]} checks
 */
async function runChecks(checks) {
  const waiting = [...checks.entries()];
  /** @type {(StepResult | undefined)[]} */
  const results = checks.map(() => undefined);
  let reported = 0;
  const worker = async () => {
    for (let next = waiting.shift(); next !== undefined; next = waiting.shift()) {
      const [index, check] = next;
      results[index] = await timed(() => check.run(ROOT));
      for (let result = results[reported]; result !== undefined; result = results[reported]) {
        const { name } = /** @type {{ name: string }} */ (checks[reported]);
        report(name, result);
        reported += 1;
      }
    }
  };
  await Promise.all(Array.from({ length: Math.min(2, availableParallelism()) }, worker));
}

/** @returns {Promise<Omit<StepResult, 'time_ms'>>} */
async function build() {
  try {
    const reason = await buildIfStale(say);
    return { passed: 1, failed: 0, output: '', note: reason === undefined ? 'up to date' : '' };
  } catch (error) {
    return { passed: 0, failed: 1, output: error instanceof Error ? error.message : String(error) };
  }
}

/**
 * @param {() => Promise<Omit<StepResult, 'time_ms'>>} run
 * @returns {Promise<StepResult>}
 */
async function timed(run) {
  const start = performance.now();
  const result = await run();
  return { ...result, time_ms: performance.now() - start };
}

/**
 * @param {string} name
 * @param {StepResult} result
 */
function report(name, { passed, failed, output, note = '', time_ms }) {
  total.passed += passed;
  total.failed += failed;
  const word = failed > 0 ? 'FAILED' : passed > 0 ? 'ok' : 'nothing';
  const line = [word.padEnd(8), name.padEnd(16), seconds(time_ms).padStart(8), `  ${note}`]
    .join('')
    .trimEnd();
  process.stdout.write(`${line}\n`);
  if ((failed > 0 || options.verbose) && output.trim() !== '')
    process.stdout.write(`\n${output.trimEnd()}\n\n`);
}

/** @param {string} line */
function say(line) {
  process.stdout.write(`${line}\n`);
}

/** @param {number} time_ms */
function seconds(time_ms) {
  return `${(time_ms / 1000).toFixed(1)} s`;
}
