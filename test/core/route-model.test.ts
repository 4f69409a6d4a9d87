import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import {
  type Catalog,
  defaultCatalog,
  formatProblem,
  type Job,
  type Plan,
  planJob,
  type RouteModel,
  routeCost,
  routeModel,
  solveRouteModel,
} from '@offplate/core';
import highsModule from 'highs';
import { beforeAll, describe, expect, test } from 'vitest';
import { readJobFrom } from '../../packages/cli/src/read/read-job.js';
import { modelAsLp } from '../bench/route-models.mjs';
import { jobOf, sampleRecipes, vocabulary } from '../property/arbitrary-job.js';

// The package's types describe the CommonJS module; Node hands out its default.
const loadHighs = highsModule as unknown as typeof highsModule.default;

const catalog: Catalog = defaultCatalog();
const demo = fileURLToPath(new URL('../../data/demo', import.meta.url));

const withoutBreaks = (job: Job): Job => ({ ...job, order: { ...job.order, quantityBreaks: [] } });

const plans = new Map<Job, Plan>();
function planOf(job: Job): Plan {
  const plan = plans.get(job) ?? planJob(job, catalog);
  plans.set(job, plan);
  return plan;
}

async function demoJob(name: string): Promise<Job> {
  const reading = await readJobFrom(join(demo, name), vocabulary, () => {
    throw new Error('a demo job is read from its folder');
  });
  if (reading.job === undefined) throw new Error(reading.problems.map(formatProblem).join('\n'));
  return withoutBreaks(reading.job);
}

const demos: Readonly<Record<string, Job>> = {
  'probe-bracket': await demoJob('probe-bracket'),
  'pressure-manifold': await demoJob('pressure-manifold'),
  'heat-sink': await demoJob('heat-sink'),
};

function demoOf(name: string): Job {
  const job = demos[name];
  if (job === undefined) throw new Error(`no demo job ${name}`);
  return job;
}

const generated: readonly Job[] = sampleRecipes(30, 20270413, {
  objectives: ['cost', 'cost', 'days', 'weighted'],
  maxFeatures: 9,
}).map((recipe) => withoutBreaks(jobOf(recipe)));

let solve: (model: RouteModel) => number | undefined;

beforeAll(async () => {
  const highs = await loadHighs();
  /** Optimum by HiGHS; undefined when it proves that there is none. */
  solve = (model) => {
    const answer = highs.solve(modelAsLp(model), {
      output_flag: false,
      mip_rel_gap: 0,
      mip_abs_gap: 0,
      mip_feasibility_tolerance: 1e-9,
      primal_feasibility_tolerance: 1e-9,
    });
    if (answer.Status === 'Infeasible') return undefined;
    expect(answer.Status).toBe('Optimal');
    return answer.ObjectiveValue;
  };
});

/** HiGHS on the exported model finds the plan's objective; the set-ups of the plan are the model's. */
function expectOptimum(job: Job): boolean {
  const plan = planOf(job);
  const model = routeModel(job, catalog);
  if (model.partPlans.length === 0) {
    expect(plan.feasible).toBe(false);
    return false;
  }
  const optimum = solve(model);
  if (!plan.feasible) {
    // The model asks for everything, so it has no answer; what is planned is a part of it.
    expect(optimum).toBeUndefined();
    return false;
  }
  expect(plan.proof.optimal).toBe(true);
  expect(plan.proof.gap).toBe(0);
  expect(plan.proof.lowerBound).toBe(plan.proof.objective);
  const scale = 1e-9 * Math.max(1, plan.proof.objective);
  expect(Math.abs((optimum ?? Number.NaN) - plan.proof.objective)).toBeLessThanOrEqual(scale);
  const own = solveRouteModel(model);
  expect(own.objective).toBe(plan.proof.objective);
  expect(routeCost(model, own.partPlan ?? '', own.chains)).toBe(own.objective);
  const visited = plan.operations.flatMap(({ setup }) => (setup === undefined ? [] : [setup]));
  expect([...visited].sort()).toEqual([...own.setups].sort());
  return true;
}

describe('the exported route model, solved by HiGHS, gives the plan', () => {
  test.each(['probe-bracket', 'pressure-manifold'])('demo job %s', (name) => {
    expect(expectOptimum(demoOf(name))).toBe(true);
  });

  test('demo job heat-sink, which asks for one thing too many', () => {
    const job = demoOf('heat-sink');
    expect(expectOptimum(job)).toBe(false);
    expect(planOf(job).conflicts).toHaveLength(1);
  });

  test('30 random jobs, by cost, by days and weighted', () => {
    const answered = generated.filter(expectOptimum);
    expect(answered.length).toBeGreaterThan(18);
    expect(new Set(answered.map((job) => job.policy.objective)).size).toBe(3);
  });
});

describe('every money line follows from the rates of the catalogue', () => {
  test.each(Object.keys(demos))('demo job %s', (name) => {
    const job = demoOf(name);
    const plan = planOf(job);
    expect(plan.cost.lines.length).toBeGreaterThan(20);
    expectPriced(job, plan);
  });

  test('30 random jobs', () => {
    let lines = 0;
    for (const job of generated) {
      const plan = planOf(job);
      if (!plan.feasible) continue;
      expectPriced(job, plan);
      lines += plan.cost.lines.length;
    }
    expect(lines).toBeGreaterThan(500);
  });
});

type Operation = Plan['operations'][number];
type Line = Plan['cost']['lines'][number];

/** An amount worked out here, minor units before rounding. */
interface Priced {
  readonly kind: Line['kind'];
  readonly exact: number;
}

/** Recomputes each operation's lines from minutes, pieces and loads, and compares them to the cent. */
function expectPriced(job: Job, plan: Plan): void {
  for (const operation of plan.operations) {
    const expected = pricedLines(job, plan, operation).filter((line) => line.exact >= 0.5);
    const lines = plan.cost.lines.filter((line) => line.operation === operation.seq);
    const order = (
      a: { readonly kind: string; readonly value: number },
      b: { readonly kind: string; readonly value: number },
    ): number => (a.kind < b.kind ? -1 : a.kind > b.kind ? 1 : a.value - b.value);
    const wanted = expected.map(({ kind, exact }) => ({ kind, value: exact })).sort(order);
    const found = lines.map(({ kind, amount }) => ({ kind, value: amount })).sort(order);
    const where = `operation ${operation.seq}, ${operation.title}`;
    expect(
      found.map((line) => line.kind),
      where,
    ).toEqual(wanted.map((line) => line.kind));
    found.forEach(({ value }, index) => {
      // Minutes are printed to six decimals: a hair beyond half a cent is rounding.
      const exact = wanted[index]?.value ?? Number.NaN;
      expect(Math.abs(value - exact), `${where}: ${value}, ${exact}`).toBeLessThan(0.5 + 5e-3);
    });
  }
  const before = plan.cost.lines.filter((line) => line.kind !== 'margin');
  const sum = before.reduce((total, line) => total + line.amount, 0);
  const margin = plan.cost.lines.filter((line) => line.kind === 'margin');
  expect(margin.reduce((total, line) => total + line.amount, 0)).toBe(
    Math.round((sum * job.policy.marginPercent) / 100),
  );
}

function pricedLines(job: Job, plan: Plan, operation: Operation): readonly Priced[] {
  const centre = catalog.workCentres.find((row) => row.id === operation.workCentre.id);
  if (centre === undefined) throw new Error(`no work centre ${operation.workCentre.id}`);
  const { quantity } = job.order;
  const plates = Math.ceil(quantity / (job.order.partsPerPlate ?? 1));
  const byTime = (kind: Line['kind'], minutes: number, ratePerH = centre.ratePerH): Priced => ({
    kind,
    exact: (minutes * ratePerH * 100) / 60,
  });
  const cycle = plan.thermal.cycles.find((entry) => entry.operation === operation.seq);
  const visit = operation.setup !== undefined;
  const onPlates =
    ['powder-removal', 'cut-off'].includes(operation.kind) || cycle?.onPlate === true;
  const machined = visit || operation.process === 'support-removal-machining';
  const pieces = onPlates ? plates : quantity;
  const loads = cycle === undefined ? 1 : (cycle.loads?.count ?? Number.NaN);
  const held = operation.parameters.find(({ name }) => name === 'Held in')?.value;
  // a dedicated fixture is paid for with the set-up, loads quicker and spares the probing
  const inFixture = held === 'a dedicated fixture';
  const handling =
    pieces *
    (inFixture
      ? (centre.fixtureLoadMin ?? Number.NaN)
      : centre.loadMin + (machined ? centre.probingMin : 0));
  const fixed = [
    byTime('set-up', centre.setupMin),
    { kind: 'set-up', exact: inFixture ? (centre.fixtureCost ?? Number.NaN) * 100 : 0 },
    byTime('programming', machined ? centre.programmingMin : 0),
    byTime('load', handling),
    { kind: 'lot-charge', exact: centre.lotCharge * loads * 100 },
    { kind: 'unit-charge', exact: centre.unitCharge * quantity * 100 },
  ] as const;
  const ofSteps = operation.steps.map((step) => step.runMinutesPerPart * quantity);
  if (visit) return [...fixed, ...ofSteps.map((minutes) => byTime('run', minutes))];
  if (operation.kind === 'inspection') {
    const methods = new Set(plan.inspection.map((item) => item.method));
    const rows = catalog.methods.filter((row) => methods.has(row.id));
    const rateOf = (method: string): number =>
      rows.find((row) => row.id === method)?.ratePerH ?? Number.NaN;
    return [
      ...fixed,
      ...rows.map((row) => byTime('inspection', row.setupMin, row.ratePerH)),
      ...plan.inspection.map((item) =>
        byTime('inspection', item.minutesPerPart * quantity, rateOf(item.method)),
      ),
    ];
  }
  if (cycle !== undefined) {
    const paid = cycle.loads?.fullLoads ?? Number.NaN;
    const own = centre.sourcing === 'in-house';
    return [
      ...fixed,
      byTime('furnace', cycle.totalMinutes * paid),
      { kind: 'furnace', exact: own ? paid * (cycle.energyKwh ?? 0) * 25 : 0 },
      { kind: 'furnace', exact: own ? paid * (cycle.argonM3 ?? 0) * 450 : 0 },
    ];
  }
  const masker = catalog.workCentres.find((row) => row.processes.includes('support-removal-hand'));
  const masking = ofSteps.reduce((sum, minutes) => sum + minutes, 0);
  return [
    ...fixed,
    byTime('run', operation.runMinutes - handling - masking),
    ...ofSteps.map((minutes) => byTime('run', minutes, masker?.ratePerH)),
  ];
}
