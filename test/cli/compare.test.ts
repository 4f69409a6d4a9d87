import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { demoFolder } from '../fixtures/demo-job.js';
import { expectGolden } from '../golden.js';
import { runFake } from './fake-io.js';

const manifold = join(demoFolder, 'pressure-manifold');
const bracket = join(demoFolder, 'probe-bracket');

describe('offplate compare', () => {
  test('shows cheapest against fastest within 100 columns', async () => {
    const { code, stdout } = await runFake(['compare', manifold, '--other-objective', 'days']);
    expect(code).toBe(0);
    expect(Math.max(...stdout.split('\n').map((line) => [...line].length))).toBeLessThanOrEqual(
      100,
    );
    expectGolden('variants/compare-objective.txt', stdout);
  });

  test('compares two jobs as JSON', async () => {
    const { code, stdout } = await runFake(['compare', bracket, manifold, '--json']);
    expect(code).toBe(0);
    expect(JSON.parse(stdout)).toMatchObject({
      schema: 'comparison/1',
      a: { number: 'LB-210' },
      b: { number: 'LB-340' },
    });
  });

  test('a lot size for each side', async () => {
    const { stdout } = await runFake([
      ...['compare', bracket, '--quantity', '6', '--other-quantity', '60', '--json'],
    ]);
    expect(JSON.parse(stdout)).toMatchObject({ a: { quantity: 6 }, b: { quantity: 60 } });
  });

  test('a job with itself is a slip', async () => {
    const { code, stderr } = await runFake(['compare', bracket]);
    expect(code).toBe(2);
    expect(stderr).toContain('nothing to compare with');
  });
});
