import { readFileSync } from 'node:fs';
import { type Job, planJob, relaxJob } from '@offplate/core';
import { Ajv2020 } from 'ajv/dist/2020.js';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { catalog } from '../fixtures/demo-job.js';
import { arbitraryRecipe, jobOf } from './arbitrary-job.js';

const path = new URL('../../schema/relax.schema.json', import.meta.url);
const accepts = new Ajv2020({ strictTypes: false }).compile(
  JSON.parse(readFileSync(path, 'utf8')) as object,
);

test('looser never costs, tighter never saves, and together is more than one by one', () => {
  let saved = 0;
  fc.assert(
    fc.property(arbitraryRecipe(), (recipe) => {
      const whole = jobOf(recipe);
      // Few features, because every line is a plan of its own.
      const job: Job = {
        ...whole,
        order: { ...whole.order, quantityBreaks: [] },
        policy: { ...whole.policy, objective: 'cost' },
      };
      const plan = planJob(job, catalog);
      if (!plan.feasible) {
        expect(() => relaxJob(job, catalog)).toThrow(RangeError);
        return;
      }
      const report = relaxJob(job, catalog);
      expect(report.base.perLot).toBe(plan.cost.perLot);
      for (const { savesPerLot } of report.single) expect(savesPerLot).toBeGreaterThanOrEqual(0);
      for (const { savesPerLot } of report.tighter) expect(savesPerLot).toBeLessThan(0);
      for (const { savesPerLot } of report.freeToTighten) expect(savesPerLot).toBe(0);
      const rising = report.single.map(({ savesPerLot }) => -savesPerLot);
      expect(rising).toEqual([...rising].sort((a, b) => a - b));
      for (const { changes, savesPerLot } of report.together) {
        expect(changes.length).toBeGreaterThan(1);
        const alone = changes.map(
          ({ requirement, to }) =>
            report.single.find(
              ({ changes: [change] }) => change?.requirement === requirement && change.to === to,
            )?.savesPerLot ?? 0,
        );
        expect(savesPerLot).toBeGreaterThan(alone.reduce((sum, value) => sum + value, 0));
      }
      if (report.single.length > 0) saved += 1;
      expect(accepts(JSON.parse(JSON.stringify(report))), JSON.stringify(accepts.errors)).toBe(
        true,
      );
    }),
    { seed: 20270502, numRuns: 6, endOnFailure: true },
  );
  expect(saved).toBeGreaterThan(1);
}, 300_000);
