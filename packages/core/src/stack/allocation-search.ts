import { type CurveSolution, solveCurves } from './allocation-curves.js';
import {
  type CurveProblem,
  cheapestTolerance,
  curveCost,
  dualBound,
  kktResidual,
  weightsOn,
} from './allocation-dual.js';
import { type BudgetRow, partOf, roundingShare, rowUse } from './allocation-model.js';

/** A process of one contributor: fixed + scale / T^power on a range; scale 0 for a single grade. */
export interface Choice {
  readonly id: string;
  readonly fixed: number;
  readonly scale: number;
  readonly power: number;
  readonly lower: number;
  readonly upper: number;
}

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
const nodeAscents = 12;

interface Node {
  /** Choices still open, by contributor. */
  readonly open: readonly (readonly number[])[];
  readonly multipliers: Float64Array;
  readonly bound: number;
}

interface Best {
  cost: number;
  chosen: readonly number[];
  solution: CurveSolution | undefined;
  kktResidual: number;
}

interface Search {
  readonly choices: readonly (readonly Choice[])[];
  readonly rows: readonly BudgetRow[];
  readonly best: Best;
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
  const search: Search = {
    choices,
    rows,
    best: { cost: Number.POSITIVE_INFINITY, chosen: [], solution: undefined, kktResidual: 0 },
    dropped: Number.POSITIVE_INFINITY,
  };
  tryChoice(search, choices.map(finest));
  const stack: Node[] = [
    {
      open: choices.map((of) => of.map((_choice, p) => p)),
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
  let lowerBound = Math.min(search.best.cost, search.dropped);
  for (const node of stack) lowerBound = Math.min(lowerBound, node.bound);
  const { cost, chosen, solution, kktResidual: residual } = search.best;
  if (solution === undefined) throw new Error('search of an infeasible allocation');
  const proven = stack.length === 0;
  return { cost, chosen, solution, kktResidual: residual, lowerBound, nodes, proven };
}

function finest(of: readonly Choice[]): number {
  let best = 0;
  of.forEach((choice, p) => {
    if (choice.lower < (of[best]?.lower ?? 0)) best = p;
  });
  return best;
}

/** Best tolerances for given processes; keeps them when they are the cheapest so far. */
function tryChoice(search: Search, chosen: readonly number[]): void {
  const picked = search.choices.flatMap((of, i) => of[chosen[i] ?? 0] ?? []);
  const problem: CurveProblem = {
    scale: Float64Array.from(picked, ({ scale }) => scale),
    power: Float64Array.from(picked, ({ power }) => power),
    lower: Float64Array.from(picked, ({ lower }) => lower),
    upper: Float64Array.from(picked, ({ lower, upper, scale }) => (scale > 0 ? upper : lower)),
    rows: search.rows,
  };
  const feasible = search.rows.every(
    (row) => rowUse(row, problem.lower) <= row.budget * (1 + roundingShare),
  );
  if (!feasible) return;
  const solution = solveCurves(problem);
  let constant = 0;
  for (const { fixed } of picked) constant += fixed;
  const cost = constant + curveCost(problem, solution.tolerances);
  search.dropped = Math.min(search.dropped, constant + dualBound(problem, solution.multipliers));
  const { best } = search;
  if (cost < best.cost - provenShare * Math.abs(best.cost) || best.solution === undefined) {
    best.cost = cost;
    best.chosen = chosen;
    best.solution = solution;
    best.kktResidual = kktResidual(problem, solution.tolerances, solution.multipliers);
  }
}

/** Bounds a node, drops choices, looks for a better plan; returns the nodes to go on with. */
function explore(search: Search, node: Node, ascents: number): Node[] {
  const { best } = search;
  if (isBeaten(search, node.bound)) return drop(search, node.bound);
  const reachable = dropOversized(search, node.open);
  if (reachable === undefined) return [];
  const priced = ascend(search, { ...node, open: reachable }, ascents);
  if (priced === undefined) return [];
  const { open, multipliers, bound, values } = priced;
  const cheapest = values.map((of, i) => open[i]?.[indexOfLeast(of)] ?? 0);
  if (best.chosen.some((p, i) => p !== cheapest[i])) tryChoice(search, cheapest);
  if (open.every((of) => of.length === 1)) return [];
  if (isBeaten(search, bound)) return drop(search, bound);

  const at = branchOn(search, priced);
  const order = (open[at] ?? []).map((choice, p) => ({ choice, value: values[at]?.[p] ?? 0 }));
  const least = Math.min(...order.map(({ value }) => value));
  // the stack takes the last first: the cheapest choice goes on top
  return order
    .sort((a, b) => b.value - a.value || b.choice - a.choice)
    .map(({ choice, value }) => ({
      open: open.map((of, i) => (i === at ? [choice] : of)),
      multipliers,
      bound: bound + value - least,
    }));
}

function isBeaten({ best }: Search, bound: number): boolean {
  return bound >= best.cost - provenShare * Math.abs(best.cost);
}

function drop(search: Search, bound: number): [] {
  search.dropped = Math.min(search.dropped, bound);
  return [];
}

/** Drops choices that cannot fit even with all others at their finest; undefined when none fits. */
function dropOversized(
  { choices, rows }: Search,
  open: readonly (readonly number[])[],
): (readonly number[])[] | undefined {
  const smallest = open.map((of, i) =>
    Math.min(...of.map((p) => choices[i]?.[p]?.lower ?? Number.POSITIVE_INFINITY)),
  );
  const room = rows.map((row) => row.budget * (1 + roundingShare) - rowUse(row, smallest));
  if (room.some((left) => left < 0)) return undefined;
  return open.map((of, i) =>
    of.filter((p) =>
      rows.every((row, j) => {
        const more = partOf(row, i, choices[i]?.[p]?.lower ?? 0) - partOf(row, i, smallest[i] ?? 0);
        return more <= (room[j] ?? 0);
      }),
    ),
  );
}

interface Priced extends Node {
  /** Cost at the prices of every open choice, in the order of `open`. */
  readonly values: readonly (readonly number[])[];
  /** Tolerance that goes with each. */
  readonly tolerances: readonly (readonly number[])[];
}

/**
 * Raises the Lagrangian bound by subgradient steps on the multipliers (Polyak's step towards the
 * best known cost), dropping choices on the way. Undefined when the node is beaten.
 */
function ascend(search: Search, node: Node, ascents: number): Priced | undefined {
  const { rows } = search;
  let open = node.open;
  let multipliers: Float64Array = node.multipliers;
  let top = price(search, open, multipliers);
  let stride = 1;
  let idle = 0;
  for (let step = 0; step < ascents; step++) {
    const here = step === 0 ? top : price(search, open, multipliers);
    if (here.bound > top.bound || step === 0) {
      idle = 0;
      top = here;
      if (isBeaten(search, top.bound)) {
        drop(search, top.bound);
        return undefined;
      }
    } else if (++idle >= 4) {
      idle = 0;
      stride /= 2;
      multipliers = top.multipliers;
    }
    const kept = dropDear(search, here);
    if (kept !== undefined) {
      open = kept;
      top = price(search, open, top.multipliers);
    }
    const from = idle === 0 ? top : here;
    const slopes = rows.map((row, j) => {
      let use = 0;
      from.values.forEach((of, i) => {
        use += partOf(row, i, from.tolerances[i]?.[indexOfLeast(of)] ?? 0);
      });
      const slope = use / row.budget - 1;
      return slope < 0 && (from.multipliers[j] ?? 0) === 0 ? 0 : slope;
    });
    let square = 0;
    for (const slope of slopes) square += slope * slope;
    if (square < 1e-24) break;
    const length = (stride * (search.best.cost - from.bound)) / square;
    multipliers = from.multipliers.map((lambda, j) =>
      Math.max(0, lambda + (length * (slopes[j] ?? 0)) / (rows[j]?.budget ?? 1)),
    );
  }
  return top;
}

/** Values of all open choices at given multipliers, and the bound that they make. */
function price(
  { choices, rows }: Search,
  open: readonly (readonly number[])[],
  multipliers: Float64Array,
): Priced {
  let bound = 0;
  const tolerances: number[][] = [];
  const values = open.map((of, i) => {
    const weights = weightsOn(rows, multipliers, i);
    const at: number[] = [];
    tolerances.push(at);
    const priced = of.map((p) => {
      const choice = choices[i]?.[p];
      if (choice === undefined) return Number.POSITIVE_INFINITY;
      const { fixed, scale, power, lower, upper } = choice;
      const t = cheapestTolerance(scale, power, lower, upper, weights);
      at.push(t);
      const made = scale > 0 ? fixed + scale / t ** power : fixed;
      return made + weights.linear * t + weights.square * t * t;
    });
    bound += Math.min(...priced);
    return priced;
  });
  rows.forEach((row, j) => {
    bound -= (multipliers[j] ?? 0) * row.budget;
  });
  return { open, multipliers, bound, values, tolerances };
}

/** Open choices without those that would lift the bound over the best cost; undefined: all stay. */
function dropDear(search: Search, { open, values, bound }: Priced): number[][] | undefined {
  let any = false;
  const kept = open.map((of, i) => {
    const least = Math.min(...(values[i] ?? []));
    return of.filter((_p, at) => {
      const lifted = bound + (values[i]?.[at] ?? 0) - least;
      if (!isBeaten(search, lifted) || (values[i]?.[at] ?? 0) === least) return true;
      drop(search, lifted);
      any = true;
      return false;
    });
  });
  return any ? kept : undefined;
}

function indexOfLeast(values: readonly number[]): number {
  let at = 0;
  values.forEach((value, index) => {
    if (value < (values[at] ?? 0)) at = index;
  });
  return at;
}

/** The undecided contributor whose two cheapest choices differ most in what they use of the rows. */
function branchOn({ rows }: Search, { open, values, tolerances, multipliers }: Priced): number {
  let at = -1;
  let most = Number.NEGATIVE_INFINITY;
  open.forEach((of, i) => {
    if (of.length < 2) return;
    const order = (values[i] ?? [])
      .map((value, p) => ({ value, t: tolerances[i]?.[p] ?? 0 }))
      .sort((a, b) => a.value - b.value);
    const [first, second] = order;
    const weights = weightsOn(rows, multipliers, i);
    const loadOf = (t: number): number => weights.linear * t + weights.square * t * t;
    const difference = Math.abs(loadOf(first?.t ?? 0) - loadOf(second?.t ?? 0));
    if (difference > most) {
      most = difference;
      at = i;
    }
  });
  return at;
}
