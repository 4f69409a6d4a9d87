import { join } from 'node:path';
import { expect, test } from 'vitest';
import { demoFolder } from '../fixtures/demo-job.js';
import { expectGolden } from '../golden.js';
import { runFake } from './fake-io.js';

test('offplate frontier shows what a day costs, within 100 columns', async () => {
  const { code, stdout } = await runFake(['frontier', join(demoFolder, 'pressure-manifold')]);
  expect(code).toBe(0);
  expect(Math.max(...stdout.split('\n').map((line) => [...line].length))).toBeLessThanOrEqual(100);
  expectGolden('variants/frontier.txt', stdout);
}, 120_000);

test('a job that cannot be made has no frontier', async () => {
  const { code, stdout, stderr } = await runFake(['frontier', join(demoFolder, 'heat-sink')]);
  expect([code, stdout]).toEqual([1, '']);
  expect(stderr).toContain('C1: Ra 1.6');
}, 120_000);
