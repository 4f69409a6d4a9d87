import { readFileSync } from 'node:fs';
import {
  type Catalog,
  comparePlans,
  type Feature,
  fitLimits,
  type Job,
  type Plan,
  planJob,
} from '@offplate/core';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';
import { catalog, demoJob } from '../fixtures/demo-job.js';

const manifold = await demoJob('pressure-manifold');
const bracket = await demoJob('probe-bracket');
const plans = { manifold: planJob(manifold, catalog), bracket: planJob(bracket, catalog) };

const changed = (job: Job, id: string, change: (feature: Feature) => Feature): Job => ({
  ...job,
  features: job.features.map((feature) => (feature.id === id ? change(feature) : feature)),
});

/** Money of every line must be accounted for, operation by operation and kind by kind. */
function expectBalanced(a: Plan, b: Plan): void {
  const { difference, money, operations } = comparePlans(a, b);
  expect(money.reduce((sum, entry) => sum + entry.difference, 0)).toBe(difference?.perLot);
  const byOperation = operations.reduce((sum, entry) => sum + entry.perLotB - entry.perLotA, 0);
  const margin = (plan: Plan): number =>
    plan.cost.lines
      .filter((line) => line.operation === undefined)
      .reduce((s, l) => s + l.amount, 0);
  expect(byOperation + margin(b) - margin(a)).toBe(difference?.perLot);
  expect(operations.reduce((sum, entry) => sum + entry.days, 0)).toBeCloseTo(
    difference?.days ?? Number.NaN,
    5,
  );
}

describe('comparing plans', () => {
  test('a plan with itself differs in nothing', () => {
    const report = comparePlans(plans.manifold, plans.manifold, {
      a: { job: manifold, catalog },
      b: { job: manifold, catalog },
    });
    expect(report.causes).toEqual([]);
    expect(report.difference).toEqual({ perPart: 0, perLot: 0, days: 0 });
    expect(new Set(report.operations.map(({ change }) => change))).toEqual(new Set(['same']));
  });

  test('money and days are accounted for by operation and by kind of line', () => {
    const margin: Job = { ...manifold, policy: { ...manifold.policy, marginPercent: 12.5 } };
    expectBalanced(plans.manifold, planJob(margin, catalog));
    expectBalanced(plans.bracket, planJob(bracket, catalog, { quantity: 100 }));
    expectBalanced(plans.bracket, plans.manifold);
  });

  test('swapped sides swap the signs', () => {
    const fast = planJob(
      { ...manifold, policy: { ...manifold.policy, objective: 'days' } },
      catalog,
    );
    const there = comparePlans(plans.manifold, fast);
    const back = comparePlans(fast, plans.manifold);
    expect(there.difference?.perLot).toBeGreaterThan(0);
    expect(there.difference?.days).toBeLessThan(0);
    expect(back.difference).toEqual({
      perPart: -(there.difference?.perPart ?? 0),
      perLot: -(there.difference?.perLot ?? 0),
      days: -(there.difference?.days ?? 0),
    });
    const count = (report: typeof there, change: string): number =>
      report.operations.filter((entry) => entry.change === change).length;
    expect(count(there, 'in')).toBe(count(back, 'out'));
    expect(count(there, 'out')).toBe(count(back, 'in'));
  });

  test('an operation that comes in names the requirement that asks for it', () => {
    const size = { ...fitLimits(38, 'H5'), diametral: true, text: '38 H5' };
    const tight = changed(bracket, 'B1', (feature) => ({ ...feature, size, raMaxUm: 0.1 }));
    const report = comparePlans(plans.bracket, planJob(tight, catalog), {
      a: { job: bracket, catalog },
      b: { job: tight, catalog },
    });
    expect(report.causes).toEqual([
      { kind: 'requirement', what: 'B1.ra', feature: 'B1', a: 'Ra 1.6', b: 'Ra 0.1' },
      { kind: 'requirement', what: 'B1.size', feature: 'B1', a: '38 H8', b: '38 H5' },
    ]);
    const news = report.operations.filter(({ change }) => change === 'in');
    expect(news.length).toBeGreaterThan(0);
    for (const entry of news)
      expect(entry.because.join('; ')).toMatch(/B1 now asks (38 H5, before 38 H8|Ra 0.1, before)/);
  });

  test('an operation that falls away because the policy no longer asks for it says so', () => {
    const less: Job = {
      ...manifold,
      policy: { ...manifold.policy, required: ['bead-blasting', 'pickling'] },
    };
    const report = comparePlans(plans.manifold, planJob(less, catalog), {
      a: { job: manifold, catalog },
      b: { job: less, catalog },
    });
    const gone = report.operations.find(({ title }) => title === 'Anodising of titanium');
    expect(gone).toMatchObject({ change: 'out' });
    expect(gone?.because).toContain('the job no longer requires it');
    expect(report.causes).toContainEqual({
      kind: 'policy',
      what: 'policy.required',
      a: 'anodising-titanium, bead-blasting, pickling',
      b: 'bead-blasting, pickling',
    });
  });

  test('another rate is found in its table and in the reckoning', () => {
    const dearer: Catalog = {
      ...catalog,
      workCentres: catalog.workCentres.map((row) =>
        row.id === 'mill-3' ? { ...row, ratePerH: row.ratePerH + 1 } : row,
      ),
    };
    const report = comparePlans(plans.bracket, planJob(bracket, dearer), {
      a: { job: bracket, catalog },
      b: { job: bracket, catalog: dearer },
    });
    expect(report.causes).toEqual([
      { kind: 'table', what: 'work-centres: mill-3, rate_per_h', a: '78', b: '79' },
    ]);
    const moved = report.operations.filter(({ change }) => change === 'changed');
    expect(moved.map(({ workCentreB }) => workCentreB)).toEqual(['3-axis machining centre']);
    expect(moved[0]?.because.join(' ')).toMatch(/x 78\/h -> .* x 79\/h/);
  });

  test('a requirement that a side cannot meet reads so, not as if it were gone', () => {
    const inside: Job = {
      ...manifold,
      policy: { ...manifold.policy, outsideWork: false, required: [] },
      part: { ...manifold.part, endUse: 'static' },
    };
    const { condition: _condition, ...part } = inside.part;
    const report = comparePlans(plans.manifold, planJob({ ...inside, part }, catalog));
    expect(report.b.feasible).toBe(false);
    expect(report.causes).toContainEqual({
      kind: 'requirement',
      what: 'C1.ra',
      feature: 'C1',
      a: 'Ra 6.3',
      b: 'cannot be met',
    });
  });

  test('the report is of its published schema', () => {
    const path = new URL('../../schema/comparison.schema.json', import.meta.url);
    const accepts = new Ajv2020({ strictTypes: false }).compile(
      JSON.parse(readFileSync(path, 'utf8')) as object,
    );
    const report = comparePlans(plans.bracket, plans.manifold);
    expect(accepts(JSON.parse(JSON.stringify(report))), JSON.stringify(accepts.errors)).toBe(true);
  });
});
