import { readFileSync } from 'node:fs';
import {
  type Catalog,
  defaultCatalog,
  type Feature,
  type Job,
  type JobInput,
  type Plan,
  type PlannedFeature,
  planJob,
  readJob,
  routeModel,
} from '@offplate/core';
import { Ajv2020 } from 'ajv/dist/2020.js';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { featureTable } from '../../packages/cli/src/read/feature-file.js';
import {
  arbitraryRecipe,
  featureProcesses,
  type JobRecipe,
  jobInput,
  jobOf,
  vocabulary,
} from './arbitrary-job.js';

const seed = 20270412;
const catalog: Catalog = deepFreeze(defaultCatalog());

function deepFreeze<T>(value: T): T {
  if (typeof value === 'object' && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value);
    for (const part of Object.values(value)) deepFreeze(part);
  }
  return value;
}

// The same seed gives the same recipes in every test below, so each is planned once.
const known = new Map<string, { readonly job: Job; readonly plan: Plan }>();

function planned(recipe: JobRecipe): { readonly job: Job; readonly plan: Plan } {
  const key = JSON.stringify(recipe);
  const old = known.get(key);
  if (old !== undefined) return old;
  const job = deepFreeze(jobOf(recipe));
  const found = { job, plan: planJob(job, catalog) };
  known.set(key, found);
  return found;
}

/** Lot cost, Infinity when nothing is feasible; every answer must be proven. */
function lotCost(plan: Plan): number {
  expect(['optimal', 'infeasible']).toContain(plan.proof.status);
  return plan.feasible ? plan.cost.perLot : Number.POSITIVE_INFINITY;
}

const withoutBreaks = (job: Job): Job => ({
  ...job,
  order: { ...job.order, quantityBreaks: [] },
});
const costOf = (job: Job): number => lotCost(planJob(deepFreeze(withoutBreaks(job)), catalog));

describe('a plan in itself', () => {
  const runs = { seed, numRuns: 40 };
  const check = (
    law: (plan: Plan, job: Job, recipe: JobRecipe) => void,
    { infeasibleToo = false } = {},
  ): void => {
    let feasible = 0;
    fc.assert(
      fc.property(arbitraryRecipe(), (recipe) => {
        const { job, plan } = planned(recipe);
        if (plan.feasible) feasible += 1;
        if (plan.feasible || infeasibleToo) law(plan, job, recipe);
      }),
      runs,
    );
    expect(feasible).toBeGreaterThan(runs.numRuns / 2);
  };

  test('fits its published schema, and so does its route model', () => {
    const schema = (name: string): object =>
      JSON.parse(
        readFileSync(new URL(`../../schema/${name}.schema.json`, import.meta.url), 'utf8'),
      );
    const ajv = new Ajv2020({ allErrors: true, strict: false });
    const plan = ajv.compile(schema('plan'));
    const model = ajv.compile(schema('route-model'));
    let models = 0;
    check(
      (found, job) => {
        plan(found);
        expect(plan.errors ?? []).toEqual([]);
        if (models >= 6) return;
        models += 1;
        model(routeModel(job, catalog));
        expect(model.errors ?? []).toEqual([]);
      },
      { infeasibleToo: true },
    );
  });

  test('is the same to the byte when planned again from the same frozen job', () => {
    let again = 0;
    check(
      (plan, job) => {
        again += 1;
        if (again % 4 === 0)
          expect(JSON.stringify(planJob(job, catalog))).toBe(JSON.stringify(plan));
      },
      { infeasibleToo: true },
    );
  });

  test('adds up: model and constants, lines, operations, days', () => {
    check((plan, job) => {
      const { cost, proof, operations, schedule } = plan;
      expect(proof.objective + proof.constants).toBe(cost.perLot);
      const sum = (amounts: readonly number[]): number => amounts.reduce((a, b) => a + b, 0);
      const lines = (from: (line: Plan['cost']['lines'][number]) => boolean): number =>
        sum(cost.lines.filter(from).map((line) => line.amount));
      expect(lines(() => true)).toBe(cost.perLot);
      expect(lines((line) => line.from === 'model')).toBe(proof.objective);
      expect(lines((line) => line.from === 'constant')).toBe(proof.constants);
      const margin = lines((line) => line.operation === undefined);
      expect(sum(operations.map((operation) => operation.costPerLot)) + margin).toBe(cost.perLot);
      for (const { seq, costPerLot } of operations)
        expect(lines((line) => line.operation === seq)).toBe(costPerLot);
      expect(cost.perPart).toBe(Math.round(cost.perLot / job.order.quantity));
      // Days are printed to six decimals.
      const days = sum(operations.map((operation) => operation.leadDays));
      expect(Math.abs(days - schedule.days)).toBeLessThan(1e-6 * (operations.length + 1));
      expect(schedule.steps.map((step) => step.operation)).toEqual(
        operations.map((operation) => operation.seq),
      );
    });
  });

  test('costs no less for a larger lot', () => {
    let compared = 0;
    check((plan) => {
      const breaks = plan.cost.breaks.filter((entry) => entry.feasible);
      expect(breaks).toHaveLength(plan.cost.breaks.length);
      breaks.forEach((entry, index) => {
        const before = breaks[index - 1];
        if (before === undefined) return;
        compared += 1;
        expect(entry.quantity).toBeGreaterThan(before.quantity);
        expect(entry.perLot).toBeGreaterThanOrEqual(before.perLot);
      });
    });
    expect(compared).toBeGreaterThan(8);
  });

  test('keeps the order of the trade', () => {
    check((plan, job) => {
      expectOrder(plan, job);
      expectChainsInOrder(plan);
      expectDatumsFirst(plan, job);
    });
  });

  test('meets every requirement with the probability that the policy wants', () => {
    let stacks = 0;
    check((plan, job) => {
      const least = job.policy.minimumProbability - 1e-6;
      for (const stack of plan.stacks) {
        stacks += 1;
        expect(stack.inLimits, stack.requirement).toBeGreaterThanOrEqual(least);
      }
    });
    expect(stacks).toBeGreaterThan(50);
  });

  test('prints holes small and shafts large, and never negative stock', () => {
    let stocked = 0;
    check((plan) => {
      for (const face of plan.stock.faces) {
        expect(face.stockPerSideMm).toBeGreaterThanOrEqual(0);
        for (const part of face.build) expect(part.mm).toBeGreaterThanOrEqual(0);
        if (face.finishedMm === undefined || face.printedMm === null) continue;
        // A size that no step makes is printed with the printer's mean error undone, either way.
        const cut = plan.operations.some((operation) =>
          operation.workingDimensions.some(
            (entry) => entry.feature === face.feature && entry.unit === 'mm',
          ),
        );
        if (!cut) continue;
        expect(face.stockPerSideMm).toBeGreaterThan(0);
        stocked += 1;
        const kind = plan.features.find((feature) => feature.id === face.feature)?.kind ?? '';
        if (['bore', 'slot', 'channel'].includes(kind))
          expect(face.printedMm, face.feature).toBeLessThanOrEqual(face.finishedMm);
        else if (['shaft', 'plane'].includes(kind))
          expect(face.printedMm, face.feature).toBeGreaterThanOrEqual(face.finishedMm);
      }
      expect(plan.stock.heightOffPlateMm).toBeGreaterThan(0);
    });
    expect(stocked).toBeGreaterThan(12);
  });

  test('ends every size inside the drawing limits', () => {
    let sizes = 0;
    check((plan, job) => {
      for (const feature of plan.features) sizes += expectSizeInLimits(plan, job, feature);
    });
    expect(sizes).toBeGreaterThan(12);
  });
});

const isVisit = (operation: Plan['operations'][number]): boolean => operation.setup !== undefined;

function placementOf(process: string): string {
  const needs = catalog.processNeeds.find((row) => row.process === process);
  return needs?.level === 'part' ? needs.placement : 'none';
}

/** Order of the operations by what they are. */
function expectOrder(plan: Plan, job: Job): void {
  const { operations } = plan;
  operations.forEach((operation, index) => {
    expect(operation.seq).toBe(10 * (index + 1));
  });
  const seqs = (choose: (operation: Plan['operations'][number]) => boolean): number[] =>
    operations.filter(choose).map((operation) => operation.seq);
  const before = (first: readonly number[], second: readonly number[], law: string): void => {
    if (first.length > 0 && second.length > 0)
      expect(Math.max(...first), law).toBeLessThan(Math.min(...second));
  };
  const thermal = (choose: (cycle: Plan['thermal']['cycles'][number]) => boolean): number[] =>
    plan.thermal.cycles.filter(choose).map((cycle) => cycle.operation);
  expect(thermal(() => true)).toEqual(seqs((operation) => operation.kind === 'thermal'));
  expect(seqs((operation) => operation.kind === 'powder-removal')).toEqual([10]);
  const cutOff = seqs((operation) => operation.kind === 'cut-off');
  expect(cutOff).toHaveLength(1);
  if (job.policy.cutOffBeforeRelief) expect(thermal((cycle) => cycle.onPlate)).toEqual([]);
  before(
    thermal((cycle) => cycle.onPlate),
    cutOff,
    'heat on the plate, then cut-off',
  );
  const offPlate = [
    ...thermal((cycle) => !cycle.onPlate),
    ...seqs((operation) =>
      ['support-removal', 'machining', 'finishing', 'coating', 'inspection'].includes(
        operation.kind,
      ),
    ),
  ];
  before(cutOff, offPlate, 'cut-off, then work off the plate');
  const softening = thermal((cycle) => cycle.treatment !== 'age');
  before(softening, seqs(isVisit), 'relief, HIP and solution, then machining');
  const age = thermal((cycle) => cycle.treatment === 'age' && !cycle.onPlate);
  const soft = (operation: Plan['operations'][number]): boolean =>
    operation.parameters.some((entry) => entry.value === 'before the age');
  before(
    seqs((operation) => isVisit(operation) && soft(operation)),
    age,
    'soft machining, then the age',
  );
  before(
    age,
    seqs((operation) => isVisit(operation) && !soft(operation)),
    'the age, then hard machining',
  );
  before(
    seqs((operation) => placementOf(operation.process) === 'before-machining'),
    seqs(isVisit),
    'finishes that stand before machining, then machining',
  );
  before(
    seqs(isVisit),
    seqs((operation) => ['after-machining', 'last'].includes(placementOf(operation.process))),
    'machining, then finishes that stand after it',
  );
  const wet = seqs(
    (operation) =>
      operation.process !== 'passivation' &&
      catalog.processes.some(
        (row) =>
          row.id === operation.process &&
          ['chemical', 'electrochemical', 'coating'].includes(row.family),
      ),
  );
  before(
    wet,
    seqs((operation) => operation.process === 'passivation'),
    'passivation last of the wet work',
  );
  expect(operations.at(-1)?.process).toBe('final-inspection');
  expect(seqs((operation) => operation.kind === 'inspection')).toHaveLength(1);
  for (const operation of operations)
    for (const step of operation.steps.filter((entry) => entry.process === 'masking')) {
      const needs = catalog.processNeeds.find((row) => row.process === operation.process);
      expect(needs?.maskable, `masking of ${step.feature} in ${operation.title}`).toBe(true);
      expect(operation.features).toContain(step.feature);
    }
}

/** Every step of a chain stands in its operation, and the operations ascend. */
function expectChainsInOrder(plan: Plan): void {
  for (const { id, chain } of plan.features) {
    chain.forEach((step, index) => {
      const operation = plan.operations.find((entry) => entry.seq === step.operation);
      expect(operation?.features, `${id} ${step.process}`).toContain(id);
      expect(
        operation?.steps.some((entry) => entry.feature === id && entry.process === step.process),
        `${id} ${step.process}`,
      ).toBe(true);
      expect(step.operation).toBeGreaterThanOrEqual(chain[index - 1]?.operation ?? 0);
    });
  }
}

/** Operation in which a feature gets its place; undefined when it stays where it was printed. */
function locatingOperation(feature: PlannedFeature | undefined): number | undefined {
  return feature?.chain.findLast(
    (step) =>
      catalog.processNeeds.find((row) => row.process === step.process)?.correctsLocation === true,
  )?.operation;
}

function expectDatumsFirst(plan: Plan, job: Job): void {
  for (const feature of job.features)
    for (const tolerance of feature.geometric) {
      for (const { letter } of tolerance.datums) {
        const here = locatingOperation(plan.features.find((entry) => entry.id === feature.id));
        const datum = locatingOperation(plan.features.find((entry) => entry.datum === letter));
        if (here !== undefined && datum !== undefined)
          expect(datum, `${feature.id} from ${letter}`).toBeLessThanOrEqual(here);
      }
    }
}

/**
 * The last size that a chain measures, less what later steps and finishes take and after the growth
 * of a later age, lies inside the drawing limits. Returns how many sizes were looked at.
 */
function expectSizeInLimits(plan: Plan, job: Job, feature: PlannedFeature): number {
  const drawn = job.features.find((entry) => entry.id === feature.id);
  const size = drawn?.size;
  if (drawn === undefined || size === undefined || drawn.thread !== undefined) return 0;
  if (['untoleranced', 'theoretical', 'reference'].includes(size.origin)) return 0;
  const dimensions = plan.operations.flatMap((operation) =>
    operation.workingDimensions
      .filter((entry) => entry.feature === feature.id && entry.unit === 'mm')
      .map((entry) => ({ ...entry, seq: operation.seq })),
  );
  const last = dimensions.at(-1);
  if (last === undefined) return 0;
  expect(last.lower).toBeLessThan(last.target);
  expect(last.target).toBeLessThan(last.upper);
  const place = feature.chain.findIndex(
    (step) => step.operation === last.seq && step.process === last.step,
  );
  const shiftMm = (process: string): number => {
    const row = catalog.processes.find((entry) => entry.id === process);
    const sign = row?.effect === 'growth' ? -1 : row?.effect === 'none' ? 0 : 1;
    return (sign * (row?.effectTypicalUm ?? 0)) / 1000;
  };
  const laterSteps = feature.chain.slice(place + 1).map((step) => shiftMm(step.process));
  const finishes = plan.operations.filter(
    (operation) =>
      !isVisit(operation) &&
      operation.seq > last.seq &&
      ['finishing', 'coating'].includes(operation.kind) &&
      !operation.steps.some((step) => step.process === 'masking' && step.feature === feature.id),
  );
  const removal = [...laterSteps, ...finishes.map((entry) => shiftMm(entry.process))].reduce(
    (a, b) => a + b,
    0,
  );
  const internal = ['bore', 'slot', 'channel'].includes(feature.kind);
  const sides = ['bore', 'shaft', 'slot', 'channel'].includes(feature.kind) ? 2 : 1;
  const growth = plan.thermal.cycles
    .filter((cycle) => cycle.operation > last.seq)
    .reduce((sum, cycle) => sum + growthPerMm(job, cycle), 0);
  const finished = (mm: number): number =>
    mm * (1 + growth) + (internal ? 1 : -1) * sides * removal;
  expect(last.stockLeftPerSideMm).toBeCloseTo(
    laterSteps.reduce((a, b) => a + b, 0),
    6,
  );
  // The limits themselves grow with the size: up to a thousandth of their width.
  const slack = 2e-6 + 0.001 * (size.upperMm - size.lowerMm);
  expect(finished(last.lower), `${feature.id} lower`).toBeGreaterThanOrEqual(size.lowerMm - slack);
  expect(finished(last.upper), `${feature.id} upper`).toBeLessThanOrEqual(size.upperMm + slack);
  const middle = (finished(last.lower) + finished(last.upper)) / 2;
  expect(Math.abs(middle - (size.lowerMm + size.upperMm) / 2), feature.id).toBeLessThan(2e-6);
  return 1;
}

function growthPerMm(job: Job, cycle: Plan['thermal']['cycles'][number]): number {
  const rows = catalog.dimensionChanges.filter(
    (row) =>
      row.treatment === cycle.treatment &&
      (row.material === job.part.material || row.material === 'any') &&
      (row.condition === 'any' || cycle.conditionAfter.startsWith(row.condition)),
  );
  const own = rows.filter((row) => row.material !== 'any');
  const near = own.length > 0 ? own : rows;
  return (near.find((row) => row.condition !== 'any') ?? near[0])?.changePerMm ?? 0;
}

describe('what the drawing and the policy do to the money', () => {
  test('tightening a size, a roughness or a zone never makes the lot cheaper or possible', () => {
    let changed = 0;
    fc.assert(
      fc.property(
        arbitraryRecipe({ maxFeatures: 7 }),
        fc.array(
          fc.record({
            which: fc.nat(1000),
            share: fc.double({ min: 0.2, max: 0.95, noNaN: true }),
          }),
          {
            minLength: 2,
            maxLength: 3,
          },
        ),
        (recipe, steps) => {
          let job = jobOf(recipe);
          let cost = costOf(job);
          for (const { which, share } of steps) {
            const tighter = tightenings(job, share);
            const chosen = tighter[which % Math.max(1, tighter.length)];
            if (chosen === undefined) return;
            const next = costOf(chosen.job);
            expect(next, chosen.what).toBeGreaterThanOrEqual(cost);
            if (next > cost) changed += 1;
            ({ job } = chosen);
            cost = next;
          }
        },
      ),
      { seed, numRuns: 20 },
    );
    expect(changed).toBeGreaterThan(10);
  });

  test('allowing a process never makes the lot dearer or impossible', () => {
    let changed = 0;
    fc.assert(
      fc.property(
        arbitraryRecipe({ maxFeatures: 7 }),
        fc.uniqueArray(fc.constantFrom(...featureProcesses), { minLength: 1, maxLength: 4 }),
        (recipe, more) => {
          const open = planJob(withoutBreaks(jobOf(recipe)), catalog);
          const used = open.features.flatMap(({ chain }) => chain.map((step) => step.process));
          const forbidden = [
            ...new Set([...(recipe.policy.forbidden ?? []), ...used.slice(0, 4), ...more]),
          ];
          let job = jobOf({ ...recipe, policy: { ...recipe.policy, forbidden } });
          let cost = costOf(job);
          while (job.policy.forbidden.length > 0) {
            job = { ...job, policy: { ...job.policy, forbidden: job.policy.forbidden.slice(2) } };
            const next = costOf(job);
            expect(next, `without ${job.policy.forbidden.join(', ')}`).toBeLessThanOrEqual(cost);
            if (next < cost) changed += 1;
            cost = next;
          }
        },
      ),
      { seed, numRuns: 14 },
    );
    expect(changed).toBeGreaterThan(8);
  });

  test('allowing outside work never makes the lot dearer or impossible', () => {
    let changed = 0;
    fc.assert(
      fc.property(arbitraryRecipe({ maxFeatures: 7 }), (recipe) => {
        const cost = (outsideWork: boolean): number =>
          costOf(jobOf({ ...recipe, policy: { ...recipe.policy, outsideWork } }));
        const inside = cost(false);
        const open = cost(true);
        expect(open).toBeLessThanOrEqual(inside);
        if (open < inside) changed += 1;
      }),
      { seed, numRuns: 10 },
    );
    expect(changed).toBeGreaterThan(2);
  });
});

/** Every requirement of a job narrowed to a share of itself about the same middle, one at a time. */
function tightenings(job: Job, share: number): readonly { what: string; job: Job }[] {
  const found: { what: string; job: Job }[] = [];
  const put = (feature: Feature, what: string, change: Partial<Feature>): void => {
    found.push({
      what: `${feature.id} ${what} x ${share}`,
      job: {
        ...job,
        features: job.features.map((entry) =>
          entry.id === feature.id ? { ...feature, ...change } : entry,
        ),
      },
    });
  };
  for (const feature of job.features) {
    const { size, raMaxUm, rzMaxUm } = feature;
    if (size !== undefined && !['untoleranced', 'theoretical', 'reference'].includes(size.origin)) {
      const middle = (size.lowerMm + size.upperMm) / 2;
      const half = (share * (size.upperMm - size.lowerMm)) / 2;
      put(feature, size.text, {
        size: { ...size, lowerMm: middle - half, upperMm: middle + half },
      });
    }
    if (raMaxUm !== undefined) put(feature, `Ra ${raMaxUm}`, { raMaxUm: raMaxUm * share });
    else if (feature.kind !== 'thread' && feature.kind !== 'channel')
      put(feature, 'Ra, none before', { raMaxUm: 10 * share });
    if (rzMaxUm !== undefined) put(feature, `Rz ${rzMaxUm}`, { rzMaxUm: rzMaxUm * share });
    feature.geometric.forEach((tolerance, index) => {
      put(feature, tolerance.text, {
        geometric: feature.geometric.map((entry, place) =>
          place === index ? { ...entry, valueMm: entry.valueMm * share } : entry,
        ),
      });
    });
  }
  return found;
}

describe('what must not matter', () => {
  test('the order of features, in JSON and in a table', () => {
    fc.assert(
      fc.property(
        arbitraryRecipe({ maxFeatures: 8 }).chain((recipe) =>
          fc.record({
            recipe: fc.constant(recipe),
            shuffled: fc.shuffledSubarray([...recipe.features], {
              minLength: recipe.features.length,
            }),
          }),
        ),
        ({ recipe, shuffled }) => {
          const bytes = JSON.stringify(planJob(jobOf(recipe), catalog));
          const other = { ...recipe, features: shuffled };
          expect(JSON.stringify(planJob(jobOf(other), catalog))).toBe(bytes);
          expect(JSON.stringify(planJob(tableJob(jobInput(other)), catalog))).toBe(bytes);
        },
      ),
      { seed, numRuns: 8 },
    );
  });

  test('mm or inch: equal numbers to 1e-6, equal money', () => {
    fc.assert(
      fc.property(arbitraryRecipe(), (recipe) => {
        const inch = planJob(jobOf(recipe, 'in'), catalog);
        const { plan } = planned(recipe);
        expect(inch.cost.perLot).toBe(plan.cost.perLot);
        expect(inch.cost.breaks).toEqual(plan.cost.breaks);
        expect(inch.cost.lines.map((line) => line.amount)).toEqual(
          plan.cost.lines.map((line) => line.amount),
        );
        expectClose(inch, plan, 'plan');
      }),
      { seed, numRuns: 16 },
    );
  });
});

/** The same job with its features as the cells of a semicolon table. */
function tableJob(input: JobInput): Job {
  const { features } = input;
  if (typeof features === 'string') throw new Error('the features stand in a table already');
  const columns = [
    'id',
    'kind',
    'count',
    'size',
    'ra',
    'rz',
    'length',
    'width',
    'depth',
    'facing',
    'angle',
    'supported',
    'onAxis',
    'access',
    'datum',
    'tolerances',
    'location',
    'finishes',
  ] as const;
  const heads: Readonly<Record<string, string>> = { ra: 'Ra', rz: 'Rz', onAxis: 'on axis' };
  const rows = features.map((feature) =>
    columns.map((column) => {
      const value = feature[column];
      if (value === undefined) return '';
      if (typeof value === 'boolean') return value ? 'yes' : 'no';
      if (typeof value !== 'object') return String(value);
      if (column === 'finishes' && value.length === 0) return 'none';
      return value.join(column === 'tolerances' ? ' | ' : ' ');
    }),
  );
  const text = [columns.map((column) => heads[column] ?? column), ...rows]
    .map((cells) => cells.join(';'))
    .join('\r\n');
  const { job, problems } = readJob(
    {
      json: JSON.stringify({ ...input, features: 'features.csv' }),
      featureTable: featureTable(text, 'features.csv'),
    },
    vocabulary,
  );
  expect(problems).toEqual([]);
  if (job === undefined) throw new Error('no job although there are no problems');
  return job;
}

/** Texts quote the drawing, which is written in other units. */
const quoting = new Set(['text', 'requirement', 'what', 'message', 'formula', 'value', 'change']);

function expectClose(a: unknown, b: unknown, path: string): void {
  if (typeof a === 'number' && typeof b === 'number') {
    if (!(Math.abs(a - b) <= 1e-6 * Math.max(1, Math.abs(b)))) expect(a, path).toBe(b);
    return;
  }
  if (typeof a !== 'object' || a === null || typeof b !== 'object' || b === null) {
    if (!Object.is(a, b)) expect(a, path).toEqual(b);
    return;
  }
  const keys = Object.keys(a);
  expect(keys, path).toEqual(Object.keys(b));
  for (const key of keys) {
    const [one, two] = [(a as Branch)[key], (b as Branch)[key]];
    if (quoting.has(key) && typeof one === 'string' && typeof two === 'string') continue;
    expectClose(one, two, `${path}.${key}`);
  }
}

type Branch = Readonly<Record<string, unknown>>;
