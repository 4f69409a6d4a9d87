import { readFileSync } from 'node:fs';
import { type Frontier, frontier, type Job, planJob } from '@offplate/core';
import { Ajv2020 } from 'ajv/dist/2020.js';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { catalog, demoJob } from '../fixtures/demo-job.js';
import { arbitraryRecipe, jobOf } from './arbitrary-job.js';

const withPolicy = (job: Job, policy: Partial<Job['policy']>): Job => ({
  ...job,
  order: { ...job.order, quantityBreaks: [] },
  policy: { ...job.policy, ...policy },
});

const whole = (days: number): number => Math.max(1, Math.ceil(days - 1e-6));

function expectFrontier(job: Job, report: Frontier): void {
  const { points } = report;
  expect(report.proven).toBe(true);
  for (const [index, point] of points.entries()) {
    const before = points[index - 1];
    if (before === undefined) continue;
    expect(point.wholeDays).toBeLessThan(before.wholeDays);
    expect(point.perLot).toBeGreaterThan(before.perLot);
  }
  const cheapest = planJob(withPolicy(job, { objective: 'cost' }), catalog);
  if (!cheapest.feasible) {
    expect(points).toEqual([]);
    return;
  }
  expect(points[0]?.perLot).toBe(cheapest.cost.perLot);
  expect(points[0]?.days).toBeLessThanOrEqual(whole(cheapest.schedule.days));
  const quickest = planJob(withPolicy(job, { objective: 'days' }), catalog);
  expect(points.at(-1)?.wholeDays).toBe(whole(quickest.schedule.days));
  // No plan, whatever it aims at, lies below the frontier.
  const aims = [{ objective: 'days' } as const].concat(
    [3, 30, 90, 300, 1500].map((costPerDay) => ({ objective: 'weighted', costPerDay }) as never),
  );
  for (const aim of aims) {
    const { schedule, cost } = planJob(withPolicy(job, aim), catalog);
    const bound = points.find(({ wholeDays }) => wholeDays <= whole(schedule.days));
    expect(bound?.perLot).toBeLessThanOrEqual(cost.perLot);
  }
}

describe('money against days', () => {
  test('is monotone, contains the optima, and no plan lies below it, on random jobs', () => {
    let traded = 0;
    fc.assert(
      fc.property(arbitraryRecipe(), (recipe) => {
        const job = jobOf(recipe);
        const report = frontier(job, catalog);
        if (report.points.length > 1) traded += 1;
        expectFrontier(job, report);
      }),
      { seed: 20270505, numRuns: 10, endOnFailure: true },
    );
    expect(traded).toBeGreaterThan(0);
  }, 240_000);

  test('of a demo job', async () => {
    const job = await demoJob('pressure-manifold');
    const report = frontier(job, catalog);
    expect(report.points.length).toBeGreaterThan(2);
    expectFrontier(job, report);
    const path = new URL('../../schema/frontier.schema.json', import.meta.url);
    const accepts = new Ajv2020({ strictTypes: false }).compile(
      JSON.parse(readFileSync(path, 'utf8')) as object,
    );
    expect(accepts(JSON.parse(JSON.stringify(report))), JSON.stringify(accepts.errors)).toBe(true);
  }, 120_000);
});
