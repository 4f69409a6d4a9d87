import type { PlanningContext } from '../job/planning-context.js';
import type { Chain } from './chain.js';
import type { PairCost, RouteModel, RouteSolution, SolveOptions } from './model.js';
import type { PartPlan } from './part-plans.js';
import type { RoutePlanning } from './planning.js';
import { type SequencedWork, sequenceWorks } from './sequence.js';
import { solveRouteModel } from './solver/solve.js';

/** The chosen part plan and chains in working order, with the model whose optimum they are. */
export interface ChosenRoute {
  readonly solution: RouteSolution;
  /** The final model: the first one plus the pairs that the ordering of set-ups forbids. */
  readonly model: RouteModel;
  readonly plan?: PartPlan;
  readonly chains: readonly Chain[];
  readonly works: readonly SequencedWork[];
}

/** Most times that the ordering of set-ups may send the choice back. */
const orderingLimit = 80;

/**
 * Solves the route model and orders the work. When the chosen chains need two set-ups each before the
 * other, the choice is excluded exactly: every solution without all those chains lacks one of some
 * pair, so the search branches over pairs that cover them, best objective first.
 */
export function chooseRoute(
  planning: RoutePlanning,
  context: PlanningContext,
  options: SolveOptions = {},
): ChosenRoute {
  let open: { pairs: readonly PairCost[]; solution: RouteSolution }[] = [];
  const visit = (pairs: readonly PairCost[]): void => {
    const solution = solveRouteModel(
      { ...planning.model, pairs: [...planning.model.pairs, ...pairs] },
      options,
    );
    open.push({ pairs, solution });
  };
  visit([]);
  for (let round = 0; round < orderingLimit; round++) {
    open = open.sort((a, b) => rank(a.solution) - rank(b.solution));
    const node = open.shift();
    if (node === undefined) break;
    const { pairs, solution } = node;
    const model = { ...planning.model, pairs: [...planning.model.pairs, ...pairs] };
    if (solution.partPlan === undefined) return { solution, model, chains: [], works: [] };
    const plan = planning.plans.get(solution.partPlan);
    if (plan === undefined) throw new RangeError(`unknown part plan ${solution.partPlan}`);
    const chains = context.job.features.map((feature) =>
      chosenChain(planning, plan, solution.chains[feature.id]),
    );
    const sequence = sequenceWorks(plan.works, chains, context);
    if (sequence.ok) return { solution, model, plan, chains, works: sequence.works };
    const ids = sequence.culprits.map((feature) => solution.chains[feature] ?? '');
    for (let index = 0; index < ids.length; index += 2) {
      const a = ids[index] as string;
      const b = ids[index + 1] ?? (ids[0] as string);
      const [first, second] = a < b ? [a, b] : [b, a];
      visit([...pairs, { a: first, b: second, cost: null }]);
    }
  }
  return {
    solution: {
      status: 'unknown',
      chains: {},
      setups: [],
      objective: Number.POSITIVE_INFINITY,
      lowerBound: 0,
      gap: 1,
      nodes: 0,
    },
    model: planning.model,
    chains: [],
    works: [],
  };
}

function rank(solution: RouteSolution): number {
  return solution.partPlan === undefined ? Number.MAX_VALUE : solution.objective;
}

export function chosenChain(
  planning: RoutePlanning,
  plan: PartPlan,
  id: string | undefined,
): Chain {
  const chain = planning.chains.get(id ?? '')?.byContext.get(plan.chains.key);
  if (chain === undefined)
    throw new RangeError(`chain ${id} does not go with part plan ${plan.id}`);
  return chain;
}
