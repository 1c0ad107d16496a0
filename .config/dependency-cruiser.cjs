// @ts-check
/**
 * The import table. A folder may import itself and the folders named beside it, nothing else of ours.
 * A file that stands in none of these folders is an error: a new folder is added here first.
 */

const FIRST = ['units', 'constants', 'math'];
const SECOND = [...FIRST, 'ode', 'nlp', 'earth', 'vehicle'];
const THIRD = [...SECOND, 'flight'];
const FOURTH = [...THIRD, 'parting', 'recovery'];
const FIFTH = [...FOURTH, 'solve'];

/** @type {Record<string, string[]>} */
const CORE = {
  constants: [],
  math: ['constants'],
  units: ['constants'],
  ode: FIRST,
  nlp: FIRST,
  earth: FIRST,
  vehicle: FIRST,
  flight: SECOND,
  parting: THIRD,
  recovery: THIRD,
  solve: FOURTH,
  study: FIFTH,
  replay: FIFTH,
  evidence: [...FIFTH, 'study', 'replay'],
  contract: ['units', 'constants'],
};

/** @type {Record<string, string[]>} */
const MAIN = {
  launch: [],
  // Which demos there are, and in which order, the start without a window asks too.
  host: ['launch'],
  // Films are recorded by a browser that the command starts and serves.
  cli: ['host', 'loopback', 'launch'],
  loopback: ['host'],
  electron: ['host', 'loopback'],
};

/** Parts that draw: they take plain data and a time, and know nothing of the application. */
const DRAWING = ['braid', 'telemetry', 'globe', 'charts', 'widgets', 'film/picture'];
/** @type {string[]} */
const RENDERER = [
  ...[
    'app',
    'state',
    'vehicle',
    'sequence',
    'question',
    'rehearse',
    'staging',
    'recovery',
    'assumptions',
    'evidence',
    'brief',
    'film',
  ],
  ...DRAWING.filter((folder) => !folder.includes('/')),
  ...['compute', 'bridge'],
];

/** What core may import from npm: any numeric folder, and the two folders that may import one thing more. */
const NUMERIC_PACKAGES = [
  'ml-matrix',
  'ml-levenberg-marquardt',
  'pure-rand',
  'simple-statistics',
  'geographiclib-geodesic',
  'astronomy-engine',
];
/** @type {Record<string, string[]>} */
const PACKAGES = { contract: ['zod', '@noble/hashes'], units: [...NUMERIC_PACKAGES, 'mathjs'] };

/** @param {string[]} names */
const oneOf = (names) => `(${names.join('|')})`;
const covered = [
  `^core/${oneOf(Object.keys(CORE))}/`,
  `^src-main/${oneOf(Object.keys(MAIN))}/`,
  `^src-renderer/${oneOf(RENDERER)}/`,
];
const ours = '^(core|src-main|src-renderer)/';
const npm = /** @type {const} */ ([
  'npm',
  'npm-dev',
  'npm-optional',
  'npm-peer',
  'npm-bundled',
  'npm-no-pkg',
  'npm-unknown',
]);

/**
 * One rule a folder: what it may import of its own layer.
 * @param {string} layer
 * @param {Record<string, string[]>} table
 * @returns {import('dependency-cruiser').IForbiddenRuleType[]}
 */
const layerRules = (layer, table) =>
  Object.entries(table).map(([folder, allowed]) => ({
    name: `${layer}/${folder}-imports-only-what-the-table-allows`,
    comment: `${layer}/${folder} may import ${[folder, ...allowed].join(', ')} of ${layer}.`,
    severity: 'error',
    from: { path: `^${layer}/${folder}/` },
    // Types of the contract are free to all: the rule after these says so, and forbids the rest.
    to: { path: `^${layer}/`, pathNot: `^${layer}/${oneOf([folder, 'contract', ...allowed])}/` },
  }));

/** @type {import('dependency-cruiser').IConfiguration} */
module.exports = {
  forbidden: [
    ...layerRules('core', CORE),
    {
      name: 'numeric-folders-take-only-types-from-contract',
      comment:
        'core/study changes whole studies number by number, so it follows paths and asks what a place allows.',
      severity: 'error',
      from: { path: '^core/', pathNot: '^core/(contract|study)/' },
      to: { path: '^core/contract/', dependencyTypesNot: ['type-only'] },
    },
    ...Object.keys(CORE).map((folder) => {
      const allowed = PACKAGES[folder] ?? NUMERIC_PACKAGES;
      return /** @type {import('dependency-cruiser').IForbiddenRuleType} */ ({
        name: `core/${folder}-imports-only-listed-packages`,
        comment: `core/${folder} may import of npm: ${allowed.join(', ')}.`,
        severity: 'error',
        from: { path: `^core/${folder}/` },
        to: { dependencyTypes: [...npm], pathNot: `(^|/)node_modules/${oneOf(allowed)}/` },
      });
    }),
    {
      name: 'core-is-pure',
      comment: 'No Node module and nothing of the other layers.',
      severity: 'error',
      from: { path: '^core/' },
      to: { path: '^(src-main|src-renderer|test|assets)/' },
    },
    {
      name: 'core-without-node',
      severity: 'error',
      from: { path: '^core/' },
      to: { dependencyTypes: ['core'] },
    },

    ...layerRules('src-main', MAIN),
    {
      name: 'desktop-side-and-window-stay-apart',
      severity: 'error',
      from: { path: '^src-main/' },
      to: { path: '^(src-renderer|test)/', pathNot: '^test/published/index\\.ts$' },
    },
    {
      name: 'only-command-and-host-carry-the-published-numbers',
      comment: 'Cited data of real vehicles: for `plumeline check`, and by `evidence.data` for the window.',
      severity: 'error',
      from: { path: '^(src-main|src-renderer)/', pathNot: '^src-main/(cli/|host/published\\.ts$)' },
      to: { path: '^test/' },
    },
    {
      name: 'launch-is-plain-node',
      comment: 'It runs before anything is installed.',
      severity: 'error',
      from: { path: '^src-main/launch/' },
      to: { dependencyTypesNot: ['core'], pathNot: '^src-main/launch/' },
    },
    {
      name: 'only-the-electron-folder-needs-electron',
      severity: 'error',
      from: { path: '^src-main/', pathNot: '^src-main/electron/' },
      to: { path: '(^|/)node_modules/electron/|^electron$' },
    },
    {
      name: 'desktop-side-runs-on-dependencies',
      comment: 'The build leaves packages out of the bundle; those named as devDependencies are not shipped.',
      severity: 'error',
      from: { path: '^src-main/' },
      to: {
        dependencyTypes: ['npm-dev'],
        dependencyTypesNot: ['type-only'],
        pathNot: '(^|/)node_modules/(electron|@types)/',
      },
    },

    {
      name: 'window-and-desktop-side-stay-apart',
      severity: 'error',
      from: { path: '^src-renderer/' },
      to: { path: '^(src-main|test)/' },
    },
    {
      name: 'window-without-node',
      severity: 'error',
      from: { path: '^src-renderer/' },
      to: { dependencyTypes: ['core'] },
    },
    {
      name: 'window-without-electron',
      severity: 'error',
      from: { path: '^src-renderer/' },
      to: { path: '(^|/)node_modules/electron/|^electron$' },
    },
    {
      name: 'what-draws-knows-no-application',
      comment: 'Parts that draw take plain data and a time.',
      severity: 'error',
      from: { path: `^src-renderer/${oneOf(DRAWING)}/` },
      to: { path: '^src-renderer/', pathNot: `^src-renderer/${oneOf(DRAWING)}/` },
    },

    // A file outside every listed folder is caught whether it imports, is imported, or stands alone.
    {
      name: 'every-file-stands-in-a-listed-folder',
      comment: 'Add the folder to the table in .config/dependency-cruiser.cjs.',
      severity: 'error',
      from: { path: ours, pathNot: covered },
      to: {},
    },
    {
      name: 'every-imported-file-stands-in-a-listed-folder',
      comment: 'Add the folder to the table in .config/dependency-cruiser.cjs.',
      severity: 'error',
      from: {},
      to: { path: ours, pathNot: covered },
    },
    {
      name: 'every-lone-file-stands-in-a-listed-folder',
      comment: 'Add the folder to the table in .config/dependency-cruiser.cjs.',
      severity: 'error',
      from: { orphan: true, path: ours, pathNot: covered },
      to: {},
    },

    { name: 'no-cycles', severity: 'error', from: {}, to: { circular: true } },
    { name: 'every-import-resolves', severity: 'error', from: {}, to: { couldNotResolve: true } },
    {
      name: 'every-package-is-named-in-package-json',
      severity: 'error',
      from: {},
      to: { dependencyTypes: ['npm-no-pkg', 'npm-unknown'] },
    },
  ],
  options: {
    doNotFollow: { path: ['node_modules', '^out/'] },
    exclude: { path: ['^out/'] },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    combinedDependencies: false,
    enhancedResolveOptions: {
      exportsFields: ['exports'],
      conditionNames: ['types', 'import', 'svelte', 'browser', 'node', 'default'],
      mainFields: ['module', 'main', 'types'],
      extensions: ['.ts', '.svelte.ts', '.svelte', '.mjs', '.js', '.d.ts', '.json'],
    },
  },
};
