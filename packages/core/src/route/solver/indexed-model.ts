import { InputError } from '../../problems/problem.js';
import type { RouteModel } from '../model.js';
import { checkRouteModel } from './check.js';

/**
 * A route model as flat arrays. Everything is numbered in the order of its id (by UTF-16 code
 * unit), so that nothing computed from here depends on the order of rows in the model.
 */
export interface IndexedModel {
  readonly planIds: readonly string[];
  readonly planCost: Float64Array;
  readonly setupIds: readonly string[];
  readonly setupCost: Float64Array;
  readonly featureIds: readonly string[];
  /** Chains of feature f: from featureStart[f] to featureStart[f + 1], end not included. */
  readonly featureStart: Int32Array;
  readonly chainIds: readonly string[];
  readonly chainCost: Float64Array;
  readonly chainFeature: Int32Array;
  readonly chainSetups: readonly Int32Array[];
  /** 1 at [plan * number of chains + chain] if the chain works with the plan. */
  readonly works: Uint8Array;
  /** Pairs over two features with a cost other than 0; pairA < pairB; Infinity forbids. */
  readonly pairA: Int32Array;
  readonly pairB: Int32Array;
  readonly pairCost: Float64Array;
}

/** A part plan and the chain of every feature, as numbers of the indexed model. */
export interface Choice {
  readonly plan: number;
  readonly chains: Int32Array;
}

/** Throws InputError when `checkRouteModel` finds a problem. */
export function indexModel(model: RouteModel): IndexedModel {
  const problems = checkRouteModel(model);
  if (problems.length > 0) throw new InputError(problems);

  const plans = [...model.partPlans].sort(byId);
  const setups = [...model.setups].sort(byId);
  const features = [...model.features].sort(byId);
  const planNumber = numbers(plans);
  const setupNumber = numbers(setups);
  const chains = features.flatMap((feature, number) =>
    [...feature.chains].sort(byId).map((chain) => ({ ...chain, feature: number })),
  );
  const featureStart = new Int32Array(features.length + 1);
  for (const chain of chains)
    featureStart[chain.feature + 1] = at(featureStart, chain.feature + 1) + 1;
  for (let f = 0; f < features.length; f += 1) {
    featureStart[f + 1] = at(featureStart, f + 1) + at(featureStart, f);
  }
  const works = new Uint8Array(plans.length * chains.length);
  chains.forEach((chain, number) => {
    for (const id of chain.partPlans) works[(planNumber.get(id) ?? 0) * chains.length + number] = 1;
  });
  return {
    planIds: plans.map((plan) => plan.id),
    planCost: Float64Array.from(plans, (plan) => plan.cost),
    setupIds: setups.map((setup) => setup.id),
    setupCost: Float64Array.from(setups, (setup) => setup.cost),
    featureIds: features.map((feature) => feature.id),
    featureStart,
    chainIds: chains.map((chain) => chain.id),
    chainCost: Float64Array.from(chains, (chain) => chain.cost),
    chainFeature: Int32Array.from(chains, (chain) => chain.feature),
    chainSetups: chains.map((chain) =>
      Int32Array.from(new Set(chain.setups), (id) => setupNumber.get(id) ?? 0).sort(),
    ),
    works,
    ...indexPairs(model, numbers(chains), chains),
  };
}

function indexPairs(
  model: RouteModel,
  chainNumber: ReadonlyMap<string, number>,
  chains: readonly { readonly feature: number }[],
): Pick<IndexedModel, 'pairA' | 'pairB' | 'pairCost'> {
  const costs = new Map<number, number[]>();
  for (const pair of model.pairs) {
    const a = chainNumber.get(pair.a) ?? 0;
    const b = chainNumber.get(pair.b) ?? 0;
    // Two chains of one feature are never chosen together.
    if (chains[a]?.feature === chains[b]?.feature) continue;
    const key = Math.min(a, b) * chains.length + Math.max(a, b);
    const row = costs.get(key) ?? [];
    row.push(pair.cost ?? Number.POSITIVE_INFINITY);
    costs.set(key, row);
  }
  const keys: number[] = [];
  const sums: number[] = [];
  for (const key of [...costs.keys()].sort((a, b) => a - b)) {
    // Sorted before they are added: the sum must not depend on the order of rows.
    const sum = [...(costs.get(key) ?? [])].sort((a, b) => a - b).reduce((a, b) => a + b, 0);
    if (sum === 0) continue;
    keys.push(key);
    sums.push(sum);
  }
  return {
    pairA: Int32Array.from(keys, (key) => Math.floor(key / chains.length)),
    pairB: Int32Array.from(keys, (key) => key % chains.length),
    pairCost: Float64Array.from(sums),
  };
}

/** Chain numbers of a choice given by ids; undefined if the model does not allow it. */
export function readChoice(
  indexed: IndexedModel,
  partPlan: string,
  chains: Readonly<Record<string, string>>,
): Choice | undefined {
  const plan = indexed.planIds.indexOf(partPlan);
  if (plan < 0) return undefined;
  const chosen = new Int32Array(indexed.featureIds.length);
  for (const [f, featureId] of indexed.featureIds.entries()) {
    const id = Object.hasOwn(chains, featureId) ? chains[featureId] : undefined;
    let found = -1;
    for (let c = at(indexed.featureStart, f); c < at(indexed.featureStart, f + 1); c += 1) {
      if (indexed.chainIds[c] === id) found = c;
    }
    if (found < 0 || at(indexed.works, plan * indexed.chainIds.length + found) === 0)
      return undefined;
    chosen[f] = found;
  }
  return { plan, chains: chosen };
}

/** Cost of a choice; the terms are added in a fixed order. Infinity for a forbidden pair. */
export function choiceCost(indexed: IndexedModel, choice: Choice): number {
  let cost = at(indexed.planCost, choice.plan);
  const used = new Uint8Array(indexed.setupIds.length);
  for (const chain of choice.chains) {
    cost += at(indexed.chainCost, chain);
    for (const setup of indexed.chainSetups[chain] ?? []) used[setup] = 1;
  }
  for (let s = 0; s < used.length; s += 1) if (used[s] === 1) cost += at(indexed.setupCost, s);
  for (let i = 0; i < indexed.pairA.length; i += 1) {
    const a = at(indexed.pairA, i);
    const b = at(indexed.pairB, i);
    if (choice.chains[at(indexed.chainFeature, a)] !== a) continue;
    if (choice.chains[at(indexed.chainFeature, b)] === b) cost += at(indexed.pairCost, i);
  }
  return cost;
}

/** Entry of an array at a place that is known to exist. */
export function at(values: Int32Array | Float64Array | Uint8Array, index: number): number {
  return values[index] as number;
}

function byId(a: { readonly id: string }, b: { readonly id: string }): number {
  return a.id < b.id ? -1 : a.id > b.id ? 1 : 0;
}

function numbers(rows: readonly { readonly id: string }[]): ReadonlyMap<string, number> {
  return new Map(rows.map((row, number) => [row.id, number]));
}
