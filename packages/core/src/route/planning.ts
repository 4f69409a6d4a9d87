import { objectiveOf, visitCost, type WorkCost } from '../cost/charges.js';
import { featureGeometry } from '../job/feature-geometry.js';
import { type PartGeometry, partGeometry } from '../job/part-geometry.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Feature } from '../job/types.js';
import { asBuiltState } from './as-built-state.js';
import type { Chain, ChainContext, FeatureChains, ModelChain } from './chain.js';
import { isDatumOfAny, isSensitiveDatum } from './chain-dominance.js';
import { chainFinder } from './chain-finder.js';
import { forbiddenPairs } from './forbidden-pairs.js';
import type { RouteModel } from './model.js';
import { type PartPlan, type PartPlanChoice, partPlans } from './part-plans.js';
import { repriced } from './reprice.js';
import type { SetUp } from './set-ups.js';

/** The route model together with what its ids stand for. */
export interface RoutePlanning {
  readonly model: RouteModel;
  readonly part: PartGeometry;
  readonly choice: PartPlanChoice;
  readonly plans: ReadonlyMap<string, PartPlan>;
  readonly chains: ReadonlyMap<string, ModelChain>;
  readonly setUps: ReadonlyMap<string, { readonly setUp: SetUp; readonly cost: WorkCost }>;
  readonly features: ReadonlyMap<string, readonly FeatureChains[]>;
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
 */
export function routePlanning(
  context: PlanningContext,
  library: ChainLibrary = chainLibrary(context.quantity),
): RoutePlanning {
  const part = partGeometry(context);
  const offered = partPlans(part, context, smoothingHelps(context));
  const finders = context.job.features.map((feature) => finderFor(feature, context, library));
  const byKey = new Map<string, readonly FeatureChains[]>();
  for (const plan of offered.plans)
    if (!byKey.has(plan.chains.key))
      byKey.set(
        plan.chains.key,
        finders.map((find) => find(plan.chains)),
      );
  const choice = { ...offered, plans: worthwhile(offered.plans, byKey) };
  const plans = new Map(choice.plans.map((plan) => [plan.id, plan]));
  const plansByKey = groupByKey(choice.plans);
  const chains = new Map<string, ModelChain>();
  const setUps = new Map<string, { setUp: SetUp; cost: WorkCost }>();
  const features = new Map<string, readonly FeatureChains[]>();
  const modelFeatures = context.job.features.map((feature, index) => {
    features.set(
      feature.id,
      [...byKey.values()].map((results) => results[index] as FeatureChains),
    );
    const results = [...plansByKey].map(([key, group]) => ({
      group,
      result: byKey.get(key)?.[index] as FeatureChains,
    }));
    const variants = new Map<
      string,
      { chain: Chain; plans: string[]; byContext: Map<string, Chain> }
    >();
    for (const { group, result } of results)
      for (const chain of result.chains) {
        const mark = `${chain.id}|${chain.objective}|${chain.cost.leadMinutes}|${chain.cost.charges.map((entry) => entry.amount).join('+')}`;
        const variant = variants.get(mark) ?? {
          chain,
          plans: [],
          byContext: new Map<string, Chain>(),
        };
        variant.plans.push(...group.map((plan) => plan.id));
        variant.byContext.set(chain.context.key, chain);
        variants.set(mark, variant);
        for (const step of chain.steps) {
          if (setUps.has(step.setUp.id)) continue;
          const { centre } = step.setUp;
          setUps.set(step.setUp.id, {
            setUp: step.setUp,
            cost: visitCost(centre, context, {
              programmed: centre.programmingMin > 0,
              probed: centre.probingMin > 0,
            }),
          });
        }
      }
    const counts = new Map<string, number>();
    const choices = [...variants.values()]
      .sort((a, b) =>
        a.chain.id < b.chain.id
          ? -1
          : a.chain.id > b.chain.id
            ? 1
            : a.chain.objective - b.chain.objective,
      )
      .map((variant) => {
        const count = (counts.get(variant.chain.id) ?? 0) + 1;
        counts.set(variant.chain.id, count);
        const id = count === 1 ? variant.chain.id : `${variant.chain.id}~${count}`;
        chains.set(id, { id, feature: feature.id, byContext: variant.byContext });
        return {
          id,
          cost: variant.chain.objective,
          setups: variant.chain.setUps,
          partPlans: variant.plans.sort(),
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
  return { model, part, choice, plans, chains, setUps, features };
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
  if (known !== undefined)
    return library.quantity === context.quantity
      ? known
      : (chainContext) => repriced(known(chainContext), library.quantity, context);
  const find = chainFinder(feature, context);
  const found = new Map<string, FeatureChains>();
  const finder = (chainContext: ChainContext): FeatureChains => {
    const result = found.get(chainContext.key) ?? find(chainContext);
    found.set(chainContext.key, result);
    return result;
  };
  if (library.quantity === context.quantity) library.finders.set(key, finder);
  return finder;
}

function groupByKey(plans: readonly PartPlan[]): ReadonlyMap<string, readonly PartPlan[]> {
  const groups = new Map<string, PartPlan[]>();
  for (const plan of plans) {
    const group = groups.get(plan.chains.key);
    if (group === undefined) groups.set(plan.chains.key, [plan]);
    else group.push(plan);
  }
  return groups;
}

/**
 * Part plans that are worth offering: a plan is left out when another of the same heat costs no more
 * and has, for every feature, a chain in place of each of its chains.
 */
function worthwhile(
  plans: readonly PartPlan[],
  byKey: ReadonlyMap<string, readonly FeatureChains[]>,
): readonly PartPlan[] {
  const kept: PartPlan[] = [];
  for (const plan of [...plans].sort(
    (a, b) => a.objective - b.objective || (a.id < b.id ? -1 : 1),
  )) {
    const mine = byKey.get(plan.chains.key) ?? [];
    const beaten = kept.some(
      (other) =>
        other.route.id === plan.route.id &&
        (byKey.get(other.chains.key) ?? []).every((result, index) =>
          result.covers(mine[index] as FeatureChains),
        ),
    );
    if (!beaten) kept.push(plan);
  }
  return kept.sort((a, b) => (a.id < b.id ? -1 : 1));
}

/** Some surface is rougher as printed than its requirement allows. */
function smoothingHelps(context: PlanningContext): boolean {
  return context.job.features.some((feature) => {
    const limit = Math.min(
      feature.raMaxUm ?? Number.POSITIVE_INFINITY,
      feature.rzMaxUm === undefined
        ? Number.POSITIVE_INFINITY
        : feature.rzMaxUm / context.defaultValue('rz-per-ra'),
    );
    if (!Number.isFinite(limit)) return false;
    const state = asBuiltState(
      feature,
      featureGeometry(feature, context),
      context,
      'cut-off-wire-edm',
      true,
    );
    return state.raUm > limit;
  });
}
