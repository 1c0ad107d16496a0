// `npm run bench`: builds the benches, compiles the reference where there is a compiler, measures, prints.
import { existsSync, mkdirSync, readdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { build } from 'vite';

const HELP = `node test/bench/run.mjs [--window | --film | --stages] [--json] [--rounds N] [--study FILE …]

  --window  the window under the hand, in an installed browser, in place of the computation
  --film    what the pictures of a film cost, drawn and recorded, in an installed browser
  --stages  what a flight costs against the number of stages, in place of the studies
  --json    the measurements as JSON
  --rounds  rounds in which all tasks are run in turn (20)
  --study   a study to measure, in place of the reference study and the demos; may be given again
`;

const here = import.meta.dirname;
const root = resolve(here, '../..');
const folder = join(root, 'out/bench');
const options = readOptions();
const rounds = Number(options.rounds);
if (!Number.isInteger(rounds) || rounds < 1)
  stop(`--rounds: received ${options.rounds}, allowed is a whole number from 1`);

mkdirSync(folder, { recursive: true });
if (options.window) {
  const electronVite = join(root, 'node_modules/electron-vite/bin/electron-vite.js');
  const built = spawnSync(process.execPath, [electronVite, 'build', '--config', 'electron.config.ts'], {
    cwd: root,
    stdio: ['ignore', 'ignore', 'inherit'],
  });
  if (built.status !== 0) process.exit(1);
  await bundle('window');
  const studies = options.study?.map((path) => resolve(path)) ?? [];
  const measured = spawnSync(
    process.execPath,
    [join(folder, 'window.js'), JSON.stringify({ json: options.json, studies })],
    { stdio: 'inherit', env: { ...process.env, PLUMELINE_ROOT: root } },
  );
  process.exit(measured.status ?? 1);
}
if (options.film) {
  const page = join(folder, 'film');
  await build({
    root: join(here, 'film'),
    configFile: false,
    logLevel: 'error',
    worker: { format: 'es' },
    build: {
      outDir: page,
      emptyOutDir: true,
      target: 'chrome125',
      rolldownOptions: { input: join(here, 'film/page.html') },
    },
  });
  await bundle('film');
  const study = resolve(options.study?.[0] ?? join(root, 'assets/demos/heavy.plumeline.json'));
  const asked = JSON.stringify({ study, folder: page, json: options.json });
  const measured = spawnSync(process.execPath, [join(folder, 'film.js'), asked], { stdio: 'inherit' });
  process.exit(measured.status ?? 1);
}
if (options.stages) {
  await bundle('stages');
  const measured = spawnSync(process.execPath, [join(folder, 'stages.js')], { stdio: 'inherit' });
  process.exit(measured.status ?? 1);
}
await bundle('main');
const orders = {
  studies: options.study?.map((path) => resolve(path)) ?? defaultStudies(),
  folder,
  rounds,
  json: options.json,
  c: compileC(),
  python: findPython(),
  pythonScript: join(here, 'reference/flight.py'),
};
// A young generation that holds a row of flights' garbage, so that it can be weighed before it is collected.
const flags = ['--expose-gc', '--min-semi-space-size=64', '--max-semi-space-size=64', '--enable-source-maps'];
const run = spawnSync(process.execPath, [...flags, join(folder, 'main.js'), JSON.stringify(orders)], {
  stdio: 'inherit',
});
process.exitCode = run.status ?? 1;
if (run.status === 0 && !options.json && options.study === undefined) {
  await bundle('stages');
  const measured = spawnSync(process.execPath, [join(folder, 'stages.js'), 'short'], { stdio: 'inherit' });
  process.exitCode = measured.status ?? 1;
}

function readOptions() {
  try {
    const { values } = parseArgs({
      options: {
        window: { type: 'boolean', default: false },
        film: { type: 'boolean', default: false },
        stages: { type: 'boolean', default: false },
        json: { type: 'boolean', default: false },
        rounds: { type: 'string', default: '20' },
        study: { type: 'string', multiple: true },
        help: { type: 'boolean', default: false },
      },
    });
    if (!values.help) return values;
    process.stdout.write(HELP);
    process.exit(0);
  } catch (error) {
    return stop(error instanceof Error ? error.message : String(error));
  }
}

/**
 * @param {string} sentence
 * @returns {never}
 */
function stop(sentence) {
  process.stderr.write(`${sentence}\n\n${HELP}`);
  process.exit(2);
}

/** One module, as the program's own build would make it: no call across modules that the engine could not see through. */
async function bundle(/** @type {'main' | 'window' | 'film' | 'stages'} */ entry) {
  await build({
    root,
    configFile: false,
    logLevel: 'error',
    build: {
      ssr: fileURLToPath(new URL(`./${entry}.ts`, import.meta.url)),
      outDir: folder,
      emptyOutDir: false,
      target: 'node20.19',
      minify: false,
      sourcemap: true,
      // Constants of a module stay constants to the engine, as in the window's workers.
      rolldownOptions: { output: { topLevelVar: false } },
    },
    // The browser's driver reads files beside itself.
    ssr: { noExternal: true, external: ['playwright-core'] },
  });
}

/** The reference study, and the demos as far as there are any. */
function defaultStudies() {
  const demos = join(root, 'assets/demos');
  const files = existsSync(demos)
    ? readdirSync(demos).filter((name) => name.endsWith('.plumeline.json'))
    : [];
  return [
    join(root, 'test/published/r1/r1.plumeline.json'),
    ...files.sort().map((name) => join(demos, name)),
  ];
}

/** The reference in C as a program, or why there is none. */
function compileC() {
  const program = join(folder, process.platform === 'win32' ? 'flight.exe' : 'flight');
  // Products and sums are rounded one by one, as in ECMAScript. Vectors of two make these short loops slower.
  const flags = ['-std=c99', '-O2', '-fno-tree-vectorize', '-fno-tree-slp-vectorize', '-ffp-contract=off'];
  const made = spawnSync('cc', [...flags, '-o', program, join(here, 'reference/flight.c'), '-lm'], {
    encoding: 'utf8',
  });
  if (made.error !== undefined) return { missing: 'no C compiler "cc" was found' };
  if (made.status !== 0) throw new Error(`the C compiler refused reference/flight.c:\n${made.stderr}`);
  return program;
}

/** A Python with SciPy, or why there is none. */
function findPython() {
  for (const program of ['python3', 'python']) {
    const asked = spawnSync(program, ['-c', 'import scipy.integrate'], { encoding: 'utf8' });
    if (asked.status === 0) return program;
  }
  return { missing: 'no Python with SciPy was found' };
}
