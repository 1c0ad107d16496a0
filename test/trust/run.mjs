// `npm run trust`: builds the trial of a thousand random vehicles, or that of flights home, runs it, prints counts and what fails.
import { resolve } from 'node:path';
import { spawnSync } from 'node:child_process';
import { parseArgs } from 'node:util';
import { build } from 'vite';

const HELP = `node test/trust/run.mjs [--returns] [--first SEED] [--count N] [--every N]

  --returns  flights home with edges and limits of every kind, in place of vehicles
  --first    the first seed or variation (1)
  --count    how many in a row (1000)
  --every    of variations, each so many (1)
`;

const { values: options } = parseArgs({
  options: {
    first: { type: 'string', default: '1' },
    count: { type: 'string', default: '1000' },
    every: { type: 'string', default: '1' },
    returns: { type: 'boolean', default: false },
    help: { type: 'boolean', default: false },
  },
});
if (options.help) {
  process.stdout.write(HELP);
  process.exit(0);
}
for (const name of /** @type {const} */ (['first', 'count', 'every'])) {
  const value = Number(options[name]);
  if (!Number.isInteger(value) || value < 1) {
    process.stderr.write(`--${name}: received ${options[name]}, allowed is a whole number from 1\n\n${HELP}`);
    process.exit(2);
  }
}

const name = options.returns ? 'returnMain' : 'main';
const root = resolve(import.meta.dirname, '../..');
const folder = resolve(root, 'out/trust');
await build({
  root,
  configFile: false,
  logLevel: 'error',
  build: {
    ssr: resolve(import.meta.dirname, `${name}.ts`),
    outDir: folder,
    emptyOutDir: false,
    target: 'node20.19',
    minify: false,
    sourcemap: true,
  },
  ssr: { noExternal: true },
});
const run = spawnSync(
  process.execPath,
  ['--enable-source-maps', resolve(folder, `${name}.js`), options.first, options.count, options.every],
  {
    stdio: 'inherit',
  },
);
process.exitCode = run.status ?? 1;
