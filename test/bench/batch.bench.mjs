// Plans a second with one worker and with two, and whether memory stays flat: BATCH_JOBS=10000 for
// the long run. A busy machine spoils the ratio.
import { spawn } from 'node:child_process';
import { closeSync, mkdtempSync, openSync, readFileSync, rmSync, writeSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';
import { makePlanJob } from './plan-jobs.mjs';

const bin = fileURLToPath(new URL('../../packages/cli/bin/offplate.mjs', import.meta.url));
const count = Number(process.env.BATCH_JOBS ?? 300);
const folder = mkdtempSync(join(tmpdir(), 'offplate-batch-bench-'));
let failed = false;

try {
  const all = jobsFile(count);
  const few = jobsFile(Math.ceil(count / 10));
  const tenth = await batch(few, 2);
  const one = await batch(all, 1);
  const two = await batch(all, 2);
  const rate = ({ seconds }) => (count / seconds).toFixed(1);
  console.log(`${count} jobs of 3 to 6 features, ${availableParallelism()} cores`);
  console.log(`one worker  ${rate(one)} plans a second, ${one.megabytes} MB at most`);
  console.log(`two workers ${rate(two)} plans a second, ${two.megabytes} MB at most`);
  console.log(`            ${(one.seconds / two.seconds).toFixed(2)} times one worker`);
  console.log(`a tenth of the jobs: ${tenth.megabytes} MB at most`);
  expect(one.text === two.text, 'the lines do not depend on the number of workers');
  expect(two.lines === count, 'every job has its line');
  expect(two.megabytes < 1.5 * tenth.megabytes, 'memory does not grow with the number of jobs');
} finally {
  rmSync(folder, { recursive: true, force: true });
}
process.exit(failed ? 1 : 0);

function jobsFile(jobs) {
  const path = join(folder, `${jobs}.ndjson`);
  const file = openSync(path, 'w');
  for (let seed = 1; seed <= jobs; seed++)
    writeSync(file, `${JSON.stringify(makePlanJob({ features: 3 + (seed % 4), seed }))}\n`);
  closeSync(file);
  return path;
}

async function batch(jobs, workers) {
  const out = `${jobs}.${workers}.out`;
  const argv = [bin, 'batch', jobs, '--workers', String(workers), '--out', out];
  const started = performance.now();
  const child = spawn(process.execPath, argv, { stdio: 'ignore' });
  let peak = 0;
  const timer = setInterval(() => {
    peak = Math.max(peak, residentMegabytes(child.pid));
  }, 200);
  const code = await new Promise((resolve) => child.once('exit', resolve));
  clearInterval(timer);
  const seconds = (performance.now() - started) / 1000;
  if (code !== 0 && code !== 1) throw new Error(`batch ended with ${code}`);
  const text = readFileSync(out, 'utf8');
  return { seconds, megabytes: peak, text, lines: text.split('\n').length - 1 };
}

/** Memory of a process now; 0 where there is no /proc. */
function residentMegabytes(pid) {
  try {
    const [, kilobytes] = /VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8')) ?? [];
    return Math.round(Number(kilobytes ?? 0) / 1024);
  } catch {
    return 0;
  }
}

function expect(holds, what) {
  if (holds) return;
  failed = true;
  console.error(`does not hold: ${what}`);
}
