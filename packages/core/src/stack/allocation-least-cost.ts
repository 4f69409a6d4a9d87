import {
  checkChains,
  checkCosted,
  checkIds,
  checkLimited,
  startCheck,
} from './allocation-check.js';
import { type CurveSolution, certify, solveCurves } from './allocation-curves.js';
import { type CurveProblem, curveCost } from './allocation-dual.js';
import { type BudgetRow, buildRows, byId, chainUse, impossibleChains } from './allocation-model.js';
import type {
  AllocationChain,
  CostedAllocation,
  CostedContributor,
  CostedTolerance,
  FixedContributor,
  InfeasibleAllocation,
  PricedChainUse,
} from './allocation-types.js';

export interface LeastCostInput {
  readonly contributors: readonly (CostedContributor | FixedContributor)[];
  readonly chains: readonly AllocationChain[];
}

/**
 * The tolerances (±) of least total cost, sum of A + B / T^k, that keep every chain in its limit and
 * every tolerance in its bounds. The chains may share contributors and mix the rules.
 *
 * One chain: Lagrange's condition k B / T^(k+1) = multiplier times d(constraint)/dT, in closed form
 * for equal k and by one equation in the multiplier otherwise, with the contributors at bounds found
 * exactly. Several chains: convex in log T, solved by Newton's method on the multipliers. The
 * certificate carries a Lagrangian lower bound, so that `cost - lowerBound` is a proof and not a
 * claim. The relative gap is below 1e-10; only a limit of which the smallest tolerances leave less
 * than a millionth costs digits, and the gap then says how many.
 * Source: M. F. Spotts, J. Eng. Ind. 95 (1973) 762 (k = 2); G. H. Sutherland and B. Roth, J. Eng.
 * Ind. 97 (1975) 283 (reciprocal power); K. W. Chase and W. H. Greenwood, Manufacturing Review 1(1)
 * (1988) 50. From memory.
 *
 * @throws InputError with every problem of the input
 * @example
 * allocateLeastCost({ contributors: [{ id: 'a', cost: { scale: 1, power: 1 } }, { id: 'b', cost: { scale: 4, power: 1 } }], chains: [{ id: 'gap', limit: 0.3 }] }).cost // -> ~30
 */
export function allocateLeastCost(input: LeastCostInput): CostedAllocation | InfeasibleAllocation {
  const check = startCheck();
  checkIds(check, input.contributors, 'contributors');
  checkChains(check, input.chains, input.contributors);
  input.contributors.forEach((one, index) => {
    checkCosted(check, one, `contributors[${index}]`);
  });
  checkLimited(
    check,
    input.chains,
    input.contributors.map((one) =>
      'cost' in one ? { ...one, free: true } : { id: one.id, free: false },
    ),
  );
  check.finish();

  const list = [...input.contributors].sort(byId);
  const ids = list.map(({ id }) => id);
  const rows = buildRows(input.chains, ids);
  const bound = (of: (one: CostedContributor) => number): Float64Array =>
    Float64Array.from(list, (one) => ('cost' in one ? of(one) : one.tolerance));
  const problem: CurveProblem = {
    scale: Float64Array.from(list, (one) => ('cost' in one ? one.cost.scale : 0)),
    power: Float64Array.from(list, (one) => ('cost' in one ? one.cost.power : 1)),
    lower: bound((one) => one.lower ?? 0),
    upper: bound((one) => one.upper ?? Number.POSITIVE_INFINITY),
    rows,
  };
  const impossible = impossibleChains(rows, ids, problem.lower);
  if (impossible.length > 0) return { feasible: false, impossible };

  const solution = solveCurves(problem);
  let constant = 0;
  for (const one of list) if ('cost' in one) constant += one.cost.fixed ?? 0;
  const cost = constant + curveCost(problem, solution.tolerances);
  return {
    feasible: true,
    cost,
    tolerances: input.contributors.map((one) => costedTolerance(one, ids, problem, solution)),
    chains: priceChains(rows, solution),
    certificate: certify(problem, solution, cost, constant),
  };
}

function costedTolerance(
  one: CostedContributor | FixedContributor,
  ids: readonly string[],
  problem: CurveProblem,
  solution: CurveSolution,
): CostedTolerance {
  if (!('cost' in one)) return { id: one.id, tolerance: one.tolerance, cost: 0, at: 'fixed' };
  const i = ids.indexOf(one.id);
  const tolerance = solution.tolerances[i] ?? 0;
  return {
    id: one.id,
    tolerance,
    cost: costOf(one.cost, tolerance),
    at: whereIn(tolerance, problem.lower[i] ?? 0, problem.upper[i] ?? 0),
  };
}

export function costOf(
  { fixed, scale, power }: CostedContributor['cost'],
  tolerance: number,
): number {
  return (fixed ?? 0) + scale / tolerance ** power;
}

export function whereIn(tolerance: number, lower: number, upper: number): CostedTolerance['at'] {
  if (tolerance >= upper) return 'upper';
  return tolerance <= lower ? 'lower' : 'between';
}

export function priceChains(rows: readonly BudgetRow[], solution: CurveSolution): PricedChainUse[] {
  return rows.map((row, j) => {
    const multiplier = solution.multipliers[j] ?? 0;
    const perLimit =
      row.exponent === 1 ? 1 / row.inflation : (2 * row.limit) / (row.inflation * row.inflation);
    return {
      ...chainUse(row, solution.tolerances),
      multiplier,
      savingPerUnit: multiplier * perLimit,
    };
  });
}
