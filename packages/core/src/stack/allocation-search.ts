import {
  ascend,
  type Choice,
  type ChoiceModel,
  choiceModel,
  closeOversized,
  type Node,
  type Priced,
  priceOf,
  type Target,
  weightsAt,
} from './allocation-bound.js';
import { type CurveSolution, solveCurves } from './allocation-curves.js';
import { type CurveProblem, curveCost, dualBound, kktResidual } from './allocation-dual.js';
import { type BudgetRow, roundingShare, rowUse } from './allocation-model.js';
import { repairChoice } from './allocation-repair.js';

export interface SearchResult {
  readonly cost: number;
  /** Index of the choice by contributor. */
  readonly chosen: readonly number[];
  readonly solution: CurveSolution;
  readonly kktResidual: number;
  readonly lowerBound: number;
  readonly nodes: number;
  readonly proven: boolean;
}

/** A node or a choice is dropped when its bound comes this close to the best known cost. */
const provenShare = 1e-11;
const rootAscents = 150;
const nodeAscents = 20;

/** The best choice so far, with its tolerances. */
interface Best {
  readonly cost: number;
  /** Index into the list of all choices, by contributor. */
  readonly chosen: Int32Array;
  readonly solution: CurveSolution;
  readonly kktResidual: number;
}

interface Search {
  readonly model: ChoiceModel;
  best: Best;
  /** Smallest bound of anything that was dropped. */
  dropped: number;
}

/**
 * Branch and bound over the choices; depth first, the cheapest choice at the prices of the node
 * first. The problem must be feasible with every contributor at its smallest tolerance.
 */
export function searchProcesses(
  choices: readonly (readonly Choice[])[],
  rows: readonly BudgetRow[],
  nodeLimit: number,
): SearchResult {
  const model = choiceModel(choices, rows);
  const start = solveChosen(model, finest(model));
  if (start === undefined) throw new Error('search of an infeasible allocation');
  const search: Search = { model, best: start, dropped: start.bound };
  improve(search);
  const stack: Node[] = [
    {
      open: new Uint8Array(model.choices.length).fill(1),
      multipliers: new Float64Array(rows.length),
      bound: Number.NEGATIVE_INFINITY,
    },
  ];
  let nodes = 0;
  while (nodes < nodeLimit) {
    const node = stack.pop();
    if (node === undefined) break;
    nodes++;
    stack.push(...explore(search, node, nodes === 1 ? rootAscents : nodeAscents));
  }
  const { cost, chosen, solution, kktResidual: residual } = search.best;
  let lowerBound = Math.min(cost, search.dropped);
  for (const node of stack) lowerBound = Math.min(lowerBound, node.bound);
  return {
    cost,
    chosen: Array.from(chosen, (c, i) => c - (model.first[i] ?? 0)),
    solution,
    kktResidual: residual,
    lowerBound,
    nodes,
    proven: stack.length === 0,
  };
}

function finest({ choices, first }: ChoiceModel): Int32Array {
  return first.slice(0, -1).map((from, i) => {
    let best = from;
    for (let c = from; c < (first[i + 1] ?? 0); c++)
      if ((choices[c]?.lower ?? 0) < (choices[best]?.lower ?? 0)) best = c;
    return best;
  });
}

/** Best tolerances for chosen processes, with their own dual bound; undefined when not permitted. */
function solveChosen(
  { choices, rows }: ChoiceModel,
  chosen: Int32Array,
): (Best & { readonly bound: number }) | undefined {
  const take = (of: (choice: Choice) => number): Float64Array =>
    Float64Array.from(chosen, (c) => {
      const choice = choices[c];
      return choice === undefined ? 0 : of(choice);
    });
  const problem: CurveProblem = {
    scale: take(({ scale }) => scale),
    power: take(({ power }) => power),
    lower: take(({ lower }) => lower),
    upper: take(({ lower, upper, scale }) => (scale > 0 ? upper : lower)),
    rows,
  };
  const permitted = rows.every(
    (row) => rowUse(row, problem.lower) <= row.budget * (1 + roundingShare),
  );
  if (!permitted) return undefined;
  const solution = solveCurves(problem);
  let constant = 0;
  for (const c of chosen) constant += choices[c]?.fixed ?? 0;
  return {
    cost: constant + curveCost(problem, solution.tolerances),
    chosen,
    solution,
    kktResidual: kktResidual(problem, solution.tolerances, solution.multipliers),
    bound: constant + dualBound(problem, solution.multipliers),
  };
}

/** Keeps the choice when it is permitted and cheaper than the best so far. */
function tryChosen(search: Search, chosen: Int32Array): boolean {
  const solved = solveChosen(search.model, chosen);
  if (solved === undefined) return false;
  search.dropped = Math.min(search.dropped, solved.bound);
  const { cost } = search.best;
  if (solved.cost >= cost - provenShare * Math.abs(cost)) return false;
  search.best = solved;
  return true;
}

/**
 * Changes one process at a time while that saves. A change is only tried when the Lagrangian at the
 * multipliers of the best choice leaves room for a saving.
 */
function improve(search: Search): void {
  const { choices, first } = search.model;
  for (let changed = true; changed; ) {
    changed = false;
    for (let i = 0; i < first.length - 1; i++) {
      for (let c = first[i] ?? 0; c < (first[i + 1] ?? 0); c++) {
        const { chosen, solution } = search.best;
        const now = choices[chosen[i] ?? 0];
        const other = choices[c];
        if (now === undefined || other === undefined || now === other) continue;
        const { linear, square } = weightsAt(search.model, solution.multipliers, i);
        if (priceOf(other, linear, square).value >= priceOf(now, linear, square).value) continue;
        const trial = chosen.slice();
        trial[i] = c;
        if (tryChosen(search, trial)) changed = true;
      }
    }
  }
}

/** Bounds a node, closes choices, looks for a better plan; returns the nodes to go on with. */
function explore(search: Search, node: Node, ascents: number): Node[] {
  const { model } = search;
  const target: Target = {
    cost: search.best.cost,
    isBeaten: (bound) => isBeaten(search, bound),
    drop: (bound) => {
      search.dropped = Math.min(search.dropped, bound);
    },
  };
  if (target.isBeaten(node.bound)) {
    target.drop(node.bound);
    return [];
  }
  const open = node.open.slice();
  if (!closeOversized(model, open)) return [];
  const priced = ascend(model, { ...node, open }, target, ascents);
  if (priced === undefined) return [];
  const { bound, values, cheapest } = priced;
  const near = repairChoice(model, priced);
  const at = branchOn(search, priced);
  if (near !== undefined) {
    let lifted = bound;
    near.forEach((c, i) => {
      lifted += (values[c] ?? 0) - (values[cheapest[i] ?? 0] ?? 0);
    });
    // with every choice made, the bound of the choice is all that is left of the node
    if ((at === undefined || !isBeaten(search, lifted)) && tryChosen(search, near)) improve(search);
  }
  if (at === undefined) return [];
  return branches(model, priced, at);
}

function isBeaten({ best }: Search, bound: number): boolean {
  return bound >= best.cost - provenShare * Math.abs(best.cost);
}

/** One node for each open choice of a contributor, the cheapest last: the stack takes it first. */
function branches(
  { first }: ChoiceModel,
  { open, multipliers, bound, values, cheapest }: Priced,
  at: number,
): Node[] {
  const from = first[at] ?? 0;
  const to = first[at + 1] ?? 0;
  const least = values[cheapest[at] ?? 0] ?? 0;
  const nodes: Node[] = [];
  for (let c = from; c < to; c++) {
    if (open[c] !== 1) continue;
    const only = open.slice();
    only.fill(0, from, to);
    only[c] = 1;
    nodes.push({ open: only, multipliers, bound: bound + (values[c] ?? 0) - least });
  }
  return nodes.sort((a, b) => b.bound - a.bound);
}

/**
 * The undecided contributor to decide next, undefined when there is none: its two cheapest choices
 * use the rows differently while their values at the prices are close, so that deciding it moves the
 * bound on both sides.
 */
function branchOn(
  { model }: Search,
  { open, values, tolerances, multipliers, cheapest }: Priced,
): number | undefined {
  const { first } = model;
  let at: number | undefined;
  let most = Number.NEGATIVE_INFINITY;
  cheapest.forEach((best, i) => {
    let second = -1;
    for (let c = first[i] ?? 0; c < (first[i + 1] ?? 0); c++) {
      if (open[c] !== 1 || c === best) continue;
      if (second === -1 || (values[c] ?? 0) < (values[second] ?? 0)) second = c;
    }
    if (second === -1) return;
    const { linear, square } = weightsAt(model, multipliers, i);
    const load = (c: number): number => {
      const t = tolerances[c] ?? 0;
      return (linear + square * t) * t;
    };
    const score =
      Math.abs(load(best) - load(second)) - ((values[second] ?? 0) - (values[best] ?? 0));
    if (score > most) {
      most = score;
      at = i;
    }
  });
  return at;
}
