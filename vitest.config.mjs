import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

const at = (path) => fileURLToPath(new URL(path, import.meta.url));

// Tests run on the sources; only test/cli/process.test.ts runs the built command.
export default defineConfig({
  resolve: {
    alias: [
      { find: '@offplate/core/expression', replacement: at('packages/core/src/expression.ts') },
      { find: '@offplate/core/limits', replacement: at('packages/core/src/limits.ts') },
      { find: '@offplate/core/mesh-file', replacement: at('packages/core/src/mesh-file.ts') },
      { find: '@offplate/core/stack', replacement: at('packages/core/src/stack.ts') },
      { find: '@offplate/core', replacement: at('packages/core/src/index.ts') },
      { find: '@offplate/cli', replacement: at('packages/cli/src/main.ts') },
    ],
  },
  test: {
    include: ['test/**/*.test.ts'],
    testTimeout: 120_000,
    maxWorkers: 2,
  },
});
