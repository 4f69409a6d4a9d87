// Time from nothing to a result, above an empty module: the least of some runs, because a busy machine
// only ever adds.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';

const at = (path) => fileURLToPath(new URL(`../../${path}`, import.meta.url));
const runs = Number(process.env.RUNS ?? 12);
const folder = mkdtempSync(join(tmpdir(), 'offplate-cold-'));
const script = (name, text) => {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
};
const imports = (entry) =>
  script(
    `${entry}.mjs`,
    `await import(${JSON.stringify(at(`packages/core/dist/bundle/${entry}.js`))});`,
  );
const bin = at('packages/cli/bin/offplate.mjs');
const job = at('data/demo/probe-bracket');
const pdf = join(folder, 'x.pdf');

// budgets: what a user feels as at once; the import is paid by every program that embeds the core
const cases = [
  { name: 'import core', argv: [imports('index')], budgetMs: 100 },
  { name: 'import stack', argv: [imports('stack')], budgetMs: 40 },
  { name: 'import limits', argv: [imports('limits')], budgetMs: 25 },
  { name: '--help', argv: [bin, '--help'], budgetMs: 50 },
  { name: 'plan of the demo', argv: [bin, 'plan', job], budgetMs: 450 },
  {
    name: 'traveller as PDF',
    argv: [bin, 'traveller', job, '--out', pdf, '--force'],
    budgetMs: 800,
  },
];

let failed = false;
const leastMs = (argv) => {
  let least = Number.POSITIVE_INFINITY;
  for (let run = 0; run < runs; run++) {
    const started = performance.now();
    const done = spawnSync(process.execPath, argv, { stdio: 'ignore' });
    if (done.status !== 0) throw new Error(`${argv.join(' ')} ended with ${done.status}`);
    least = Math.min(least, performance.now() - started);
  }
  return least;
};
try {
  const empty = leastMs([script('empty.mjs', '')]);
  console.log(`empty module      ${empty.toFixed(0).padStart(4)} ms`);
  for (const { name, argv, budgetMs } of cases) {
    const above = leastMs(argv) - empty;
    const over = above > budgetMs;
    failed ||= over;
    console.log(
      `${name.padEnd(17)} ${above.toFixed(0).padStart(4)} ms above it, budget ${budgetMs}${over ? ': EXCEEDED' : ''}`,
    );
  }
} finally {
  rmSync(folder, { recursive: true, force: true });
}
process.exit(failed ? 1 : 0);
