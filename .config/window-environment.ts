import type { Environment } from 'vitest/runtime';

/** Node as it is, but modules are compiled as for the window, so that Svelte's state and effects are the real ones. */
const environment: Environment = {
  name: 'window',
  viteEnvironment: 'client',
  setup: () => ({ teardown: () => undefined }),
};

export default environment;
