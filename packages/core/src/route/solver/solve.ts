import type { RouteModel, RouteSolution, SolveOptions } from '../model.js';
import { at, type IndexedModel, indexModel, readChoice } from './indexed-model.js';
import { type SearchResult, searchChoices } from './search.js';

/**
 * Solves the choice problem of a plan to proven optimality, or up to a node limit. Costs, objective
 * and bound are in the model's own unit; what costs are allowed is stated at `checkRouteModel`.
 * Among choices of equal cost the answer is the one whose part plan id comes first, then whose chain
 * ids come first in the order of feature ids (by UTF-16 code unit), so it depends neither on the
 * order of rows nor on the start. Past `nodeLimit`, or when `signal` or `shouldStop` says so, the best
 * choice found is returned with its gap: `lowerBound` then holds for every choice. With a `cutoff`,
 * `infeasible` says that no choice costs that little. Without any choice found,
 * `objective` is Infinity and `gap` is Infinity. Throws InputError when `checkRouteModel` finds a
 * problem.
 *
 * @example
 * solveRouteModel({ schema: 'route-model/1', partPlans: [{ id: 'P', cost: 5 }], setups: [{ id: 'S', cost: 3 }], features: [{ id: 'F', chains: [{ id: 'C', cost: 2, setups: ['S'], partPlans: ['P'] }] }], pairs: [] }).objective // -> 10
 */
export function solveRouteModel(model: RouteModel, options: SolveOptions = {}): RouteSolution {
  return solveIndexedModel(indexModel(model), options).solution;
}

/**
 * {@link solveRouteModel} for a model that is indexed.
 *
 * @param knownBounds no choice with the part plan of that number costs less
 */
export function solveIndexedModel(
  indexed: IndexedModel,
  options: SolveOptions = {},
  knownBounds?: Float64Array,
): { readonly solution: RouteSolution; readonly planBounds: Float64Array } {
  const start =
    options.start === undefined
      ? undefined
      : readChoice(indexed, options.start.partPlan, options.start.chains);
  const limits = {
    nodeLimit: options.nodeLimit ?? Number.POSITIVE_INFINITY,
    shouldStop: () => options.signal?.aborted === true || options.shouldStop?.() === true,
    cutoff: options.cutoff ?? Number.POSITIVE_INFINITY,
  };
  const result = searchChoices(indexed, start, limits, knownBounds);
  return { solution: solutionOf(indexed, result), planBounds: result.planBounds };
}

function solutionOf(indexed: IndexedModel, result: SearchResult): RouteSolution {
  const { best, bestCost: objective, lowerBound, nodes } = result;
  if (best === undefined) {
    return {
      status: result.complete ? 'infeasible' : 'unknown',
      chains: {},
      setups: [],
      objective,
      lowerBound,
      gap: Number.POSITIVE_INFINITY,
      nodes,
    };
  }
  const used = new Set([...best.chains].flatMap((c) => [...(indexed.chainSetups[c] ?? [])]));
  return {
    status: result.complete ? 'optimal' : 'feasible',
    partPlan: indexed.planIds[best.plan] as string,
    chains: Object.fromEntries(
      indexed.featureIds.map((id, f) => [id, indexed.chainIds[at(best.chains, f)] as string]),
    ),
    setups: indexed.setupIds.filter((_, s) => used.has(s)),
    objective,
    lowerBound,
    gap: (objective - lowerBound) / Math.max(1, Math.abs(objective)),
    nodes,
  };
}
