import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { demoFolder } from '../fixtures/demo-job.js';
import { expectGolden } from '../golden.js';
import { runFake } from './fake-io.js';

const bracket = join(demoFolder, 'probe-bracket');
const heatSink = join(demoFolder, 'heat-sink');
// Every line of these is a plan of its own, so the job is a small one.
const root = mkdtempSync(join(tmpdir(), 'offplate-variants-'));
const starter = join(root, 'starter');

beforeAll(async () => {
  expect((await runFake(['new', starter])).code).toBe(0);
});
afterAll(() => rmSync(root, { recursive: true }));

describe.each([
  ['relax', ['relax', starter]],
  ['ask', ['ask', bracket]],
  ['break-even', ['break-even', bracket, '--to', '8']],
  ['start', ['start', bracket]],
] as const)('offplate %s', (name, argv) => {
  test('reads well within 100 columns', async () => {
    const { code, stdout } = await runFake(argv);
    expect(code).toBe(0);
    expect(Math.max(...stdout.split('\n').map((line) => [...line].length))).toBeLessThanOrEqual(
      100,
    );
    expectGolden(`variants/${name}.txt`, stdout);
  }, 120_000);

  test('a job that cannot be made as it stands ends with 1 and says why', async () => {
    const { code, stdout, stderr } = await runFake([argv[0], heatSink]);
    expect([code, stdout]).toEqual([1, '']);
    expect(stderr).toContain('C1: Ra 1.6');
  }, 120_000);
});

test.each([
  [['start', bracket], 'parts-to-start/1'],
  [['break-even', bracket, '--to', '2'], 'break-evens/1'],
])(
  '%j --json names its schema',
  async (argv, schema) => {
    const { stdout } = await runFake([...argv, '--json']);
    expect(JSON.parse(stdout)).toMatchObject({ schema });
  },
  60_000,
);

test('slips of the options are told', async () => {
  const enough = await runFake(['start', bracket, '--enough', '1.5']);
  expect([enough.code, enough.stderr]).toEqual([2, expect.stringContaining('between 0 and 1')]);
  const sizes = await runFake(['break-even', bracket, '--from', '9', '--to', '3']);
  expect([sizes.code, sizes.stderr]).toEqual([2, expect.stringContaining('lies below')]);
});
