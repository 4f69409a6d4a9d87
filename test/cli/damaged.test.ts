import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { damagedJobs } from '../core/damaged-jobs.js';
import { runFake } from './fake-io.js';

const jobs = damagedJobs(20270301);
const root = mkdtempSync(join(tmpdir(), 'offplate-refused-'));
afterAll(() => rmSync(root, { recursive: true }));

test('there are at least 200', () => {
  expect(jobs.length).toBeGreaterThanOrEqual(200);
});

describe('the command line refuses a damaged job', () => {
  test.each(jobs.map((job, index) => [job.name, job, index] as const))(
    '%s',
    async (_name, job, index) => {
      const folder = join(root, String(index));
      mkdirSync(folder);
      writeFileSync(join(folder, 'job.json'), job.json);
      if (job.csv !== undefined) writeFileSync(join(folder, 'features.csv'), job.csv);
      const before = readdirSync(folder);
      const verbs = [
        ['plan', folder, '--json', '--out', join(folder, 'plan.json')],
        ['traveller', folder, '--out', join(folder, 'traveller.pdf')],
        ['model', folder],
      ];
      // one verb each: what they share is what is tested
      const argv = verbs[index % verbs.length] ?? [];
      const { code, stdout, stderr } = await runFake(argv);
      expect([code, stdout]).toEqual([3, '']);
      expect(readdirSync(folder)).toEqual(before);
      if (argv.includes('--json')) {
        const { problems } = JSON.parse(stderr) as {
          problems: { place: { file?: string; line?: number; path?: string } }[];
        };
        const placed = problems.filter(({ place }) => place.file === join(folder, job.file));
        expect(placed.some(({ place }) => (place.line ?? place.path) !== undefined)).toBe(true);
        return;
      }
      expect(stderr).toContain(`${join(folder, job.file)}:`);
      expect(stderr).toMatch(/^offplate: \d+ problems? in the input; nothing was written\n$/m);
      expect(stderr).not.toMatch(/^\s+at |undefined|NaN|\[object|internal error/m);
      for (const line of stderr.split('\n')) expect(line.length).toBeLessThan(2000);
    },
  );
});
