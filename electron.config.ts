import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'electron-vite';
import { resolve } from 'node:path';

const here = (path: string): string => resolve(import.meta.dirname, path);

/**
 * What is built, and from which entry. The result goes to out/, one folder a process.
 *
 * - main: everything that runs under Node. Each entry becomes out/main/<name>.js, an ES module that imports
 *   the packages named in package.json's `dependencies` at run time and bundles the rest. None of these may
 *   need Electron to start except Electron's own entry.
 * - preload: one CommonJS file that needs nothing but Electron: it runs in the window's sandbox.
 * - renderer: the window and its workers, for Electron and for an installed browser alike.
 */
export default defineConfig({
  main: {
    build: {
      // These run under the machine's Node too, which is older than the one inside Electron.
      target: 'node20.19',
      outDir: here('out/main'),
      rolldownOptions: {
        input: {
          cli: here('src-main/cli/main.ts'),
          // What the command's threads run.
          compute: here('src-main/cli/compute.ts'),
          electron: here('src-main/electron/main.ts'),
          loopback: here('src-main/loopback/main.ts'),
        },
        output: {
          format: 'es',
          entryFileNames: '[name].js',
          chunkFileNames: 'chunks/[name]-[hash].js',
          // Constants of a module stay constants to the engine, which then folds them; as `var` they are looked up.
          topLevelVar: false,
        },
      },
    },
  },
  preload: {
    build: {
      outDir: here('out/preload'),
      externalizeDeps: false,
      rolldownOptions: {
        input: { preload: here('src-main/electron/preload.ts') },
        output: { format: 'cjs', entryFileNames: '[name].cjs' },
      },
    },
  },
  renderer: {
    root: here('src-renderer'),
    // The root is a subfolder, so the plugin would look for its configuration there.
    plugins: [svelte({ configFile: here('.config/svelte.config.js') })],
    worker: { format: 'es' },
    build: {
      // An installed browser may be older than the one inside Electron.
      target: 'chrome125',
      outDir: here('out/renderer'),
      emptyOutDir: true,
      rolldownOptions: {
        input: { index: here('src-renderer/index.html'), film: here('src-renderer/film.html') },
      },
    },
  },
});
