import { svelte } from '@sveltejs/vite-plugin-svelte';
import { resolve } from 'node:path';
import { defineConfig } from 'vitest/config';

const inWindow = 'test/src-renderer/**/*.test.ts';

/** Call with `--config .config/vitest.config.ts`; `npm test` does. */
export default defineConfig({
  root: resolve(import.meta.dirname, '..'),
  cacheDir: '.cache/vite',
  plugins: [svelte({ configFile: false })],
  test: {
    pool: 'forks',
    maxWorkers: 2,
    // A limit against tests that never end, not a measure of speed: no test may depend on how fast it runs.
    testTimeout: 300_000,
    hookTimeout: 300_000,
    projects: [
      {
        extends: true,
        test: {
          name: 'node',
          include: ['test/**/*.test.ts'],
          exclude: [inWindow, 'test/bench/**'],
          environment: 'node',
        },
      },
      {
        extends: true,
        resolve: { conditions: ['browser'] },
        test: {
          name: 'window',
          include: [inWindow],
          environment: resolve(import.meta.dirname, 'window-environment.ts'),
        },
      },
    ],
    coverage: {
      provider: 'v8',
      include: ['core/**/*.ts', 'src-main/**/*.ts', 'src-renderer/**/*.{ts,svelte}'],
      reportsDirectory: 'coverage',
    },
  },
});
