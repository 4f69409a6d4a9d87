import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { formatProblem } from '@offplate/core';
import { afterAll, describe, expect, test } from 'vitest';
import { readJobFrom } from '../../packages/cli/src/read/read-job.js';
import { damagedJobs } from '../core/damaged-jobs.js';
import { vocabulary } from '../core/job-example.js';

const jobs = damagedJobs(20270301);
const root = mkdtempSync(join(tmpdir(), 'offplate-damaged-'));
afterAll(() => {
  rmSync(root, { recursive: true });
});

test('there are at least 200 different ones, the same for the same seed', () => {
  expect(jobs.length).toBeGreaterThanOrEqual(200);
  expect(new Set(jobs.map(({ name }) => name)).size).toBe(jobs.length);
  const contents = jobs.map(
    ({ json, csv }) =>
      `${Buffer.from(json).toString('base64')} ${Buffer.from(csv ?? []).toString('base64')}`,
  );
  expect(new Set(contents).size).toBe(jobs.length);
  expect(damagedJobs(20270301)).toEqual(jobs);
});

describe('every one gives a located problem and no job', () => {
  test.each(jobs.map((job, index) => [job.name, job, index] as const))(
    '%s',
    async (_name, job, index) => {
      const folder = join(root, String(index));
      mkdirSync(folder);
      writeFileSync(join(folder, 'job.json'), job.json);
      if (job.csv !== undefined) writeFileSync(join(folder, 'features.csv'), job.csv);
      const reading = await readJobFrom(folder, vocabulary, () =>
        Promise.reject(new Error('no input')),
      );
      expect(reading.job).toBeUndefined();
      const located = reading.problems.filter(
        ({ place, value, accept }) =>
          place.file === join(folder, job.file) &&
          (place.line !== undefined || place.path !== undefined) &&
          (value !== undefined || accept !== undefined),
      );
      expect(located.length).toBeGreaterThan(0);
      // one damage must not drown in its consequences
      expect(reading.problems.length).toBeLessThanOrEqual(16);
      for (const problem of reading.problems) {
        expect(problem.message).toMatch(/^\S.*\S$/);
        expect(formatProblem(problem)).not.toMatch(/undefined|NaN|\[object/);
      }
    },
  );
});
