import { readFileSync } from 'node:fs';
import { checkRouteModel, type RouteModel, routeCost, solveRouteModel } from '@offplate/core';
import highsModule from 'highs';
import { beforeAll, describe, expect, it } from 'vitest';
import {
  makeRouteModel,
  modelAsLp,
  type RouteModelRecipe,
  randomStream,
  shuffleModel,
  twinModel,
} from '../bench/route-models.mjs';

// The package's types describe the CommonJS module; Node hands out its default.
const loadHighs = highsModule as unknown as typeof highsModule.default;
type Highs = Awaited<ReturnType<typeof loadHighs>>;

interface KeptInstance extends RouteModelRecipe {
  readonly why: string;
  readonly optimum: number;
  readonly twins?: boolean;
}

const keptInstances = JSON.parse(
  readFileSync(new URL('../bench/hard/recipes.json', import.meta.url), 'utf8'),
) as readonly KeptInstance[];

/** Small recipes of every class, with plain and real costs, with and without pairs. */
function recipe(seed: number, most: number): RouteModelRecipe {
  const random = randomStream(seed * 2654435761);
  const pick = <T>(values: readonly T[]): T => values[Math.floor(random() * values.length)] as T;
  const below = (count: number): number => Math.floor(random() * count);
  return {
    kind: pick(['shop', 'hard', 'drawing'] as const),
    features: 1 + below(most),
    chains: 1 + below(5),
    setups: 2 + below(10),
    plans: 1 + below(5),
    seed,
    conflict: pick([0, 0.2, 0.5]),
    forbidden: pick([0, 0.5, 1.5]),
    relations: pick([0, 0.3, 0.8]),
    paying: pick([0, 0.5]),
    floats: random() < 0.5,
  };
}

interface Found {
  readonly cost: number;
  readonly partPlan?: string;
  readonly chains: readonly string[];
}

const byId = (a: { readonly id: string }, b: { readonly id: string }): number =>
  a.id < b.id ? -1 : 1;

/** Every choice in turn, part plans and chains by id: the first of the cheapest. */
function bruteForce(model: RouteModel): Found {
  const features = [...model.features].sort(byId);
  const setupCost = new Map(model.setups.map(({ id, cost }) => [id, cost]));
  const pairCost = new Map<string, number>();
  for (const { a, b, cost } of model.pairs) {
    for (const key of [`${a} ${b}`, `${b} ${a}`]) {
      pairCost.set(key, (pairCost.get(key) ?? 0) + (cost ?? Infinity));
    }
  }
  let best: Found = { cost: Infinity, chains: [] };
  for (const plan of [...model.partPlans].sort(byId)) {
    const options = features.map((feature) =>
      feature.chains.filter((chain) => chain.partPlans.includes(plan.id)).sort(byId),
    );
    const walk = (chosen: readonly string[], open: ReadonlySet<string>, cost: number): void => {
      if (chosen.length === features.length) {
        if (cost < best.cost) best = { cost, partPlan: plan.id, chains: chosen };
        return;
      }
      for (const chain of options[chosen.length] ?? []) {
        let sum = cost + chain.cost;
        for (const id of chain.setups) if (!open.has(id)) sum += setupCost.get(id) ?? 0;
        for (const id of chosen) sum += pairCost.get(`${id} ${chain.id}`) ?? 0;
        walk([...chosen, chain.id], new Set([...open, ...chain.setups]), sum);
      }
    };
    walk([], new Set(), plan.cost);
  }
  return best;
}

/** Makes chosen models infeasible or full of ties in a reproducible way. */
function bend(model: RouteModel, seed: number): RouteModel {
  const random = randomStream(seed);
  if (seed % 5 === 0) {
    // Chains lose part plans until often none is left.
    return {
      ...model,
      features: model.features.map((feature) => ({
        ...feature,
        chains: feature.chains.map((chain) => ({
          ...chain,
          partPlans: chain.partPlans.filter(() => random() < 0.4),
        })),
      })),
    };
  }
  if (seed % 5 === 1) {
    // Few cost levels: many choices of equal cost.
    const coarse = (cost: number): number => Math.round(cost / 8000);
    return {
      ...model,
      partPlans: model.partPlans.map((plan) => ({ ...plan, cost: coarse(plan.cost) })),
      setups: model.setups.map((setup) => ({ ...setup, cost: coarse(setup.cost) })),
      features: model.features.map((feature) => ({
        ...feature,
        chains: feature.chains.map((chain) => ({ ...chain, cost: coarse(chain.cost) })),
      })),
      pairs: model.pairs.map((pair) => ({
        ...pair,
        cost: pair.cost === null ? null : coarse(pair.cost * 4),
      })),
    };
  }
  return model;
}

function expectValid(model: RouteModel, solution: ReturnType<typeof solveRouteModel>): void {
  const cost = routeCost(model, solution.partPlan ?? '', solution.chains);
  expect(solution.objective).toBe(cost);
}

const close = (a: number, b: number): boolean => Math.abs(a - b) <= 1e-9 * Math.max(1, Math.abs(b));

describe('solveRouteModel against other solvers', () => {
  let highs: Highs;
  beforeAll(async () => {
    highs = await loadHighs();
  });

  it('equals HiGHS on 300 random models', () => {
    let infeasible = 0;
    for (let seed = 1; seed <= 300; seed += 1) {
      const model = bend(makeRouteModel(recipe(seed, 12)), seed);
      const solution = solveRouteModel(model);
      const other = highs.solve(modelAsLp(model), {
        output_flag: false,
        mip_rel_gap: 0,
        mip_abs_gap: 0,
        mip_feasibility_tolerance: 1e-9,
        primal_feasibility_tolerance: 1e-9,
      });
      if (other.Status === 'Infeasible') {
        infeasible += 1;
        expect(solution.status, `seed ${seed}`).toBe('infeasible');
        continue;
      }
      expect(other.Status, `seed ${seed}`).toBe('Optimal');
      expect(solution.status, `seed ${seed}`).toBe('optimal');
      expectValid(model, solution);
      if (!close(solution.objective, other.ObjectiveValue)) {
        expect.fail(`seed ${seed}: ${solution.objective}, HiGHS ${other.ObjectiveValue}`);
      }
    }
    expect(infeasible).toBeGreaterThan(5);
    expect(infeasible).toBeLessThan(100);
  });

  it('equals trying every choice on 200 small models, ties included', () => {
    let infeasible = 0;
    for (let seed = 1001; seed <= 1200; seed += 1) {
      const model = bend(makeRouteModel(recipe(seed, 5)), seed);
      const solution = solveRouteModel(model);
      const best = bruteForce(model);
      if (best.partPlan === undefined) {
        infeasible += 1;
        expect(solution.status).toBe('infeasible');
        continue;
      }
      expect(solution.status).toBe('optimal');
      expectValid(model, solution);
      expect(close(solution.objective, best.cost), `seed ${seed}`).toBe(true);
      expect(solution.partPlan, `seed ${seed}`).toBe(best.partPlan);
      const ids = Object.keys(solution.chains).sort();
      expect(
        ids.map((id) => solution.chains[id]),
        `seed ${seed}`,
      ).toEqual(best.chains);
    }
    expect(infeasible).toBeGreaterThan(5);
  });
});

describe('solveRouteModel as a function of the model', () => {
  it('does not depend on the order of rows', () => {
    for (let seed = 2001; seed <= 2040; seed += 1) {
      const model = bend(makeRouteModel(recipe(seed, 10)), seed);
      const one = solveRouteModel(model);
      const other = solveRouteModel(shuffleModel(model, seed));
      expect(other).toEqual(one);
      expect(Object.keys(other.chains)).toEqual(Object.keys(one.chains));
    }
  });

  it('gives the same choice from any start', () => {
    for (let seed = 3001; seed <= 3040; seed += 1) {
      const model = bend(makeRouteModel(recipe(seed, 10)), seed);
      const cold = solveRouteModel(model);
      if (cold.partPlan === undefined) continue;
      const start = { partPlan: cold.partPlan, chains: cold.chains };
      const warm = solveRouteModel(model, { start });
      expect(warm.chains).toEqual(cold.chains);
      expect(warm.partPlan).toBe(cold.partPlan);
      expect(warm.objective).toBe(cold.objective);
      // A start that does not fit the model is ignored.
      const odd = solveRouteModel(model, { start: { partPlan: 'none', chains: {} } });
      expect(odd.chains).toEqual(cold.chains);
    }
  });

  it('returns a bound that holds when it stops early', () => {
    let open = 0;
    for (let seed = 4001; seed <= 4030; seed += 1) {
      const model = makeRouteModel({ ...recipe(seed, 12), features: 12, chains: 5 });
      const optimum = solveRouteModel(model).objective;
      for (const nodeLimit of [0, 1, 3, 10]) {
        const early = solveRouteModel(model, { nodeLimit });
        expect(early.lowerBound).toBeLessThanOrEqual(optimum * (1 + 1e-12));
        expect(early.objective).toBeGreaterThanOrEqual(optimum);
        if (early.status === 'optimal') expect(early.objective).toBe(optimum);
        if (early.status !== 'feasible') continue;
        open += 1;
        expectValid(model, early);
        expect(early.gap).toBeCloseTo((early.objective - early.lowerBound) / early.objective, 12);
      }
    }
    expect(open).toBeGreaterThan(10);
  });

  it('finds the first by ids among a power of two of equal optima', () => {
    const recipe = { features: 30, chains: 5, setups: 14, plans: 3, conflict: 0.1 } as const;
    for (const kind of ['shop', 'hard'] as const) {
      const plain = makeRouteModel({ ...recipe, kind, forbidden: 0, relations: 0, seed: 2 });
      const twins = twinModel(plain);
      const solution = solveRouteModel(twins);
      expect(solution.objective).toBe(solveRouteModel(plain).objective);
      expect(solution.nodes).toBeLessThan(2000);
      expect(solveRouteModel(shuffleModel(twins, 7)).chains).toEqual(solution.chains);
      // Swapping the twins of the answer leads to a choice as good, from which it comes back.
      const chains = Object.fromEntries(
        twins.features.map((feature) => {
          const chosen = feature.chains.find(({ id }) => id === solution.chains[feature.id]);
          const swapped = chosen?.setups.map((id) =>
            id.endsWith('-twin') ? id.slice(0, -5) : `${id}-twin`,
          );
          const twin = feature.chains.find(
            ({ id, setups }) =>
              id.slice(0, 9) === chosen?.id.slice(0, 9) && setups.join() === swapped?.join(),
          );
          return [feature.id, twin?.id ?? ''];
        }),
      );
      const start = { partPlan: solution.partPlan ?? '', chains };
      expect(routeCost(twins, start.partPlan, chains)).toBe(solution.objective);
      expect(solveRouteModel(twins, { start }).chains).toEqual(solution.chains);
    }
  });

  it('keeps the optima of the instances in test/bench/hard', () => {
    for (const { why, optimum, twins, ...rest } of keptInstances) {
      if (rest.features > 60) continue;
      const model = makeRouteModel(rest);
      const solution = solveRouteModel(twins ? twinModel(model) : model);
      expect(solution, why).toMatchObject({ status: 'optimal', objective: optimum });
    }
  });

  it('stops when asked', () => {
    const model = makeRouteModel({ kind: 'hard', features: 30, chains: 8, setups: 25, seed: 1 });
    let polls = 0;
    const stopped = solveRouteModel(model, {
      shouldStop: () => {
        polls += 1;
        return polls > 5;
      },
    });
    expect(stopped.status).not.toBe('optimal');
    expect(polls).toBe(6);
  });
});

describe('cancellation by signal', () => {
  const model = makeRouteModel({ kind: 'hard', features: 30, chains: 8, setups: 25, seed: 3 });

  it('stops with the best found and its gap, never with a guess called optimal', () => {
    const full = solveRouteModel(model);
    expect(full.status).toBe('optimal');
    let polls = 0;
    const signal = {
      get aborted(): boolean {
        polls += 1;
        return polls > 4;
      },
    };
    const early = solveRouteModel(model, { signal });
    expect(early.status).toBe('feasible');
    expect(early.nodes).toBeLessThan(full.nodes);
    expect(early.gap).toBeGreaterThan(0);
    expect(early.objective).toBeGreaterThanOrEqual(full.objective);
    expect(early.lowerBound).toBeLessThanOrEqual(full.objective);
  });

  it('takes an AbortSignal; one that is aborted before stops at once', () => {
    expect(solveRouteModel(model, { signal: new AbortController().signal }).status).toBe('optimal');
    const stopped = solveRouteModel(model, { signal: AbortSignal.abort() });
    expect(stopped.nodes).toBe(0);
    expect(['feasible', 'unknown']).toContain(stopped.status);
  });
});

describe('edge cases', () => {
  const empty: RouteModel = {
    schema: 'route-model/1',
    partPlans: [],
    setups: [],
    features: [],
    pairs: [],
  };

  it('needs a part plan', () => {
    expect(solveRouteModel(empty).status).toBe('infeasible');
  });

  it('chooses the cheapest part plan of a part without features, the first id of equals', () => {
    const partPlans = [
      { id: 'c', cost: 4 },
      { id: 'b', cost: 4 },
      { id: 'a', cost: 5 },
    ];
    const solution = solveRouteModel({ ...empty, partPlans });
    expect(solution).toMatchObject({ status: 'optimal', partPlan: 'b', objective: 4, gap: 0 });
  });

  it('reports every problem of a wrong model', () => {
    const wrong: RouteModel = {
      schema: 'route-model/1',
      partPlans: [
        { id: 'P', cost: Number.NaN },
        { id: 'P', cost: 1 },
      ],
      setups: [{ id: 'S', cost: -1 }],
      features: [
        { id: 'F', chains: [{ id: 'C', cost: Infinity, setups: ['T'], partPlans: ['Q'] }] },
        { id: 'G', chains: [{ id: 'C', cost: -2, setups: ['S', 'S'], partPlans: ['P'] }] },
      ],
      pairs: [
        { a: 'C', b: 'D', cost: null },
        { a: 'C', b: 'C', cost: 1 },
      ],
    };
    const found = checkRouteModel(wrong).map(({ code, place }) => `${code} ${place.path}`);
    expect(found).toEqual([
      'duplicate-id partPlans[1].id',
      'out-of-range partPlans[0].cost',
      'out-of-range setups[0].cost',
      'out-of-range features[0].chains[0].cost',
      'unknown-id features[0].chains[0].setups[0]',
      'unknown-id features[0].chains[0].partPlans[0]',
      'duplicate-id features[1].chains[0].id',
      'unknown-id pairs[0].b',
      'inconsistent pairs[1].b',
    ]);
    expect(() => solveRouteModel(wrong)).toThrow('a set-up cost must not be negative');
  });

  it('prices a choice that the model does not allow at Infinity', () => {
    const model: RouteModel = {
      ...empty,
      partPlans: [
        { id: 'P', cost: 1 },
        { id: 'Q', cost: 1 },
      ],
      features: ['F', 'G'].map((id) => ({
        id,
        chains: [
          { id: `${id}1`, cost: 1, setups: [], partPlans: ['P'] },
          { id: `${id}2`, cost: 2, setups: [], partPlans: ['P'] },
        ],
      })),
      pairs: [
        { a: 'F1', b: 'G1', cost: null },
        { a: 'F2', b: 'G1', cost: 0.5 },
      ],
    };
    expect(routeCost(model, 'P', { F: 'F1', G: 'G1' })).toBe(Infinity);
    expect(routeCost(model, 'Q', { F: 'F1', G: 'G2' })).toBe(Infinity);
    expect(routeCost(model, 'P', { F: 'F1' })).toBe(Infinity);
    expect(routeCost(model, 'P', { F: 'G1', G: 'G2' })).toBe(Infinity);
    expect(routeCost(model, 'P', { F: 'F2', G: 'G1' })).toBe(4.5);
    expect(solveRouteModel(model)).toMatchObject({ objective: 4, chains: { F: 'F1', G: 'G2' } });
  });
});
