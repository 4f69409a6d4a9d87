import { InputError, type Problem } from '../problems/problem.js';
import type { Choice } from './allocation-bound.js';
import {
  checkChains,
  checkCosted,
  checkIds,
  checkLimited,
  startCheck,
} from './allocation-check.js';
import { priceChains, whereIn } from './allocation-least-cost.js';
import { buildRows, byId, impossibleChains } from './allocation-model.js';
import { searchProcesses } from './allocation-search.js';
import type {
  AllocationChain,
  CostedContributor,
  CostedTolerance,
  FixedContributor,
  InfeasibleAllocation,
  ProcessAllocation,
  ProcessContributor,
  ProcessOption,
} from './allocation-types.js';

export interface ProcessSelectionInput {
  readonly contributors: readonly (ProcessContributor | CostedContributor | FixedContributor)[];
  readonly chains: readonly AllocationChain[];
}

export interface ProcessSelectionOptions {
  /** Most nodes of the search before the best found is returned with its gap; 100 000 when absent. */
  readonly nodeLimit?: number;
}

/**
 * Chooses one process for each contributor and its tolerance (±) in the range of that process, so
 * that the total cost is least and every chain is met. Processes with a cost curve over a range,
 * single grades, and contributors without a choice can be mixed; chains may share contributors and
 * mix rules.
 *
 * Exact: branch and bound over the processes. The bound of a node is the Lagrangian dual with the
 * chains priced, in which the processes compete contributor by contributor; processes whose price
 * exceeds the best known cost are dropped. With the processes chosen, tolerances follow as in
 * `allocateLeastCost`. The search looks at contributors and processes in the order of their ids,
 * whatever their order in the input, and keeps the first found of equal costs.
 * Source of the problem: K. W. Chase, W. H. Greenwood, B. G. Loosli and L. F. Hauglund,
 * Manufacturing Review 3(1) (1990) 49.
 *
 * @throws InputError with every problem of the input
 * @example
 * selectProcesses({ contributors: [{ id: 'bore', processes: [{ id: 'ream', cost: 2, tolerance: 0.02 }, { id: 'hone', cost: 5, tolerance: 0.005 }] }], chains: [{ id: 'fit', limit: 0.01 }] }).tolerances[0].process // -> "hone"
 */
export function selectProcesses(
  input: ProcessSelectionInput,
  options: ProcessSelectionOptions = {},
): ProcessAllocation | InfeasibleAllocation {
  const problems = selectionProblems(input);
  if (problems.length > 0) throw new InputError(problems);

  const list = [...input.contributors].sort(byId);
  const ids = list.map(({ id }) => id);
  const rows = buildRows(input.chains, ids);
  const choices = list.map((one, i) => {
    // a chain alone already limits each contributor, which keeps every range finite
    const most = Math.min(
      ...rows.map((row) => {
        const coefficient = row.coefficients[i] ?? 0;
        return coefficient > 0
          ? (row.budget / coefficient) ** (1 / row.exponent)
          : Number.POSITIVE_INFINITY;
      }),
    );
    const own = [...optionsOf(one)];
    return ('processes' in one ? own.sort(byId) : own).map((option) => choiceOf(option, most));
  });
  const smallest = choices.map((of) => Math.min(...of.map(({ lower }) => lower)));
  const impossible = impossibleChains(rows, ids, smallest);
  if (impossible.length > 0) return { feasible: false, impossible };

  const found = searchProcesses(choices, rows, options.nodeLimit ?? 100_000);
  return {
    feasible: true,
    status: found.proven ? 'optimal' : 'feasible',
    cost: found.cost,
    tolerances: input.contributors.map((one): CostedTolerance => {
      const i = ids.indexOf(one.id);
      const tolerance = found.solution.tolerances[i] ?? 0;
      const choice = choices[i]?.[found.chosen[i] ?? 0];
      if (choice === undefined || ('tolerance' in one && !('processes' in one)))
        return { id: one.id, tolerance, cost: 0, at: 'fixed' };
      return {
        id: one.id,
        tolerance,
        cost: choice.fixed + choice.scale / tolerance ** choice.power,
        at: whereIn(tolerance, choice.lower, choice.upper),
        ...('processes' in one ? { process: choice.id } : {}),
      };
    }),
    chains: priceChains(rows, found.solution),
    certificate: {
      method: 'branch-and-bound',
      lowerBound: found.lowerBound,
      gap: (found.cost - found.lowerBound) / Math.max(1e-300, Math.abs(found.cost)),
      kktResidual: found.kktResidual,
      steps: found.nodes,
    },
  };
}

/** Everything that is wrong with a selection, places as paths of its input. */
export function selectionProblems(input: ProcessSelectionInput): readonly Problem[] {
  const check = startCheck();
  checkIds(check, input.contributors, 'contributors');
  checkChains(check, input.chains, input.contributors);
  input.contributors.forEach((one, index) => {
    const path = `contributors[${index}]`;
    if (!('processes' in one)) {
      checkCosted(check, one, path);
      return;
    }
    checkIds(check, one.processes, `${path}.processes`);
    one.processes.forEach((process, at) => {
      const place = `${path}.processes[${at}]`;
      checkCosted(check, process, place);
      if ('tolerance' in process && !Number.isFinite(process.cost))
        check.add('out-of-range', `${place}.cost`, 'not finite', process.cost, 'a number');
    });
  });
  checkLimited(
    check,
    input.chains,
    input.contributors.map((one) => {
      const upper = Math.max(...optionsOf(one).map((option) => upperOf(option)));
      return { id: one.id, free: upper === Number.POSITIVE_INFINITY };
    }),
  );
  return check.problems;
}

type Option = ProcessOption | FixedContributor;

/** The processes of a contributor; one without a choice is its own only process. */
function optionsOf(
  one: ProcessContributor | CostedContributor | FixedContributor,
): readonly Option[] {
  return 'processes' in one ? one.processes : [one];
}

function upperOf(option: Option): number {
  if ('tolerance' in option) return option.tolerance;
  return option.upper ?? Number.POSITIVE_INFINITY;
}

function choiceOf(option: Option, most: number): Choice {
  const { id } = option;
  if ('tolerance' in option) {
    const { tolerance } = option;
    const fixed = 'cost' in option ? option.cost : 0;
    return { id, fixed, scale: 0, power: 1, lower: tolerance, upper: tolerance };
  }
  const { scale, power, fixed = 0 } = option.cost;
  const lower = option.lower ?? 0;
  const upper = Math.max(lower, Math.min(upperOf(option), most));
  return { id, fixed, scale, power, lower, upper };
}
