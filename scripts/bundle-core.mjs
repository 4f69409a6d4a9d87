// Bundles what the entries of core load into few files: a start then reads a handful of files instead
// of hundreds. Types stay where the compiler put them.
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { rolldown } from 'rolldown';

const core = join(dirname(fileURLToPath(import.meta.url)), '..', 'packages', 'core');
const { exports, dependencies } = JSON.parse(readFileSync(join(core, 'package.json'), 'utf8'));
const entries = Object.values(exports)
  .filter((entry) => typeof entry === 'object')
  .map((entry) => entry.default.replace('./dist/bundle/', '').replace('.js', ''));
const bundle = await rolldown({
  input: Object.fromEntries(entries.map((name) => [name, join(core, 'dist', `${name}.js`)])),
  external: Object.keys(dependencies),
  platform: 'neutral',
});
await bundle.write({
  dir: join(core, 'dist', 'bundle'),
  format: 'esm',
  chunkFileNames: '[name].js',
  cleanDir: true,
});
