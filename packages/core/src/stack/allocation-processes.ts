import {
  type Checker,
  checkBounds,
  checkChains,
  checkCurve,
  checkIds,
  startCheck,
} from './allocation-check.js';
import { priceChains, whereIn } from './allocation-least-cost.js';
import { buildRows, byId, impossibleChains } from './allocation-model.js';
import { type Choice, searchProcesses } from './allocation-search.js';
import type {
  AllocationChain,
  FixedContributor,
  InfeasibleAllocation,
  ProcessAllocation,
  ProcessContributor,
  ProcessOption,
} from './allocation-types.js';

export interface ProcessSelectionInput {
  readonly contributors: readonly (ProcessContributor | FixedContributor)[];
  readonly chains: readonly AllocationChain[];
}

export interface ProcessSelectionOptions {
  /** Most nodes of the search before the best found is returned with its gap; 100 000 when absent. */
  readonly nodeLimit?: number;
}

/**
 * Chooses one process for each contributor and its tolerance (±) in the range of that process, so
 * that the total cost is least and every chain is met. Processes with a cost curve over a range,
 * single grades and fixed contributors can be mixed; chains may share contributors and mix rules.
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
  const check = startCheck();
  checkIds(check, input.contributors, 'contributors');
  checkChains(check, input.chains, input.contributors);
  input.contributors.forEach((one, index) => {
    const path = `contributors[${index}]`;
    if (!('processes' in one)) {
      check.number(one.tolerance, `${path}.tolerance`);
      return;
    }
    checkIds(check, one.processes, `${path}.processes`);
    one.processes.forEach((process, at) => {
      checkProcess(check, process, `${path}.processes[${at}]`);
    });
  });
  check.finish();

  const list = [...input.contributors].sort(byId);
  const ids = list.map(({ id }) => id);
  const rows = buildRows(input.chains, ids);
  const choices = list.map((one): Choice[] =>
    'processes' in one
      ? [...one.processes].sort(byId).map(choiceOf)
      : [{ fixed: 0, scale: 0, power: 1, lower: one.tolerance, upper: one.tolerance }],
  );
  const smallest = choices.map((of) => Math.min(...of.map(({ lower }) => lower)));
  const impossible = impossibleChains(rows, ids, smallest);
  if (impossible.length > 0) return { feasible: false, impossible };

  const found = searchProcesses(choices, rows, options.nodeLimit ?? 100_000);
  return {
    feasible: true,
    status: found.proven ? 'optimal' : 'feasible',
    cost: found.cost,
    tolerances: input.contributors.map((one) => {
      const i = ids.indexOf(one.id);
      const tolerance = found.solution.tolerances[i] ?? 0;
      const choice = choices[i]?.[found.chosen[i] ?? 0];
      if (choice?.process === undefined)
        return { id: one.id, tolerance, cost: 0, at: 'fixed' as const };
      return {
        id: one.id,
        tolerance,
        cost: choice.fixed + choice.scale / tolerance ** choice.power,
        at: whereIn(tolerance, choice.lower, choice.upper),
        process: choice.process,
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

function choiceOf(process: ProcessOption): Choice {
  if ('tolerance' in process)
    return {
      process: process.id,
      fixed: process.cost,
      scale: 0,
      power: 1,
      lower: process.tolerance,
      upper: process.tolerance,
    };
  const { cost, lower, upper } = process;
  const { scale, power } = cost;
  return { process: process.id, fixed: cost.fixed ?? 0, scale, power, lower, upper };
}

function checkProcess(check: Checker, process: ProcessOption, path: string): void {
  if ('tolerance' in process) {
    check.number(process.tolerance, `${path}.tolerance`);
    if (!Number.isFinite(process.cost))
      check.add('out-of-range', `${path}.cost`, 'not finite', process.cost, 'a number');
    return;
  }
  checkCurve(check, process.cost, `${path}.cost`);
  check.number(process.lower, `${path}.lower`);
  check.number(process.upper, `${path}.upper`);
  checkBounds(check, process, path);
}
