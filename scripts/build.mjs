// Compiles the data tables and both packages, and bundles core.
import { spawnSync } from 'node:child_process';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const run = (file, ...args) => {
  const done = spawnSync(process.execPath, [join(root, file), ...args], {
    cwd: root,
    stdio: 'inherit',
  });
  if (done.status !== 0) process.exit(done.status ?? 1);
};

run('scripts/compile-data.mjs');
run('node_modules/typescript/bin/tsc', '-b');
run('scripts/bundle-core.mjs');
