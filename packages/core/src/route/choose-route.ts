import type { PlanningContext } from '../job/planning-context.js';
import type { Chain } from './chain.js';
import type { PairCost, RouteModel, RouteSolution, SolveOptions } from './model.js';
import type { PartPlan } from './part-plans.js';
import type { RoutePlanning } from './planning.js';
import { pricedChain } from './price-chain.js';
import { type Culprit, type SequencedWork, sequenceWorks } from './sequence.js';
import { type IndexedModel, indexModel, withCosts } from './solver/indexed-model.js';
import { solveIndexedModel } from './solver/solve.js';

/** The chosen part plan and chains in working order, with the model whose optimum they are. */
export interface ChosenRoute {
  readonly solution: RouteSolution;
  /** The final model: the first one less what the ordering of set-ups ruled out. */
  readonly model: RouteModel;
  /** Models that together hold every choice without a circle met so far; `model` is one of them. */
  readonly cases: readonly UnsolvedCase[];
  readonly plan?: PartPlan;
  readonly chains: readonly Chain[];
  readonly works: readonly SequencedWork[];
}

/** Most times that the ordering of set-ups may send the choice back. */
const orderingLimit = 400;

/**
 * Solves the route model and orders the work. When the chosen chains need two set-ups each before the
 * other, that circle is excluded exactly: it closes only when the chain of every culprit is of a
 * certain kind. Two culprits become forbidden pairs of the model. With more, the search splits into
 * disjoint cases (the first culprit is not of its kind; the first is and the second is not; ...) by
 * dropping chains, and takes up the case with the best objective first. Datums come first among the
 * culprits, because most hangs on them.
 *
 * @param cases models that together hold every choice without a circle known so far; the planning's
 *   own when absent
 */
export function chooseRoute(
  planning: RoutePlanning,
  context: PlanningContext,
  options: SolveOptions = {},
  cases: readonly UnsolvedCase[] = [indexedCase(planning.model)],
): ChosenRoute {
  // What a part plan costs at least holds in every case that is a part of the one it was found for.
  const solve = (unsolved: UnsolvedCase, knownBounds?: Float64Array): Case => ({
    ...unsolved,
    ...solveIndexedModel(unsolved.indexed, options, knownBounds),
  });
  let open: readonly Case[] = cases.map((entry) => solve(entry));
  for (let round = 0; round < orderingLimit; round++) {
    const [best, ...rest] = [...open].sort((a, b) => rank(a.solution) - rank(b.solution));
    if (best === undefined) break;
    const { model, solution } = best;
    if (solution.partPlan === undefined)
      return { solution, model, cases: open, chains: [], works: [] };
    const plan = planning.plans.get(solution.partPlan);
    if (plan === undefined) throw new RangeError(`unknown part plan ${solution.partPlan}`);
    const chains = context.job.features.map((feature) =>
      chosenChain(planning, plan, solution.chains[feature.id], context),
    );
    const sequence = sequenceWorks(plan.works, chains, context);
    if (sequence.ok) return { solution, model, cases: open, plan, chains, works: sequence.works };
    const culprits = sequence.culprits.filter((culprit) => hasChoice(model, culprit, planning));
    const [one, two] = culprits;
    const next =
      one !== undefined && two !== undefined && culprits.length === 2
        ? [{ ...model, pairs: [...model.pairs, ...circlePairs(model, one, two, planning)] }]
        : casesOf(model, culprits, planning, context);
    open = [...rest, ...next.map((entry) => solve(indexedCase(entry), best.planBounds))];
  }
  return {
    solution: {
      status: open.length === 0 ? 'infeasible' : 'unknown',
      chains: {},
      setups: [],
      objective: Number.POSITIVE_INFINITY,
      lowerBound: Math.min(...open.map(({ solution }) => solution.lowerBound)),
      gap: 1,
      nodes: 0,
    },
    model: planning.model,
    cases: open,
    chains: [],
    works: [],
  };
}

/** {@link chooseRoute} for a planning that differs from that of `chosen` in nothing but costs. */
export function chooseAgain(
  chosen: ChosenRoute,
  planning: RoutePlanning,
  context: PlanningContext,
  options: SolveOptions = {},
): ChosenRoute {
  const { partPlan, chains } = chosen.solution;
  const start = partPlan === undefined ? {} : { start: { partPlan, chains } };
  const costs = new Map(
    planning.model.features.flatMap((feature) => feature.chains.map(({ id, cost }) => [id, cost])),
  );
  const cutoff = objectiveHere(chosen, planning);
  const cases = chosen.cases.map(({ model, indexed }): UnsolvedCase => {
    const recosted = {
      ...planning.model,
      features: model.features.map((feature) => ({
        id: feature.id,
        chains: feature.chains.map((chain) => ({ ...chain, cost: costs.get(chain.id) ?? 0 })),
      })),
      pairs: model.pairs,
    };
    return { model: recosted, indexed: withCosts(indexed, recosted) };
  });
  return chooseRoute(planning, context, { ...options, ...start, ...cutoff }, cases);
}

/** What the chosen route, which can be put in order, costs under another planning. */
function objectiveHere(
  { solution: { partPlan, chains, setups } }: ChosenRoute,
  { model }: RoutePlanning,
): { readonly cutoff?: number } {
  if (partPlan === undefined) return {};
  const taken = new Set([partPlan, ...setups, ...Object.values(chains)]);
  const rows = [
    ...model.partPlans,
    ...model.setups,
    ...model.features.flatMap((feature) => feature.chains),
  ];
  return { cutoff: rows.reduce((sum, { id, cost }) => (taken.has(id) ? sum + cost : sum), 0) };
}

interface UnsolvedCase {
  readonly model: RouteModel;
  readonly indexed: IndexedModel;
}

interface Case extends UnsolvedCase {
  readonly solution: RouteSolution;
  readonly planBounds: Float64Array;
}

function indexedCase(model: RouteModel): UnsolvedCase {
  return { model, indexed: indexModel(model) };
}

/** Whether the feature has a chain that does not help to close the circle. */
function hasChoice(model: RouteModel, culprit: Culprit, planning: RoutePlanning): boolean {
  return chainsOf(model, culprit).some((id) => !isOfKind(planning, culprit, id));
}

/** Every couple of chains of two culprits that closes the circle. */
function circlePairs(
  model: RouteModel,
  one: Culprit,
  two: Culprit,
  planning: RoutePlanning,
): readonly PairCost[] {
  const kind = (culprit: Culprit): readonly string[] =>
    chainsOf(model, culprit).filter((id) => isOfKind(planning, culprit, id));
  const others = kind(two);
  return kind(one).flatMap((a) =>
    others.map((b): PairCost => (a < b ? { a, b, cost: null } : { a: b, b: a, cost: null })),
  );
}

function chainsOf(model: RouteModel, { feature }: Culprit): readonly string[] {
  return model.features.find(({ id }) => id === feature)?.chains.map(({ id }) => id) ?? [];
}

function isOfKind(planning: RoutePlanning, culprit: Culprit, id: string): boolean {
  return [...(planning.chains.get(id)?.byContext.values() ?? [])].some((chain) =>
    culprit.holds(chain),
  );
}

/** The disjoint cases without a circle; a case in which some feature has no chain left is none. */
function casesOf(
  model: RouteModel,
  culprits: readonly Culprit[],
  planning: RoutePlanning,
  context: PlanningContext,
): readonly RouteModel[] {
  const isDatum = ({ feature }: Culprit): number =>
    Number(context.job.features.some((entry) => entry.id === feature && entry.datum !== undefined));
  const sorted = [...culprits].sort((a, b) => isDatum(b) - isDatum(a));
  const cases: RouteModel[] = [];
  let rest = model;
  for (const culprit of sorted) {
    const holds = (id: string): boolean => isOfKind(planning, culprit, id);
    const without = keepChains(rest, culprit.feature, (id) => !holds(id));
    if (without.features.every((feature) => feature.chains.length > 0)) cases.push(without);
    rest = keepChains(rest, culprit.feature, holds);
  }
  return cases;
}

function keepChains(model: RouteModel, feature: string, keep: (id: string) => boolean): RouteModel {
  const dropped = new Set(
    model.features
      .find(({ id }) => id === feature)
      ?.chains.filter(({ id }) => !keep(id))
      .map(({ id }) => id),
  );
  return {
    ...model,
    features: model.features.map((entry) =>
      entry.id === feature
        ? { ...entry, chains: entry.chains.filter(({ id }) => !dropped.has(id)) }
        : entry,
    ),
    pairs: model.pairs.filter(({ a, b }) => !dropped.has(a) && !dropped.has(b)),
  };
}

function rank(solution: RouteSolution): number {
  return solution.partPlan === undefined ? Number.MAX_VALUE : solution.objective;
}

export function chosenChain(
  planning: RoutePlanning,
  plan: PartPlan,
  id: string | undefined,
  context: PlanningContext,
): Chain {
  const chain = planning.chains.get(id ?? '')?.byContext.get(plan.chains.key);
  if (chain === undefined)
    throw new RangeError(`chain ${id} does not go with part plan ${plan.id}`);
  return pricedChain(chain, plan.chains, context);
}
