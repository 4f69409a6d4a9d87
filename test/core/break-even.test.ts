import { breakEvens, planJob } from '@offplate/core';
import { expect, test } from 'vitest';
import { catalog, demoJob } from '../fixtures/demo-job.js';

test('the route of the probe bracket changes with the lot size, and each change pays', async () => {
  const job = await demoJob('probe-bracket');
  const report = breakEvens(job, catalog, { from: 1, to: 30 });
  expect(report.changes.length).toBeGreaterThan(0);
  for (const change of report.changes) {
    const { quantity, perLot, oldRoutePerLot, newRouteBefore, bestBefore, routeChanges } = change;
    expect(routeChanges.length).toBeGreaterThan(0);
    // The old route, fixed and priced for the new lot, costs more; the new one did for a part less.
    expect(oldRoutePerLot).toBeGreaterThan(perLot);
    expect(newRouteBefore).toBeGreaterThanOrEqual(bestBefore);
    expect(planJob(job, catalog, { quantity }).cost.perLot).toBe(perLot);
    expect(planJob(job, catalog, { quantity: quantity - 1 }).cost.perLot).toBe(bestBefore);
  }
}, 120_000);

test('lot sizes must be whole and rising', async () => {
  const job = await demoJob('probe-bracket');
  expect(() => breakEvens(job, catalog, { from: 5, to: 4 })).toThrow(/5 to 4/);
  expect(() => breakEvens(job, catalog, { from: 0 })).toThrow(RangeError);
});
