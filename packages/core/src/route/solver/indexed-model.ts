import { InputError } from '../../problems/problem.js';
import type { RouteModel } from '../model.js';
import { inspectModel } from './check.js';
import { indexRelations, type Relation } from './relations.js';

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
  /** A link is a (feature, set-up) couple that some chain uses; links of chain c: useStart as above. */
  readonly useStart: Int32Array;
  readonly useLink: Int32Array;
  readonly linkFeature: Int32Array;
  readonly linkSetup: Int32Array;
  /** Links are numbered by feature: those of feature f start at linkStart[f]. */
  readonly linkStart: Int32Array;
  /** Links of set-up s: setupLinks[setupLinkStart[s]] up to setupLinkStart[s + 1]. */
  readonly setupLinkStart: Int32Array;
  readonly setupLinks: Int32Array;
  readonly relations: readonly Relation[];
  /** Relations of each feature, as numbers into `relations`. */
  readonly featureRelations: readonly (readonly number[])[];
}

/** A part plan and the chain of every feature, as numbers of the indexed model. */
export interface Choice {
  readonly plan: number;
  readonly chains: Int32Array;
}

/** Throws InputError when `checkRouteModel` finds a problem. */
export function indexModel(model: RouteModel): IndexedModel {
  const { problems, pairEnds } = inspectModel(model);
  if (problems.length > 0) throw new InputError(problems);

  const plans = [...model.partPlans].sort(byId);
  const setups = [...model.setups].sort(byId);
  const features = [...model.features].sort(byId);
  const planNumber = numberById(plans);
  const setupNumber = numberById(setups);
  const chains = features.flatMap((feature, number) =>
    [...feature.chains].sort(byId).map((chain) => ({ ...chain, feature: number })),
  );
  const featureStart = new Int32Array(features.length + 1);
  features.forEach((feature, f) => {
    featureStart[f + 1] = at(featureStart, f) + feature.chains.length;
  });
  const works = new Uint8Array(plans.length * chains.length);
  chains.forEach((chain, number) => {
    for (const id of chain.partPlans) works[(planNumber.get(id) ?? 0) * chains.length + number] = 1;
  });
  const chainSetups = chains.map((chain) =>
    Int32Array.from(new Set(chain.setups), (id) => setupNumber.get(id) ?? 0).sort(),
  );
  const chainFeature = Int32Array.from(chains, (chain) => chain.feature);
  const relations = indexRelations(
    model.pairs,
    renumber(model, chains, pairEnds),
    chainFeature,
    featureStart,
  );
  const featureRelations: number[][] = features.map(() => []);
  relations.forEach((relation, number) => {
    featureRelations[relation.one]?.push(number);
    featureRelations[relation.other]?.push(number);
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
    chainFeature,
    chainSetups,
    works,
    ...indexLinks(chainSetups, chainFeature, features.length, setups.length),
    relations,
    featureRelations,
  };
}

/** The same model with the costs of another that has the same ids, relations and pair costs. */
export function withCosts(indexed: IndexedModel, model: RouteModel): IndexedModel {
  const chains = model.features.flatMap((feature) => feature.chains);
  return {
    ...indexed,
    planCost: costsById(indexed.planIds, model.partPlans),
    setupCost: costsById(indexed.setupIds, model.setups),
    chainCost: costsById(indexed.chainIds, chains),
  };
}

function costsById(
  ids: readonly string[],
  rows: readonly { readonly id: string; readonly cost: number }[],
): Float64Array {
  const costs = new Map(rows.map(({ id, cost }) => [id, cost]));
  return Float64Array.from(ids, (id) => costs.get(id) ?? Number.POSITIVE_INFINITY);
}

/** Chains counted in the order of the model, as numbers in the order of ids. */
function renumber(
  model: RouteModel,
  chains: readonly { readonly id: string }[],
  counted: Int32Array,
): Int32Array {
  const numberOf = numberById(chains);
  const numbers = model.features.flatMap((feature) =>
    feature.chains.map(({ id }) => numberOf.get(id) ?? 0),
  );
  return counted.map((chain) => numbers[chain] ?? 0);
}

type Links = Pick<
  IndexedModel,
  | 'useStart'
  | 'useLink'
  | 'linkFeature'
  | 'linkSetup'
  | 'linkStart'
  | 'setupLinkStart'
  | 'setupLinks'
>;

function indexLinks(
  chainSetups: readonly Int32Array[],
  chainFeature: Int32Array,
  features: number,
  setups: number,
): Links {
  const known = new Map<number, number>();
  const useStart = new Int32Array(chainSetups.length + 1);
  const useLink: number[] = [];
  const linkFeature: number[] = [];
  const linkSetup: number[] = [];
  chainSetups.forEach((used, chain) => {
    const feature = at(chainFeature, chain);
    for (const setup of used) {
      const key = feature * setups + setup;
      let link = known.get(key);
      if (link === undefined) {
        link = linkSetup.length;
        known.set(key, link);
        linkFeature.push(feature);
        linkSetup.push(setup);
      }
      useLink.push(link);
    }
    useStart[chain + 1] = useLink.length;
  });
  return {
    useStart,
    useLink: Int32Array.from(useLink),
    linkFeature: Int32Array.from(linkFeature),
    linkSetup: Int32Array.from(linkSetup),
    linkStart: startsOf(linkFeature, features),
    setupLinkStart: startsOf(linkSetup, setups),
    setupLinks: Int32Array.from(linkSetup.keys()).sort(
      (a, b) => (linkSetup[a] as number) - (linkSetup[b] as number) || a - b,
    ),
  };
}

/** Where each owner's entries start when entries are listed owner by owner. */
function startsOf(owners: readonly number[], count: number): Int32Array {
  const starts = new Int32Array(count + 1);
  for (const owner of owners) starts[owner + 1] = at(starts, owner + 1) + 1;
  for (let i = 0; i < count; i += 1) starts[i + 1] = at(starts, i + 1) + at(starts, i);
  return starts;
}

/** Chain numbers of a choice given by ids; undefined if the model does not allow it. */
export function readChoice(
  model: IndexedModel,
  partPlan: string,
  chains: Readonly<Record<string, string>>,
): Choice | undefined {
  const plan = model.planIds.indexOf(partPlan);
  if (plan < 0) return undefined;
  const chosen = new Int32Array(model.featureIds.length);
  for (const [f, featureId] of model.featureIds.entries()) {
    const id = Object.hasOwn(chains, featureId) ? chains[featureId] : undefined;
    let found = -1;
    for (let c = at(model.featureStart, f); c < at(model.featureStart, f + 1); c += 1) {
      if (model.chainIds[c] === id) found = c;
    }
    if (found < 0 || model.works[plan * model.chainIds.length + found] !== 1) return undefined;
    chosen[f] = found;
  }
  return { plan, chains: chosen };
}

/** Cost of a choice; the terms are added in a fixed order. Infinity for a forbidden pair. */
export function choiceCost(model: IndexedModel, choice: Choice): number {
  const { plan, chains } = choice;
  let cost = at(model.planCost, plan);
  const used = new Uint8Array(model.setupIds.length);
  for (const chain of chains) {
    cost += at(model.chainCost, chain);
    for (const setup of model.chainSetups[chain] ?? []) used[setup] = 1;
  }
  for (let s = 0; s < used.length; s += 1) if (used[s] === 1) cost += at(model.setupCost, s);
  for (const relation of model.relations) {
    cost += relationCost(relation, at(chains, relation.one), at(chains, relation.other));
  }
  return cost;
}

/** Cost of one relation for a chain of each of its two features. */
export function relationCost(relation: Relation, one: number, other: number): number {
  const row = at(relation.rowOf, one - relation.oneStart);
  const column = at(relation.columnOf, other - relation.otherStart);
  return at(relation.costs, row * relation.columns + column);
}

/** Entry of an array at a place that is known to exist. */
export function at(values: Int32Array | Float64Array | Uint8Array, index: number): number {
  return values[index] as number;
}

function byId(a: { readonly id: string }, b: { readonly id: string }): number {
  return a.id < b.id ? -1 : a.id > b.id ? 1 : 0;
}

function numberById(rows: readonly { readonly id: string }[]): ReadonlyMap<string, number> {
  return new Map(rows.map((row, number) => [row.id, number]));
}
