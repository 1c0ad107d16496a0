import js from '@eslint/js';
import { defineConfig, globalIgnores } from 'eslint/config';
import svelte from 'eslint-plugin-svelte';
import tseslint from 'typescript-eslint';

const root = `${import.meta.dirname}/..`;

export default defineConfig(
  globalIgnores(['node_modules/', 'out/', 'dist/', 'coverage/', '.cache/', 'assets/']),
  { linterOptions: { reportUnusedDisableDirectives: 'error' } },

  js.configs.recommended,
  tseslint.configs.strictTypeChecked,
  svelte.configs.recommended,
  {
    languageOptions: {
      parserOptions: { projectService: true, tsconfigRootDir: root, extraFileExtensions: ['.svelte'] },
    },
    rules: {
      // The compiler knows which names exist, layer by layer.
      'no-undef': 'off',
      // Coefficients are quoted with as many digits as their source prints.
      'no-loss-of-precision': 'off',
      // `array[i]!` is how a hot loop reads a typed array whose length is known.
      '@typescript-eslint/no-non-null-assertion': 'off',
      '@typescript-eslint/restrict-template-expressions': [
        'error',
        { allowNumber: true, allowBoolean: true, allowAny: false, allowNullish: false, allowRegExp: false },
      ],
      '@typescript-eslint/no-unnecessary-condition': ['error', { allowConstantLoopConditions: true }],
      '@typescript-eslint/no-confusing-void-expression': [
        'error',
        { ignoreArrowShorthand: true, ignoreVoidReturningFunctions: true },
      ],
      // Spreading a string by code points is meant.
      '@typescript-eslint/no-misused-spread': ['error', { allow: ['string'] }],
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_', varsIgnorePattern: '^_' }],
      '@typescript-eslint/consistent-type-imports': ['error', { fixStyle: 'separate-type-imports' }],
      '@typescript-eslint/no-import-type-side-effects': 'error',
      '@typescript-eslint/switch-exhaustiveness-check': [
        'error',
        { considerDefaultExhaustiveForUnions: true, requireDefaultForNonUnion: false },
      ],
      // `x == null` asks for null and undefined at once.
      eqeqeq: ['error', 'always', { null: 'ignore' }],
      'no-self-compare': 'error',
      'no-template-curly-in-string': 'error',
      'no-unmodified-loop-condition': 'error',
      'prefer-const': 'error',
      'no-var': 'error',
    },
  },

  {
    files: ['**/*.svelte', '**/*.svelte.ts'],
    languageOptions: { parserOptions: { parser: tseslint.parser } },
    // `let { … } = $props()` is how properties are taken: Svelte's own form of the rule knows it.
    rules: { 'prefer-const': 'off', 'svelte/prefer-const': 'error' },
  },
  {
    // The parser sees `any` where a component hands a value to a callback or a snippet. svelte-check types these.
    files: ['**/*.svelte'],
    rules: {
      '@typescript-eslint/no-unsafe-argument': 'off',
      '@typescript-eslint/no-unsafe-assignment': 'off',
      '@typescript-eslint/no-unsafe-call': 'off',
      '@typescript-eslint/no-unsafe-member-access': 'off',
      '@typescript-eslint/no-unsafe-return': 'off',
    },
  },

  {
    // The core is a function of its arguments. The compiler keeps out the DOM, Node and the console; what the
    // ECMAScript library itself offers of clock and chance is kept out here.
    files: ['core/**/*.ts'],
    rules: {
      'no-restricted-properties': [
        'error',
        { object: 'Math', property: 'random', message: 'Pass a seeded generator in.' },
        { object: 'Date', property: 'now', message: 'The core has no clock: pass the time in.' },
      ],
      'no-restricted-syntax': [
        'error',
        {
          selector:
            'NewExpression[callee.name="Date"][arguments.length=0], CallExpression[callee.name="Date"]',
          message: 'The core has no clock: pass the time in.',
        },
      ],
    },
  },

  {
    // Tests plant wrong values on purpose and read what a library left untyped.
    files: ['test/**/*.{ts,mjs}'],
    rules: {
      '@typescript-eslint/no-unsafe-type-assertion': 'off',
      '@typescript-eslint/require-await': 'off',
    },
  },
);
