import { InputError, type Problem } from '../problems/problem.js';
import { allocateLeastCost } from '../stack/allocation-least-cost.js';
import { selectionProblems, selectProcesses } from '../stack/allocation-processes.js';
import type {
  AllocationChain,
  CostedContributor,
  FixedContributor,
  InfeasibleAllocation,
  ProcessAllocation,
} from '../stack/allocation-types.js';
import { blueprintChain, type ChartFrame, stockChain } from './evaluate-chart.js';
import { placeFinished } from './place-finished.js';
import { chartFrame, solveChart } from './solve-chart.js';
import type { ChartAssignment, ChartCut, ChartInput, ChartLink, CutCost } from './types.js';

export interface AssignmentOptions {
  /** Most nodes of the search over processes; see `selectProcesses`. */
  readonly nodeLimit?: number;
}

/**
 * The working tolerances (±, mm) of least total cost with which every blueprint dimension can be
 * laid in its limits, under the chart's rule, and no cut meets more stock than it can take. A cut
 * may have a cost curve between the bounds of its capability, a choice of processes or grades, or no
 * entry, and then keeps its tolerance. Exact, with a certificate: cost curves by convex duality
 * (`allocateLeastCost`), choices by branch and bound (`selectProcesses`).
 *
 * Statistical rule: sigma = T / (3 cp) for every cut with a cost. On an over-dimensioned drawing the
 * means are laid first, without variation, and each dimension then has the distance from there to
 * its nearer limit.
 *
 * @throws InputError with every problem of the input
 * @example
 * assignTolerances({ surfaces: [{ id: 'A' }, { id: 'B' }, { id: 'C' }], cuts: [{ id: '1', datum: 'A', surface: 'B', toleranceMm: 1 }, { id: '2', datum: 'B', surface: 'C', toleranceMm: 1 }], blueprint: [{ id: 'ab', from: 'A', to: 'B', lowerMm: 9, upperMm: 11 }, { id: 'ac', from: 'A', to: 'C', lowerMm: 29.7, upperMm: 30.3 }] }, [{ cut: '1', cost: { scale: 1, power: 1 } }, { cut: '2', cost: { scale: 4, power: 1 } }]).allocation.cost // -> ~30
 */
export function assignTolerances(
  input: ChartInput,
  costs: readonly CutCost[],
  options: AssignmentOptions = {},
): ChartAssignment {
  const problems = checkCutCosts(input, costs);
  if (problems.length > 0) throw new InputError(problems);
  const { cuts, contributors, chains } = allocationOf(input, costs);
  const allocation = costs.some((cost) => 'processes' in cost)
    ? selectProcesses({ contributors, chains }, options)
    : byCurves(contributors.filter(hasNoChoice), chains);
  if (!allocation.feasible) return { feasible: false, impossible: allocation.impossible };
  const tolerance = new Map(allocation.tolerances.map((one) => [one.id, one.tolerance]));
  return {
    feasible: true,
    allocation,
    chart: solveChart({
      ...input,
      cuts: cuts.map((cut) =>
        costs.some((cost) => cost.cut === cut.id) ? assigned(cut, tolerance.get(cut.id) ?? 0) : cut,
      ),
    }),
  };
}

/**
 * Everything that is wrong with the costs of the cuts of a sound chart, places as `costs[i]...`.
 *
 * @throws InputError when the chart itself has problems
 */
export function checkCutCosts(input: ChartInput, costs: readonly CutCost[]): readonly Problem[] {
  const problems: Problem[] = [];
  const known = new Set(input.cuts.map(({ id }) => id));
  const seen = new Set<string>();
  costs.forEach(({ cut }, index) => {
    const place = { path: `costs[${index}].cut` };
    if (!known.has(cut))
      problems.push({ code: 'unknown-id', place, message: 'no such cut', value: cut });
    if (seen.has(cut))
      problems.push({ code: 'duplicate-id', place, message: 'a second cost', value: cut });
    seen.add(cut);
  });
  if (problems.length > 0) return problems;
  const { cuts, contributors, chains } = allocationOf(input, costs);
  return selectionProblems({ contributors, chains }).map((problem) => {
    const [, index, field] = /^contributors\[(\d+)\](.*)$/.exec(problem.place.path ?? '') ?? [];
    const at = costs.findIndex(({ cut }) => cut === cuts[Number(index)]?.id);
    return { ...problem, place: { path: `costs[${at}]${field}` } };
  });
}

interface CutAllocation {
  readonly cuts: readonly ChartCut[];
  readonly contributors: readonly Contributor[];
  readonly chains: readonly AllocationChain[];
}

/** The chart as an allocation: cuts are the contributors. */
function allocationOf(input: ChartInput, costs: readonly CutCost[]): CutAllocation {
  const costOf = new Map(costs.map((one) => [one.cut, one]));
  // a cut with a cost needs no tolerance of its own; any value passes the checks
  const cuts = input.cuts.map((cut) => (costOf.has(cut.id) ? assigned(cut, 1) : cut));
  const frame = chartFrame({ ...input, cuts });
  const contributors = cuts.map((cut, index): Contributor => {
    const fixed = { id: cut.id, tolerance: frame.spreads[index]?.toleranceMm ?? 0 };
    const cost = costOf.get(cut.id);
    return cost === undefined ? fixed : { ...cost, id: cut.id };
  });
  return { cuts, contributors, chains: limitedChains(frame) };
}

type Contributor =
  | FixedContributor
  | CostedContributor
  | (Extract<CutCost, { readonly processes: unknown }> & { readonly id: string });

function hasNoChoice(one: Contributor): one is FixedContributor | CostedContributor {
  return !('processes' in one);
}

function byCurves(
  contributors: readonly (FixedContributor | CostedContributor)[],
  chains: readonly AllocationChain[],
): ProcessAllocation | InfeasibleAllocation {
  const allocation = allocateLeastCost({ contributors, chains });
  return allocation.feasible ? { ...allocation, status: 'optimal' } : allocation;
}

/** The cut with a tolerance in place of its own; the spread then follows the tolerance. */
function assigned({ sigmaMm: _spread, ...cut }: ChartCut, toleranceMm: number): ChartCut {
  return { ...cut, toleranceMm };
}

/** What limits the tolerances: room of the blueprint dimensions, and most stock. */
function limitedChains(frame: ChartFrame): AllocationChain[] {
  const { input, graph } = frame;
  const { coordinatesMm } = placeFinished(
    input,
    input.blueprint.map(() => 0),
  );
  const at = new Map(input.surfaces.map(({ id }, index) => [id, coordinatesMm[index] ?? 0]));
  const tree = input.blueprint.length === input.surfaces.length - 1;
  const fromBlueprint = input.blueprint.map((dimension): AllocationChain => {
    const { from, to, lowerMm, upperMm } = dimension;
    const mean = Math.abs((at.get(to) ?? 0) - (at.get(from) ?? 0));
    const limit = tree
      ? (upperMm - lowerMm) / 2
      : Math.max(1e-12, Math.min(upperMm - mean, mean - lowerMm));
    return limitedChain(
      frame,
      `blueprint ${dimension.id}`,
      limit,
      blueprintChain(input, graph, dimension),
    );
  });
  const fromStock = input.cuts.flatMap(({ id, minStockMm, maxStockMm }, index) => {
    const chain = stockChain(input, graph, index);
    if (chain === undefined || maxStockMm === undefined) return [];
    // the stock runs from its least to its least plus twice its variation
    return [limitedChain(frame, `stock ${id}`, (maxStockMm - (minStockMm ?? 0)) / 2, chain)];
  });
  return [...fromBlueprint, ...fromStock];
}

function limitedChain(
  { input, position, rule, sigmas, spreads }: ChartFrame,
  id: string,
  limit: number,
  chain: readonly ChartLink[],
): AllocationChain {
  if (rule === 'worst-case')
    return { id, limit, terms: chain.map(({ cut }) => ({ contributor: cut })) };
  return {
    id,
    limit,
    rule: 'rss',
    // sigmas * sqrt(sum sigma^2), with sigma as a share of T
    inflation: sigmas,
    terms: chain.map(({ cut }) => {
      const index = position.get(cut) ?? 0;
      const { toleranceMm, sigmaMm } = spreads[index] ?? { toleranceMm: 3, sigmaMm: 1 };
      return { contributor: input.cuts[index]?.id ?? cut, sensitivity: sigmaMm / toleranceMm };
    }),
  };
}
