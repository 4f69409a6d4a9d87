import { objectiveOf, visitCost, type WorkCost } from '../cost/charges.js';
import { type PartGeometry, partGeometry } from '../job/part-geometry.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Feature } from '../job/types.js';
import { stayAsPrinted } from './as-printed.js';
import type { ChainContext, FeatureChains, FoundChain, ModelChain } from './chain.js';
import { isDatumOfAny, isSensitiveDatum } from './chain-dominance.js';
import { chainFinder } from './chain-finder.js';
import { finishSets, type PlannedFinish } from './finishes.js';
import { forbiddenPairs } from './forbidden-pairs.js';
import type { RouteModel } from './model.js';
import { type PartPlan, type PartPlanChoice, partPlans } from './part-plans.js';
import { chainObjective } from './price-chain.js';
import type { SetUp } from './set-ups.js';

/** The route model together with what its ids stand for. */
export interface RoutePlanning {
  readonly model: RouteModel;
  readonly part: PartGeometry;
  readonly choice: PartPlanChoice;
  readonly plans: ReadonlyMap<string, PartPlan>;
  readonly chains: ReadonlyMap<string, ModelChain>;
  readonly setUps: ReadonlyMap<string, PricedSetUp>;
  readonly features: ReadonlyMap<string, readonly FeatureChains[]>;
  /** The same by chain context, in the order of the job's features. */
  readonly byContext: ReadonlyMap<string, readonly FeatureChains[]>;
  /** Sets of part-wide finishes that were considered. */
  readonly sets: readonly (readonly PlannedFinish[])[];
  /** Part plans priced for other lot sizes. */
  readonly lots: ReadonlyMap<number, PartPlanChoice>;
}

export interface PricedSetUp {
  readonly setUp: SetUp;
  readonly cost: WorkCost;
}

/** Chains already found, for planning a job again with a few features or the lot size changed. */
export interface ChainLibrary {
  /** Lot size for which they were found. */
  readonly quantity: number;
  readonly finders: Map<string, (chainContext: ChainContext) => FeatureChains>;
}

export function chainLibrary(quantity: number): ChainLibrary {
  return { quantity, finders: new Map() };
}

/**
 * Builds the route model of a job: part plans, chains per feature, set-ups and forbidden pairs.
 *
 * @param library chains found for the same catalogue and policy; new ones are added
 * @param alsoAt other lot sizes for which the planning is to serve, see {@link planningAtQuantity}
 */
export function routePlanning(
  context: PlanningContext,
  library: ChainLibrary = chainLibrary(context.quantity),
  alsoAt: readonly PlanningContext[] = [],
): RoutePlanning {
  const part = partGeometry(context);
  const sets = finishSets(context, stayAsPrinted(context));
  const offered = partPlans(part, context, sets);
  const finders = context.job.features.map((feature) => finderFor(feature, context, library));
  const byKey = new Map<string, readonly FeatureChains[]>();
  for (const plan of offered.plans)
    if (!byKey.has(plan.chains.key))
      byKey.set(
        plan.chains.key,
        finders.map((find) => find(plan.chains)),
      );
  const lots = new Map(
    alsoAt.map((other) => [other.quantity, partPlans(part, other, sets)] as const),
  );
  const kept = new Set(
    [offered, ...lots.values()].flatMap(({ plans }) =>
      worthwhile(plans, byKey, context).map(({ id }) => id),
    ),
  );
  const choice = { ...offered, plans: offered.plans.filter(({ id }) => kept.has(id)) };
  const plans = new Map(choice.plans.map((plan) => [plan.id, plan]));
  const plansByKey = groupByKey(choice.plans);
  const chains = new Map<string, ModelChain>();
  const setUps = new Map<string, PricedSetUp>();
  const features = new Map<string, readonly FeatureChains[]>();
  const modelFeatures = context.job.features.map((feature, index) => {
    features.set(feature.id, [
      ...new Set([...byKey.values()].map((results) => results[index] as FeatureChains)),
    ]);
    const results = new Map<FeatureChains, string[]>();
    for (const key of plansByKey.keys()) {
      const result = byKey.get(key)?.[index] as FeatureChains;
      const keys = results.get(result);
      if (keys === undefined) results.set(result, [key]);
      else keys.push(key);
    }
    const choices = modelChains(results).map(({ chain, byContext }, place, all) => {
      let count = 1;
      while (all[place - count]?.chain.id === chain.id) count++;
      const id = count === 1 ? chain.id : `${chain.id}~${count}`;
      chains.set(id, { id, feature: feature.id, byContext });
      for (const { setUp } of chain.steps)
        if (!setUps.has(setUp.id)) setUps.set(setUp.id, pricedSetUp(setUp, context));
      return {
        id,
        cost: chainObjective(chain, context),
        setups: chain.setUps,
        partPlans: [...byContext.keys()].flatMap((key) => plansByKey.get(key) ?? []).sort(),
      };
    });
    return { id: feature.id, chains: choices };
  });
  const model: RouteModel = {
    schema: 'route-model/1',
    partPlans: choice.plans.map((plan) => ({ id: plan.id, cost: plan.objective })),
    setups: [...setUps]
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([id, { cost }]) => ({ id, cost: objectiveOf(cost, context) })),
    features: modelFeatures,
    pairs: forbiddenPairs(context, chains.values()),
  };
  return { model, part, choice, plans, chains, setUps, features, byContext: byKey, sets, lots };
}

/**
 * The same planning for another lot size: chains, contexts and forbidden pairs do not depend on it,
 * so only costs change. Undefined when another part plan would be worth offering at that size.
 */
export function planningAtQuantity(
  planning: RoutePlanning,
  context: PlanningContext,
): RoutePlanning | undefined {
  const offered =
    planning.lots.get(context.quantity) ?? partPlans(planning.part, context, planning.sets);
  const plans = new Map(
    offered.plans.filter(({ id }) => planning.plans.has(id)).map((plan) => [plan.id, plan]),
  );
  if (plans.size < planning.plans.size) return undefined;
  if (worthwhile(offered.plans, planning.byContext, context).some(({ id }) => !plans.has(id)))
    return undefined;
  const setUps = new Map(
    [...planning.setUps].map(([id, { setUp }]) => [id, pricedSetUp(setUp, context)]),
  );
  const chainCost = (id: string): number => {
    const [chain] = planning.chains.get(id)?.byContext.values() ?? [];
    if (chain === undefined) throw new RangeError(`chain ${id} is not in the planning`);
    return chainObjective(chain, context);
  };
  const { model } = planning;
  return {
    ...planning,
    choice: { ...offered, plans: [...plans.values()] },
    plans,
    setUps,
    model: {
      ...model,
      partPlans: [...plans.values()].map(({ id, objective }) => ({ id, cost: objective })),
      setups: model.setups.map(({ id }) => ({
        id,
        cost: objectiveOf((setUps.get(id) as PricedSetUp).cost, context),
      })),
      features: model.features.map(({ id, chains }) => ({
        id,
        chains: chains.map((chain) => ({ ...chain, cost: chainCost(chain.id) })),
      })),
    },
  };
}

/** The chains of one feature over all contexts: those that differ in nothing but the context are one. */
function modelChains(
  results: ReadonlyMap<FeatureChains, readonly string[]>,
): readonly { readonly chain: FoundChain; readonly byContext: Map<string, FoundChain> }[] {
  const variants = new Map<string, { chain: FoundChain; byContext: Map<string, FoundChain> }>();
  for (const [result, keys] of results)
    for (const chain of result.chains) {
      const variant = variants.get(chain.mark) ?? { chain, byContext: new Map() };
      for (const key of keys) variant.byContext.set(key, chain);
      variants.set(chain.mark, variant);
    }
  return [...variants.values()].sort(
    ({ chain: a }, { chain: b }) =>
      (a.id < b.id ? -1 : a.id > b.id ? 1 : a.objective - b.objective) ||
      (a.mark < b.mark ? -1 : 1),
  );
}

function pricedSetUp(setUp: SetUp, context: PlanningContext): PricedSetUp {
  const { centre } = setUp;
  return {
    setUp,
    cost: visitCost(centre, context, {
      programmed: centre.programmingMin > 0,
      probed: centre.probingMin > 0,
    }),
  };
}

/** A feature's chains hang on the feature itself and on how others are located from it. */
function finderFor(
  feature: Feature,
  context: PlanningContext,
  library: ChainLibrary,
): (chainContext: ChainContext) => FeatureChains {
  const key = JSON.stringify([
    feature,
    isDatumOfAny(feature, context),
    isSensitiveDatum(feature, context),
  ]);
  const known = library.finders.get(key);
  if (known !== undefined) return known;
  const find = chainFinder(feature, context);
  if (library.quantity === context.quantity) library.finders.set(key, find);
  return find;
}

/** Ids of the part plans under each chain context. */
function groupByKey(plans: readonly PartPlan[]): ReadonlyMap<string, readonly string[]> {
  const groups = new Map<string, string[]>();
  for (const { id, chains } of plans) {
    const group = groups.get(chains.key);
    if (group === undefined) groups.set(chains.key, [id]);
    else group.push(id);
  }
  return groups;
}

/**
 * Part plans that are worth offering: a plan is left out when another of the same heat costs no more
 * (and takes no longer, if both aims count) and has, for every feature, a chain in place of each of
 * its chains.
 */
function worthwhile(
  plans: readonly PartPlan[],
  byKey: ReadonlyMap<string, readonly FeatureChains[]>,
  { bothAims }: PlanningContext,
): readonly PartPlan[] {
  const kept: PartPlan[] = [];
  for (const plan of [...plans].sort(
    (a, b) =>
      a.objective - b.objective ||
      (bothAims === true ? a.cost.leadMinutes - b.cost.leadMinutes : 0) ||
      (a.id < b.id ? -1 : 1),
  )) {
    const mine = byKey.get(plan.chains.key) ?? [];
    const beaten = kept.some(
      (other) =>
        other.route.id === plan.route.id &&
        (bothAims !== true || other.cost.leadMinutes <= plan.cost.leadMinutes) &&
        (byKey.get(other.chains.key) ?? []).every((result, index) =>
          result.covers(mine[index] as FeatureChains),
        ),
    );
    if (!beaten) kept.push(plan);
  }
  return kept.sort((a, b) => (a.id < b.id ? -1 : 1));
}
