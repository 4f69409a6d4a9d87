import { spawn, spawnSync } from 'node:child_process';
import {
  appendFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { makePlanJob } from '../bench/plan-jobs.mjs';

// These run the built command (`node scripts/build.mjs`), whose workers need compiled modules.

const bin = fileURLToPath(new URL('../../packages/cli/bin/offplate.mjs', import.meta.url));
const root = mkdtempSync(join(tmpdir(), 'offplate-batch-'));
const at = (...names: readonly string[]): string => join(root, ...names);
afterAll(() => rmSync(root, { recursive: true, force: true }));

const jobCount = 200;
const badLine = 70;
const impossibleLine = 71;

function offplate(argv: readonly string[], input?: string) {
  const options = { encoding: 'utf8', cwd: root, maxBuffer: 200_000_000 } as const;
  return spawnSync(process.execPath, [bin, ...argv], {
    ...options,
    ...(input === undefined ? {} : { input }),
  });
}

/** A small job; a different one for each number. */
function smallJob(number: number): string {
  return JSON.stringify({
    schemaVersion: 'job/1',
    part: {
      name: `Spacer ${number}`,
      number: `SP-${number}`,
      revision: 'A',
      material: 's17400',
      printer: 'pbf-lb',
      endUse: 'static',
    },
    geometry: {
      volume: 4000 + number,
      surfaceArea: 2400,
      box: [30, 20, 12],
      plateSection: 400,
      thickestSection: 8,
      supports: { latticeArea: 40 },
    },
    order: { quantity: 1 + (number % 7), currency: 'EUR' },
    features: [
      {
        id: 'B1',
        kind: 'bore',
        size: number === impossibleLine ? '8 ±0.00001' : '8 H9',
        ra: 3.2,
        depth: 12,
        access: ['+z'],
      },
    ],
  });
}

interface Line {
  readonly number: number;
  readonly job: string;
  readonly outcome: string;
  readonly plan?: { readonly job: { readonly number: string } };
  readonly problems?: readonly { readonly place: { readonly line: number } }[];
  readonly source?: string;
}

const linesIn = (text: string): readonly Line[] =>
  text
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as Line);

const input = Array.from({ length: jobCount }, (_none, index) =>
  index + 1 === badLine ? '{"part": ' : smallJob(index + 1),
).join('\n');
let whole = '';

beforeAll(() => {
  writeFileSync(at('jobs.ndjson'), input);
  const done = offplate(['batch', 'jobs.ndjson', '--workers', '2', '--out', 'whole.ndjson']);
  expect(done.stderr).toContain(`${jobCount} jobs in `);
  expect(done.stderr).toContain('198 planned; 1 cannot be made; 1 invalid');
  expect(done.stderr).toContain('wrote whole.ndjson');
  expect(done.status).toBe(3);
  whole = readFileSync(at('whole.ndjson'), 'utf8');
}, 300_000);

describe('200 jobs', () => {
  test('come out in the order of the input, each with its own plan', () => {
    const lines = linesIn(whole);
    expect(lines.map(({ number }) => number)).toEqual(
      Array.from({ length: jobCount }, (_none, index) => index + 1),
    );
    for (const { number, plan, outcome } of lines) {
      if (number === badLine) continue;
      expect(plan?.job.number).toBe(`SP-${number}`);
      expect(outcome).toBe(number === impossibleLine ? 'not-feasible' : 'planned');
    }
    expect(new Set(lines.map(({ job }) => job)).size).toBe(jobCount);
    expect(existsSync(at('whole.ndjson.part'))).toBe(false);
  });

  test('a bad one carries its problems, with its line in the input', () => {
    const bad = linesIn(whole)[badLine - 1];
    expect(bad).toMatchObject({ outcome: 'invalid', problems: [{ place: { line: badLine } }] });
    expect(bad?.plan).toBeUndefined();
  });

  test('the plan is that of offplate plan', () => {
    const alone = offplate(['plan', '-', '--json'], smallJob(3));
    expect(alone.status).toBe(0);
    expect(linesIn(whole)[2]?.plan).toEqual(JSON.parse(alone.stdout));
  });
});

describe('a run that is stopped', () => {
  const lineCount = (path: string): number => readFileSync(path, 'utf8').split('\n').length - 1;

  test('goes on where it was, and nothing is lost or doubled', async () => {
    const argv = ['batch', 'jobs.ndjson', '--workers', '1', '--out', 'resumed.ndjson'];
    const child = spawn(process.execPath, [bin, ...argv], { cwd: root });
    const ended = new Promise<number | null>((resolve) => child.once('exit', resolve));
    const part = at('resumed.ndjson.part');
    while (!existsSync(part) || lineCount(part) < 5) await wait(20);
    child.kill('SIGINT');
    expect(await ended).toBe(130);
    expect(existsSync(at('resumed.ndjson'))).toBe(false);
    const before = lineCount(part);
    expect(before).toBeGreaterThanOrEqual(5);
    expect(before).toBeLessThan(jobCount);
    expect(offplate(argv)).toMatchObject({ status: 4 });
    // as if the power had failed within a line
    appendFileSync(part, '{"schema":"batch-line/1","num');
    const done = offplate([...argv, '--resume']);
    expect(done.stderr).toContain(`${before} done before`);
    expect(done.status).toBe(3);
    expect(readFileSync(at('resumed.ndjson'), 'utf8')).toBe(whole);
  });

  test('does not go on with other jobs', () => {
    const lines = whole.split('\n');
    writeFileSync(at('other.ndjson.part'), `${lines[1]}\n`);
    const done = offplate(['batch', 'jobs.ndjson', '--out', 'other.ndjson', '--resume']);
    expect(done.status).toBe(4);
    expect(done.stderr).toContain('job 1 is not the one that the earlier run has done');
    expect(readFileSync(at('other.ndjson.part'), 'utf8')).toBe(`${lines[1]}\n`);
  });
});

describe('sources', () => {
  const few = [smallJob(1), '', smallJob(2)].join('\n');

  test('the standard input, to the standard output', () => {
    const done = offplate(['batch', '-'], few);
    expect(done.status).toBe(0);
    expect(linesIn(done.stdout).map(({ number }) => number)).toEqual([1, 3]);
  });

  test('a folder of job folders and job files, by name', () => {
    mkdirSync(at('jobs', 'b-folder'), { recursive: true });
    mkdirSync(at('jobs', 'no-job'));
    writeFileSync(at('jobs', 'b-folder', 'job.json'), smallJob(2));
    writeFileSync(at('jobs', 'c.json'), smallJob(3));
    writeFileSync(at('jobs', 'a.json'), smallJob(1));
    writeFileSync(at('jobs', 'notes.txt'), 'x');
    const done = offplate(['batch', 'jobs']);
    const lines = linesIn(done.stdout);
    expect(lines.map(({ source }) => source)).toEqual([
      join('jobs', 'a.json'),
      join('jobs', 'b-folder'),
      join('jobs', 'c.json'),
    ]);
    // the hash is one of the content, not of the name
    expect(lines.map(({ job }) => job)).toEqual(
      linesIn(whole)
        .slice(0, 3)
        .map(({ job }) => job),
    );
  });

  test('an empty input gives an empty result', () => {
    expect(offplate(['batch', '-', '--out', 'empty.ndjson'], '').status).toBe(0);
    expect(statSync(at('empty.ndjson')).size).toBe(0);
  });
});

test('a job that takes too long fails alone', () => {
  const slow = JSON.stringify(makePlanJob({ features: 4000, seed: 2 }));
  const argv = ['batch', '-', '--seconds', '5', '--workers', '1'];
  const done = offplate(argv, `${slow}\n${smallJob(2)}`);
  const [first, second] = linesIn(done.stdout);
  expect(first).toMatchObject({ outcome: 'failed', failure: 'not done within 5 s' });
  expect(second).toMatchObject({ outcome: 'planned' });
  expect(done.status).toBe(70);
});

test('a job is answered before the next one comes', async () => {
  const child = spawn(process.execPath, [bin, 'batch', '-', '--workers', '1'], { cwd: root });
  const lines = createInterface({ input: child.stdout })[Symbol.asyncIterator]();
  for (const number of [1, 2, 3]) {
    child.stdin.write(`${smallJob(number)}\n`);
    const { value } = await lines.next();
    expect(JSON.parse(String(value))).toMatchObject({ number, outcome: 'planned' });
  }
  const ended = new Promise<number | null>((resolve) => child.once('exit', resolve));
  child.stdin.end();
  expect(await ended).toBe(0);
});
