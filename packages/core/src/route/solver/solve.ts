import type { RouteModel, RouteSolution, SolveOptions } from '../model.js';
import { pairTable } from './descent.js';
import { type IndexedModel, indexModel, readChoice } from './indexed-model.js';
import { relaxModel } from './relaxation.js';
import { offer, type SearchState, searchPlans } from './search.js';

/**
 * Solves the choice problem of a plan to proven optimality, or up to a node limit. Costs, objective
 * and bound are in the model's own unit; what costs are allowed is stated at `checkRouteModel`.
 * Among choices of equal cost the order of the search decides, and the search goes by ids alone (by
 * UTF-16 code unit): without a start the answer is a function of the model as a set and does not
 * depend on the order of rows; a start may change which of equally good choices is returned. Past
 * `nodeLimit`, or when `shouldStop` says so, the best choice found is returned with its gap:
 * `lowerBound` then holds for every choice. Without any choice found, `objective` is Infinity and
 * `gap` is Infinity. Throws InputError when `checkRouteModel` finds a problem.
 *
 * @example
 * solveRouteModel({ schema: 'route-model/1', partPlans: [{ id: 'P', cost: 5 }], setups: [{ id: 'S', cost: 3 }], features: [{ id: 'F', chains: [{ id: 'C', cost: 2, setups: ['S'], partPlans: ['P'] }] }], pairs: [] }).objective // -> 10
 */
export function solveRouteModel(model: RouteModel, options: SolveOptions = {}): RouteSolution {
  const indexed = indexModel(model);
  const scale = [
    ...indexed.planCost,
    ...indexed.chainCost,
    ...indexed.setupCost,
    ...indexed.pairCost,
  ].reduce((sum, cost) => sum + (Number.isFinite(cost) ? Math.abs(cost) : 0), 0);
  const state: SearchState = {
    best: undefined,
    bestCost: Number.POSITIVE_INFINITY,
    nodes: 0,
    stopped: false,
    openBound: Number.POSITIVE_INFINITY,
    nodeLimit: options.nodeLimit ?? Number.POSITIVE_INFINITY,
    shouldStop: options.shouldStop ?? (() => false),
    tolerance: 1e-12 * scale,
    whole: wholeCosts(indexed),
  };
  if (options.start !== undefined) {
    const start = readChoice(indexed, options.start.partPlan, options.start.chains);
    if (start !== undefined) offer(indexed, state, start);
  }
  const table = pairTable(indexed);
  searchPlans(relaxModel(indexed), table, state);

  const lowerBound = Math.min(state.bestCost, state.openBound);
  if (state.best === undefined) {
    return {
      status: state.stopped ? 'unknown' : 'infeasible',
      chains: {},
      setups: [],
      objective: Number.POSITIVE_INFINITY,
      lowerBound,
      gap: Number.POSITIVE_INFINITY,
      nodes: state.nodes,
    };
  }
  const chosen = [...state.best.chains];
  const used = new Set(chosen.flatMap((chain) => [...(indexed.chainSetups[chain] ?? [])]));
  return {
    status: state.openBound < state.bestCost ? 'feasible' : 'optimal',
    partPlan: indexed.planIds[state.best.plan] as string,
    chains: Object.fromEntries(
      chosen.map((chain, f) => [indexed.featureIds[f], indexed.chainIds[chain]]),
    ),
    setups: [...used].sort((a, b) => a - b).map((setup) => indexed.setupIds[setup] as string),
    objective: state.bestCost,
    lowerBound,
    gap: (state.bestCost - lowerBound) / Math.max(1, Math.abs(state.bestCost)),
    nodes: state.nodes,
  };
}

/** All costs are whole numbers, small enough that their sums are exact. */
function wholeCosts(indexed: IndexedModel): boolean {
  return [indexed.planCost, indexed.chainCost, indexed.setupCost, indexed.pairCost].every((costs) =>
    costs.every(
      (cost) =>
        cost === Number.POSITIVE_INFINITY || (Number.isInteger(cost) && Math.abs(cost) < 1e11),
    ),
  );
}
