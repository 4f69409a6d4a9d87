// Fails when a generated file does not match its source: data tables, schemas, API reports (these from the built types).
import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { compileData, generatedFolder } from './compile-data.mjs';

const scripts = dirname(fileURLToPath(import.meta.url));
let stale = [];
const { files, problems } = await compileData();
if (problems.length > 0) stale.push(...problems.map((problem) => `data: ${problem.message}`));
for (const [name, text] of files) {
  let present = '';
  try {
    present = readFileSync(join(generatedFolder, name), 'utf8');
  } catch (error) {
    if (error.code !== 'ENOENT') throw error;
  }
  if (present !== text) stale.push(`catalog/generated/${name}`);
}
stale.push(...readdirSync(generatedFolder).filter((name) => !files.has(name)));
for (const script of [
  'compile-schemas.mjs',
  'compile-type-schemas.mjs',
  'compile-catalog-schema.mjs',
  'build-kernel.mjs',
  'api-report.mjs',
]) {
  const done = spawnSync(process.execPath, [join(scripts, script), '--check'], {
    encoding: 'utf8',
  });
  if (done.status !== 0) stale.push(done.stderr.trim());
}
stale = stale.filter((line) => line !== '');
if (stale.length > 0) {
  console.error(`Stale generated files:\n${stale.join('\n')}`);
  process.exit(1);
}
console.log('generated files are current');
