import type { PlanningContext } from '../job/planning-context.js';
import type { Chain } from './chain.js';
import { withoutCircle } from './circle-cases.js';
import type { RouteModel, RouteSolution, SolveOptions } from './model.js';
import type { PartPlan } from './part-plans.js';
import type { RoutePlanning } from './planning.js';
import { pricedChain } from './price-chain.js';
import { type SequencedWork, sequenceWorks } from './sequence.js';
import { type IndexedModel, indexModel, withCosts } from './solver/indexed-model.js';
import { solveIndexedModel } from './solver/solve.js';

/** The chosen part plan and chains in working order, with the model whose optimum they are. */
export interface ChosenRoute {
  readonly solution: RouteSolution;
  /** The final model: the first one less what the ordering of set-ups ruled out. */
  readonly model: RouteModel;
  /** Models that together hold every choice without a circle met so far; `model` is one of them. */
  readonly cases: readonly RouteCase[];
  readonly plan?: PartPlan;
  readonly chains: readonly Chain[];
  readonly works: readonly SequencedWork[];
}

/** A part of the choices of a planning. */
export interface RouteCase {
  readonly model: RouteModel;
  /** The model indexed, once that was needed. */
  readonly indexed?: IndexedModel;
}

interface OpenCase extends RouteCase {
  /** No choice in it costs less. */
  readonly bound: number;
  /** The same for each part plan. */
  readonly planBounds?: Float64Array;
}

/** Most times that a model is solved. */
const solveLimit = 400;

/**
 * Solves the route model and orders the work. When the chosen chains need two set-ups each before the
 * other, that circle is excluded exactly, see {@link withoutCircle}, and what is left is solved again:
 * the likeliest case first, until a route is found that can be ordered; of the other cases only what
 * costs no more is then looked for. Among routes of equal cost the answer is the one whose part plan
 * comes first, then whose chains come first.
 *
 * @param cases models that together hold every choice without a circle known so far; the planning's
 *   own when absent
 */
export function chooseRoute(
  planning: RoutePlanning,
  context: PlanningContext,
  options: SolveOptions = {},
  cases: readonly RouteCase[] = [{ model: planning.model }],
): ChosenRoute {
  const open = cases.map((entry): OpenCase => ({ ...entry, bound: Number.NEGATIVE_INFINITY }));
  const closed: RouteCase[] = [];
  let best: ChosenRoute | undefined;
  let cutoff = options.cutoff ?? Number.POSITIVE_INFINITY;
  let last: RouteSolution | undefined;
  let solves = 0;
  for (let next = open.pop(); next !== undefined; next = open.pop()) {
    const { model, bound, planBounds } = next;
    if (bound > cutoff || solves >= solveLimit) {
      closed.push(next);
      continue;
    }
    solves += 1;
    const indexed = next.indexed ?? indexModel(model);
    const solved = solveIndexedModel(
      indexed,
      cutoff < Number.POSITIVE_INFINITY ? { ...options, cutoff } : options,
      planBounds,
    );
    const { solution } = solved;
    const here: RouteCase = { model, indexed };
    last = solution;
    const plan = planning.plans.get(solution.partPlan ?? '');
    if (plan === undefined) {
      closed.push(here);
      continue;
    }
    const chains = context.job.features.map((feature) =>
      chosenChain(planning, plan, solution.chains[feature.id], context),
    );
    const sequence = sequenceWorks(plan.works, chains, context);
    if (sequence.ok) {
      closed.push(here);
      if (best === undefined || comesBefore(solution, best.solution))
        best = { solution, model, cases: [], plan, chains, works: sequence.works };
      cutoff = Math.min(cutoff, solution.objective);
      continue;
    }
    const parts = withoutCircle(model, sequence.culprits, planning, context).map((part) => ({
      model: part,
      bound: solution.objective,
      planBounds: solved.planBounds,
    }));
    const lost = new Map(parts.map((part) => [part, leastLoss(part.model, solution)]));
    // The last is taken up first.
    open.push(...parts.sort((a, b) => (lost.get(b) ?? 0) - (lost.get(a) ?? 0)));
  }
  if (best !== undefined) return { ...best, cases: closed };
  const solution = last ?? nothing;
  return {
    solution: solution.partPlan === undefined ? solution : { ...nothing, status: 'unknown' },
    model: planning.model,
    cases: closed,
    chains: [],
    works: [],
  };
}

const nothing: RouteSolution = {
  status: 'infeasible',
  chains: {},
  setups: [],
  objective: Number.POSITIVE_INFINITY,
  lowerBound: Number.POSITIVE_INFINITY,
  gap: 1,
  nodes: 0,
};

/** Whether a solution is cheaper, or as cheap and first by the ids of part plan and chains. */
function comesBefore(one: RouteSolution, other: RouteSolution): boolean {
  if (one.objective !== other.objective) return one.objective < other.objective;
  if (one.partPlan !== other.partPlan) return (one.partPlan ?? '') < (other.partPlan ?? '');
  for (const feature of Object.keys(one.chains).sort()) {
    const [a = '', b = ''] = [one.chains[feature], other.chains[feature]];
    if (a !== b) return a < b;
  }
  return false;
}

/** What the chains that a case lacks cost at least to replace, with the set-ups of the solution in use. */
function leastLoss({ features, setups }: RouteModel, solution: RouteSolution): number {
  const inUse = new Set(solution.setups);
  const setUpCost = new Map(setups.map(({ id, cost }) => [id, cost]));
  let loss = 0;
  for (const { id, chains } of features) {
    if (chains.some((chain) => chain.id === solution.chains[id])) continue;
    loss += Math.min(
      ...chains.map(({ cost, setups: needed }) =>
        needed.reduce(
          (sum, setUp) => sum + (inUse.has(setUp) ? 0 : (setUpCost.get(setUp) ?? 0)),
          cost,
        ),
      ),
    );
  }
  return loss;
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
  const cases = chosen.cases.map(({ model, indexed }): RouteCase => {
    const recosted = {
      ...planning.model,
      features: model.features.map((feature) => ({
        id: feature.id,
        chains: feature.chains.map((chain) => ({ ...chain, cost: costs.get(chain.id) ?? 0 })),
      })),
      pairs: model.pairs,
    };
    return indexed === undefined
      ? { model: recosted }
      : { model: recosted, indexed: withCosts(indexed, recosted) };
  });
  const cutoff = objectiveHere(chosen, planning);
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
