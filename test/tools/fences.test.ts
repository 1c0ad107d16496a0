import { cpSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { CHECKS } from './steps.mjs';

// Each check of `npm test` is run on a small project made of the real configuration and planted faults, and must
// name every fault and nothing else.

const ROOT = resolve(import.meta.dirname, '../..');
const LAYERS = ['core', 'src-main', 'src-renderer', 'test'];
let scratch = '';

beforeAll(() => {
  mkdirSync(join(ROOT, '.cache'), { recursive: true });
  scratch = mkdtempSync(join(ROOT, '.cache/fences-'));
  for (const path of ['package.json', 'tsconfig.json', '.config', '.prettierrc.json']) {
    cpSync(join(ROOT, path), join(scratch, path), { recursive: true });
  }
  symlinkSync(join(ROOT, 'node_modules'), join(scratch, 'node_modules'), 'junction');
});
afterAll(() => {
  rmSync(scratch, { recursive: true });
});

/** Fills the layers with these files and no others. */
function plant(files: Record<string, string>): void {
  for (const layer of LAYERS) {
    rmSync(join(scratch, layer), { recursive: true, force: true });
    cpSync(join(ROOT, layer, 'tsconfig.json'), join(scratch, layer, 'tsconfig.json'));
  }
  for (const [path, text] of Object.entries(files)) {
    mkdirSync(dirname(join(scratch, path)), { recursive: true });
    writeFileSync(join(scratch, path), text);
  }
}

/** Runs one check of `npm test` on the planted files. */
async function run(name: string): Promise<{ failed: number; output: string }> {
  const check = CHECKS.find((each) => each.name === name);
  if (check === undefined) throw new Error(`no check is named ${name}`);
  return check.run(scratch);
}

describe('import rules', () => {
  const file = 'export const a = 1;\n';
  const imports = (path: string): string => `import { a } from '${path}';\nexport const b = a;\n`;
  const importsType = (path: string): string => `import type { A } from '${path}';\nexport type B = A;\n`;
  const loads = (path: string): string => `import '${path}';\nexport const b = 1;\n`;

  /** Files that the table allows. */
  const allowed: Record<string, string> = {
    'core/constants/a.ts': file,
    'core/contract/a.ts': `${file}export type A = number;\n`,
    'core/contract/zod.ts': loads('zod'),
    'core/earth/a.ts': imports('../constants/a.ts'),
    'core/units/mathjs.ts': loads('mathjs'),
    'core/flight/a.ts': file,
    'core/flight/ode.ts': imports('../earth/b.ts'),
    'core/earth/b.ts': file,
    'core/flight/type.ts': importsType('../contract/a.ts'),
    'core/flight/matrix.ts': loads('ml-matrix'),
    'core/study/solve.ts': imports('../solve/a.ts'),
    'core/solve/a.ts': file,
    'src-main/host/a.ts': file,
    'src-main/cli/a.ts': imports('../host/a.ts'),
    'src-main/cli/core.ts': imports('../../core/solve/a.ts'),
    'src-main/cli/published.ts': imports('../../test/published/index.ts'),
    'src-main/host/published.ts': imports('../../test/published/index.ts'),
    'test/published/index.ts': file,
    'src-main/cli/commander.ts': loads('commander'),
    'src-main/cli/node.ts': loads('node:fs'),
    'src-main/electron/electron.ts': loads('electron'),
    'src-renderer/app/a.ts': file,
    'src-renderer/state/a.ts': file,
    'src-renderer/app/three.ts': loads('three'),
    'src-renderer/app/core.ts': imports('../../core/solve/a.ts'),
    'test/a.test.ts': imports('../core/solve/a.ts'),
  };

  /** Files that it forbids, each with the rule that says so. */
  const forbidden: [string, string, string][] = [
    ['core/units/upwards.ts', imports('../flight/a.ts'), 'core/units-imports-only-what-the-table-allows'],
    ['core/math/sibling.ts', imports('../units/mathjs.ts'), 'core/math-imports-only-what-the-table-allows'],
    ['core/ode/sibling.ts', imports('../earth/a.ts'), 'core/ode-imports-only-what-the-table-allows'],
    ['core/flight/upwards.ts', imports('../solve/a.ts'), 'core/flight-imports-only-what-the-table-allows'],
    ['core/flight/type2.ts', importsType('../solve/a.ts'), 'core/flight-imports-only-what-the-table-allows'],
    [
      'core/parting/sibling.ts',
      imports('../recovery/a.ts'),
      'core/parting-imports-only-what-the-table-allows',
    ],
    [
      'core/contract/flight.ts',
      importsType('../flight/a.ts'),
      'core/contract-imports-only-what-the-table-allows',
    ],
    ['core/flight/value.ts', imports('../contract/a.ts'), 'numeric-folders-take-only-types-from-contract'],
    ['core/flight/zod.ts', loads('zod'), 'core/flight-imports-only-listed-packages'],
    ['core/math/mathjs.ts', loads('mathjs'), 'core/math-imports-only-listed-packages'],
    ['core/contract/matrix.ts', loads('ml-matrix'), 'core/contract-imports-only-listed-packages'],
    ['core/math/node.ts', loads('node:fs'), 'core-without-node'],
    ['core/study/window.ts', imports('../../src-renderer/app/a.ts'), 'core-is-pure'],
    ['core/study/desktop.ts', imports('../../src-main/host/a.ts'), 'core-is-pure'],
    ['core/alone/alone.ts', file, 'every-lone-file-stands-in-a-listed-folder'],
    ['core/top.ts', imports('./constants/a.ts'), 'every-file-stands-in-a-listed-folder'],
    ['core/solve/unlisted.ts', imports('../unlisted/a.ts'), 'every-imported-file-stands-in-a-listed-folder'],
    ['src-main/alone.ts', file, 'every-lone-file-stands-in-a-listed-folder'],
    ['src-renderer/odd/alone.ts', file, 'every-lone-file-stands-in-a-listed-folder'],
    ['src-main/host/window.ts', imports('../../src-renderer/app/a.ts'), 'desktop-side-and-window-stay-apart'],
    [
      'src-main/host/upwards.ts',
      imports('../cli/core.ts'),
      'src-main/host-imports-only-what-the-table-allows',
    ],
    [
      'src-main/host/carries.ts',
      imports('../../test/published/index.ts'),
      'only-command-and-host-carry-the-published-numbers',
    ],
    ['src-main/host/electron.ts', loads('electron'), 'only-the-electron-folder-needs-electron'],
    ['src-main/cli/three.ts', loads('three'), 'desktop-side-runs-on-dependencies'],
    ['src-main/launch/zod.mjs', loads('zod'), 'launch-is-plain-node'],
    [
      'src-renderer/app/desktop.ts',
      imports('../../src-main/host/a.ts'),
      'window-and-desktop-side-stay-apart',
    ],
    ['src-renderer/app/node.ts', loads('node:fs'), 'window-without-node'],
    ['src-renderer/app/electron.ts', loads('electron'), 'window-without-electron'],
    ['src-renderer/charts/state.ts', imports('../state/a.ts'), 'what-draws-knows-no-application'],
    [
      'src-renderer/app/Desktop.svelte',
      `<script lang="ts">\n${imports('../../src-main/host/a.ts').replace('export ', '')}</script>\n<p>{b}</p>\n`,
      'window-and-desktop-side-stay-apart',
    ],
    ['core/math/lost.ts', loads('./nowhere.ts'), 'every-import-resolves'],
    ['core/math/unknown.ts', loads('no-such-package'), 'every-import-resolves'],
    ['core/math/one.ts', "export * from './two.ts';\n", 'no-cycles'],
  ];
  /** Files that the forbidden ones need, and that are no fault of their own. */
  const others: Record<string, string> = {
    'core/recovery/a.ts': file,
    'core/math/two.ts': "export * from './one.ts';\n",
    'core/unlisted/a.ts': file,
  };

  it('name each forbidden import by its rule, and no allowed one', async () => {
    plant({ ...allowed, ...others, ...Object.fromEntries(forbidden.map(([path, text]) => [path, text])) });
    const { failed, output } = await run('imports');
    expect(failed).toBe(1);
    const named = [...output.matchAll(/^\s*error ([^:]+): (\S+)/gm)].map(
      (match) => `${match[2]!} ${match[1]!}`,
    );
    // One file may break two rules at once; the one that it is planted for must be among them.
    for (const [path, , rule] of forbidden) expect(named).toContain(`${path} ${rule}`);
    const faulty = new Set([...forbidden.map(([path]) => path), ...Object.keys(others)]);
    expect(named.filter((line) => !faulty.has(line.split(' ')[0]!))).toEqual([]);
  });
});

describe('type checks', () => {
  it('let the core see the ECMAScript library and nothing else, whatever packages it imports', async () => {
    const packages = ['zod', 'mathjs', 'ml-matrix', 'geographiclib-geodesic'];
    const pure = [
      ...packages.map((name, i) => `import * as p${i} from '${name}';`),
      `export const used = [${packages.map((_, i) => `p${i}`).join(', ')}];`,
      'export const root = Math.sqrt(2);',
    ];
    const foreign = [
      'console',
      'process',
      'setTimeout',
      'document',
      'window',
      'performance',
      'Buffer',
      'fetch',
    ];
    const faults = foreign.map((name, i) => `export const x${i} = ${name};`);
    plant({ 'core/math/a.ts': [...pure, ...faults, "import 'node:fs';", ''].join('\n') });
    const { failed, output } = await run('types-core');
    expect(failed).toBe(1);
    const lines = [...output.matchAll(/a\.ts\((\d+),\d+\): error/g)].map(([, line]) => Number(line));
    const first = pure.length + 1;
    expect(lines).toEqual([...faults, 'the import of node:fs'].map((_, i) => first + i));
  });

  it('let the window see the DOM and not Node, and read its components', async () => {
    plant({
      'src-renderer/app/a.ts': 'export const title = document.title;\nexport const home = process.cwd();\n',
      'src-renderer/app/Good.svelte':
        '<script lang="ts">\n  let { n }: { n: number } = $props();\n</script>\n<p>{n.toFixed(1)}</p>\n',
      'src-renderer/app/Bad.svelte':
        "<script lang=\"ts\">\n  import Good from './Good.svelte';\n</script>\n<Good n={'one'} />\n",
    });
    const { failed, output } = await run('types-src-renderer');
    expect(failed).toBe(1);
    expect(output).toMatch(/a\.ts:2:\d+[\s\S]*process/);
    expect(output).toMatch(/Bad\.svelte:4:\d+[\s\S]*string[\s\S]*number/);
    expect(output).not.toMatch(/Good\.svelte:|a\.ts:1:/);
  });

  it('hold every layer to the strict rules', async () => {
    const faults = [
      'export const first: number = [1, 2][Math.floor(0.5)];', // noUncheckedIndexedAccess
      'export const part: { a?: number } = { a: undefined };', // exactOptionalPropertyTypes
      'export class A { m(): void {} }\nexport class B extends A { m(): void {} }', // noImplicitOverride
      "import { T } from './b.ts';\nexport type U = T;", // verbatimModuleSyntax
    ].join('\n');
    const errors = ['TS2322', 'TS2375', 'TS4114', 'TS1484'].sort();
    plant(
      Object.fromEntries([
        ...LAYERS.map((layer) => [`${layer}/a.ts`, `${faults}\n`] as const),
        ...LAYERS.map((layer) => [`${layer}/b.ts`, 'export type T = number;\n'] as const),
      ]),
    );
    for (const layer of LAYERS) {
      const { output } = await run(`types-${layer}`);
      const found = [...output.matchAll(/a\.ts\(\d+,\d+\): error (TS\d+)/g)].map(([, code]) => code);
      expect([layer, ...found.sort()]).toEqual([layer, ...errors]);
    }
  });
});

describe('linter', () => {
  it('names faults that only types can tell, and the core’s use of clock and chance', async () => {
    plant({
      'core/math/a.ts': [
        'export const a = Math.random();',
        'export const b = Date.now();',
        'export const c = new Date();',
        'export const d = new Date(0);',
        "import { e } from './e.ts';",
        'export const f = e;',
        '',
      ].join('\n'),
      'core/math/e.ts': 'export const e = new Float64Array(1)[0]!;\n',
      'src-main/cli/a.ts': [
        'const slow = async (): Promise<number> => Promise.resolve(1);',
        'slow();',
        "export const loose: unknown = JSON.parse('1');",
        "const any = JSON.parse('1');",
        'export const member = any.member;',
        '',
      ].join('\n'),
      'src-renderer/app/A.svelte': [
        '<script lang="ts">',
        '  const slow = async (): Promise<number> => Promise.resolve(1);',
        '  slow();',
        '  const unused = 1;',
        '</script>',
        '{@html "text"}',
        '',
      ].join('\n'),
      'src-main/launch/a.mjs': 'const slow = async () => Promise.resolve(1);\nslow();\n',
    });
    const { failed, output } = await run('lint');
    expect(failed).toBe(1);
    let path = '';
    const named: string[] = [];
    for (const line of output.split('\n')) {
      if (line.startsWith('/')) path = line.slice(scratch.length + 1);
      const fault = /^\s+(\d+):\d+\s+error\s.*?\s(\S+)$/.exec(line);
      if (fault) named.push(`${path}:${fault[1]!} ${fault[2]!}`);
    }
    expect(named).toEqual([
      'core/math/a.ts:1 no-restricted-properties',
      'core/math/a.ts:2 no-restricted-properties',
      'core/math/a.ts:3 no-restricted-syntax',
      'src-main/cli/a.ts:2 @typescript-eslint/no-floating-promises',
      'src-main/cli/a.ts:4 @typescript-eslint/no-unsafe-assignment',
      'src-main/cli/a.ts:5 @typescript-eslint/no-unsafe-assignment',
      'src-main/cli/a.ts:5 @typescript-eslint/no-unsafe-member-access',
      'src-main/launch/a.mjs:2 @typescript-eslint/no-floating-promises',
      'src-renderer/app/A.svelte:3 @typescript-eslint/no-floating-promises',
      'src-renderer/app/A.svelte:4 @typescript-eslint/no-unused-vars',
      'src-renderer/app/A.svelte:6 svelte/no-at-html-tags',
    ]);
  });
});

describe('format check', () => {
  it('names what is laid out otherwise, components too', async () => {
    plant({
      'core/math/good.ts': "export const a = ['one'];\n",
      'core/math/bad.ts': 'export const a = ["one"]\n',
      'src-renderer/app/Bad.svelte': '<script lang="ts">\nconst a=1\n</script>\n<p>{a}</p>\n',
    });
    const { failed, output } = await run('format');
    expect(failed).toBe(1);
    expect(output).toContain('core/math/bad.ts');
    expect(output).toContain('src-renderer/app/Bad.svelte');
    expect(output).not.toContain('good.ts');
  });
});

describe('check for dead code', () => {
  it('names what no entry and no test reaches', async () => {
    plant({
      'src-main/cli/main.ts': "import { used } from '../../core/math/a.ts';\nprocess.stdout.write(used);\n",
      'core/math/a.ts': "export const used = '';\nexport const dead = '';\nexport const tested = '';\n",
      'core/math/lone.ts': 'export const alone = 1;\n',
      'test/core/math/a.test.ts': "import { tested } from '../../../core/math/a.ts';\nvoid tested;\n",
    });
    const { failed, output } = await run('unused');
    expect(failed).toBe(1);
    expect(output).toMatch(/Unused files \(1\)\s+core\/math\/lone\.ts/);
    expect(output).toMatch(/Unused exports \(1\)\s+dead\s+core\/math\/a\.ts/);
    expect(output).toMatch(/Unused dependencies[\s\S]*ml-matrix/);
  });
});
