// Checks the packed archives: exports and types resolve for every kind of user, nothing is missing,
// nothing is spare, and nothing runs when they are installed.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { packPackages, root } from './pack.mjs';

const allowed = [
  /^(LICENSE|README\.md|package\.json)$/,
  /^(bin|dist)\/[\w/.-]+\.(mjs|js|d\.ts|wasm)$/,
  /^schema\/[\w-]+\.schema\.json$/,
  /^fonts\/[\w.-]+$/,
];
const wanted = {
  core: ['LICENSE', 'README.md', 'schema/job.schema.json', 'schema/plan.schema.json'],
  cli: ['LICENSE', 'README.md', 'bin/offplate.mjs'],
};
// An archive that grows past these takes in something that it should not.
const maxKilobytes = { core: 900, cli: 1400 };

const problems = [];
const folder = mkdtempSync(join(tmpdir(), 'offplate-pack-'));
try {
  const archives = packPackages(folder);
  for (const [name, archive] of Object.entries(archives)) {
    const files = filesIn(archive);
    for (const file of wanted[name])
      if (!files.includes(file)) problems.push(`${name}: no ${file}`);
    for (const file of files)
      if (!allowed.some((pattern) => pattern.test(file))) problems.push(`${name}: spare ${file}`);
    const kilobytes = Math.ceil(statSync(archive).size / 1000);
    if (kilobytes > maxKilobytes[name])
      problems.push(`${name}: ${kilobytes} kB packed, at most ${maxKilobytes[name]}`);
    const { scripts = {} } = JSON.parse(run('tar', ['-xOzf', archive, 'package/package.json']));
    for (const script of ['preinstall', 'install', 'postinstall'])
      if (script in scripts) problems.push(`${name}: has the script ${script}`);
    check(name, 'publint', 'publint/src/cli.js', ['run', archive, '--strict']);
    check(name, 'attw', '@arethetypeswrong/cli/dist/index.js', [
      archive,
      ...['--profile', 'esm-only', '--no-emoji', '--format', 'ascii'],
    ]);
    console.log(`${name}: ${files.length} files, ${kilobytes} kB packed`);
  }
} finally {
  rmSync(folder, { recursive: true, force: true });
}
for (const problem of problems) console.error(problem);
process.exit(problems.length === 0 ? 0 : 1);

function filesIn(archive) {
  return run('tar', ['-tzf', archive])
    .trim()
    .split('\n')
    .map((path) => path.replace(/^package\//, ''));
}

function run(command, args) {
  const done = spawnSync(command, args, { encoding: 'utf8' });
  if (done.status !== 0) throw new Error(`${command} failed: ${done.stderr}`);
  return done.stdout;
}

function check(name, tool, script, args) {
  const path = join(root, 'node_modules', script);
  const done = spawnSync(process.execPath, [path, ...args], { encoding: 'utf8' });
  if (done.status !== 0) problems.push(`${name}: ${tool}\n${done.stdout}${done.stderr}`);
}
