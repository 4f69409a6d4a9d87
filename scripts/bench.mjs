// Runs every test/bench/*.bench.mjs, one after the other, on the built packages.
import { spawnSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { cpus } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const folder = join(dirname(fileURLToPath(import.meta.url)), '../test/bench');
const wanted = process.argv.slice(2);
const files = readdirSync(folder)
  .filter((name) => name.endsWith('.bench.mjs'))
  .filter((name) => wanted.length === 0 || wanted.some((part) => name.includes(part)))
  .sort();
console.log(
  `node ${process.version}, ${cpus().length} x ${cpus()[0]?.model ?? 'unknown processor'}`,
);
let failed = 0;
for (const name of files) {
  console.log(`\n== ${name}`);
  const done = spawnSync(process.execPath, [join(folder, name)], { stdio: 'inherit' });
  if (done.status !== 0) failed += 1;
}
process.exit(failed === 0 ? 0 : 1);
