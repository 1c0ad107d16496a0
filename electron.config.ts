import { resolve } from 'node:path';
import { defineConfig } from 'electron-vite';

const here = (path: string): string => resolve(import.meta.dirname, path);

/**
 * What is built, and from which entry. The result goes to out/, one folder a process.
 *
 * - main: everything that runs under Node. Each entry becomes out/main/<name>.js, an ES module that imports
 *   the packages named in package.json's `dependencies` at run time and bundles the rest. None of these may
 *   need Electron to start except Electron's own entry.
 * - preload and renderer: add their sections here, beside main, when the window exists. The preload must come
 *   out as one CommonJS file, and the renderer's root is src-renderer/, so its Svelte plugin must be given the
 *   path of its configuration.
 */
export default defineConfig({
  main: {
    build: {
      // The command runs under the machine's Node, which is older than the one inside Electron.
      target: 'node20.19',
      outDir: here('out/main'),
      rolldownOptions: {
        input: {
          cli: here('src-main/cli/main.ts'),
        },
        output: { format: 'es', entryFileNames: '[name].js', chunkFileNames: 'chunks/[name]-[hash].js' },
      },
    },
  },
});
