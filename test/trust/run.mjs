// `npm run trust`: builds the trial of a thousand random vehicles, runs it, prints counts and failing seeds.
import { resolve } from 'node:path';
import { spawnSync } from 'node:child_process';
import { parseArgs } from 'node:util';
import { build } from 'vite';

const HELP = `node test/trust/run.mjs [--first SEED] [--count N]

  --first  the first seed (1)
  --count  how many seeds in a row (1000)
`;

const { values: options } = parseArgs({
  options: {
    first: { type: 'string', default: '1' },
    count: { type: 'string', default: '1000' },
    help: { type: 'boolean', default: false },
  },
});
if (options.help) {
  process.stdout.write(HELP);
  process.exit(0);
}
for (const name of /** @type {const} */ (['first', 'count'])) {
  const value = Number(options[name]);
  if (!Number.isInteger(value) || value < 1) {
    process.stderr.write(`--${name}: received ${options[name]}, allowed is a whole number from 1\n\n${HELP}`);
    process.exit(2);
  }
}

const root = resolve(import.meta.dirname, '../..');
const folder = resolve(root, 'out/trust');
await build({
  root,
  configFile: false,
  logLevel: 'error',
  build: {
    ssr: resolve(import.meta.dirname, 'main.ts'),
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
  ['--enable-source-maps', resolve(folder, 'main.js'), options.first, options.count],
  {
    stdio: 'inherit',
  },
);
process.exitCode = run.status ?? 1;
