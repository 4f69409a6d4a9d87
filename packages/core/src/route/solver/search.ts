import { descend, type PairTable } from './descent.js';
import { at, type Choice, choiceCost, type IndexedModel } from './indexed-model.js';
import {
  type Pricing,
  type PricingSpace,
  priceFeatures,
  pricingSpace,
  type RelaxedModel,
} from './relaxation.js';

/** Best choice so far and how the search may end early. */
export interface SearchState {
  best: Choice | undefined;
  bestCost: number;
  nodes: number;
  stopped: boolean;
  /** Smallest bound of a node that was left open because the search stopped. */
  openBound: number;
  readonly nodeLimit: number;
  readonly shouldStop: () => boolean;
  /** A bound within this of the best cost ends a node. */
  readonly tolerance: number;
  /** Every cost is a whole number, so a bound may be rounded up. */
  readonly whole: boolean;
}

/** Undecided, open or shut. */
type SetupStatus = 0 | 1 | -1;

/** The model under one part plan. */
interface PlanProblem extends RelaxedModel {
  readonly plan: number;
}

interface Node {
  readonly alive: Uint8Array;
  readonly status: Int8Array;
  readonly lambda: Float64Array;
}

/**
 * Searches every part plan, the one with the lowest plain bound first, and improves `state.best`. The
 * plain bound is the plan with the cheapest chain of every feature.
 */
export function searchPlans(relaxed: RelaxedModel, table: PairTable, state: SearchState): void {
  const { indexed } = relaxed;
  const space = pricingSpace(indexed);
  const total = indexed.chainIds.length;
  const roots = indexed.planIds.map((_, plan) => {
    const alive = indexed.works.slice(plan * total, (plan + 1) * total);
    const node: Node = {
      alive,
      status: new Int8Array(indexed.setupIds.length),
      lambda: new Float64Array(relaxed.multipliers),
    };
    const problem: PlanProblem = { ...relaxed, plan };
    const bound = propagate(problem, table, node)
      ? at(indexed.planCost, plan) + priceFeatures(problem, alive, node.lambda, space, false).value
      : Number.POSITIVE_INFINITY;
    return { problem, node, bound };
  });
  roots.sort((a, b) => a.bound - b.bound || a.problem.plan - b.problem.plan);
  for (const { problem, node, bound } of roots) {
    if (bound === Number.POSITIVE_INFINITY || closed(bound, state)) continue;
    if (state.stopped) {
      state.openBound = Math.min(state.openBound, bound);
      continue;
    }
    const root = tighten(problem, table, node, state, space, rootSteps);
    if (root !== undefined) branch(problem, table, node, root, state, space);
  }
}

/** Subgradient steps at a root and below it. */
const rootSteps = 120;
const branchSteps = 30;

/** Removes chains that clash with every chain of some feature, and chains of shut set-ups. */
function propagate(problem: PlanProblem, table: PairTable, { alive, status }: Node): boolean {
  const { indexed } = problem;
  const features = indexed.featureIds.length;
  for (let c = 0; c < alive.length; c += 1)
    if (alive[c] === 1 && (indexed.chainSetups[c] as Int32Array).some((s) => status[s] === -1))
      alive[c] = 0;
  const left = new Int32Array(features);
  for (let c = 0; c < alive.length; c += 1) {
    if (alive[c] !== 1) continue;
    const f = at(indexed.chainFeature, c);
    left[f] = at(left, f) + 1;
  }
  if (left.some((count) => count === 0)) return false;
  const blocked = new Int32Array(features);
  for (let again = true; again; ) {
    again = false;
    for (let c = 0; c < alive.length; c += 1) {
      if (alive[c] !== 1) continue;
      const { others, costs } = table.of[c] as PairTable['of'][number];
      if (others.length === 0) continue;
      blocked.fill(0);
      let dead = false;
      for (let i = 0; i < others.length; i += 1) {
        const other = at(others, i);
        if (alive[other] !== 1 || at(costs, i) < 1e12) continue;
        const f = at(indexed.chainFeature, other);
        blocked[f] = at(blocked, f) + 1;
        if (at(blocked, f) === at(left, f)) dead = true;
      }
      if (!dead) continue;
      alive[c] = 0;
      const f = at(indexed.chainFeature, c);
      left[f] = at(left, f) - 1;
      if (at(left, f) === 0) return false;
      again = true;
    }
  }
  return true;
}

interface Tightened {
  readonly bound: number;
  readonly pick: Int32Array;
  /** Cost of each undecided set-up less what its features pay: below 0 it opens in the relaxation. */
  readonly slack: Float64Array;
}

/**
 * Subgradient steps on the multipliers; fixes set-ups and chains by reduced cost on the way. Returns
 * undefined when the node is done with.
 */
function tighten(
  problem: PlanProblem,
  table: PairTable,
  node: Node,
  state: SearchState,
  space: PricingSpace,
  steps: number,
): Tightened | undefined {
  const { indexed, multiplierSetup, chainPlaces } = problem;
  const { alive, status, lambda } = node;
  const setups = indexed.setupIds.length;
  const slack = new Float64Array(setups);
  const slope = new Float64Array(problem.multipliers);
  const trial = Float64Array.from(lambda);
  for (let m = 0; m < trial.length; m += 1) if (status[at(multiplierSetup, m)] === 1) trial[m] = 0;
  let bound = Number.NEGATIVE_INFINITY;
  const pick = new Int32Array(indexed.featureIds.length);
  let scale = 1.6;
  let stale = 0;
  for (let step = 0; step <= steps; step += 1) {
    const priced = priceFeatures(problem, alive, trial, space, false);
    if (priced.value === Number.POSITIVE_INFINITY) return undefined;
    const current = priced.value + setupPart(problem, status, trial, slack);
    if (current > bound) {
      const much = current > bound + 1e-4 * Math.abs(bound);
      bound = current;
      lambda.set(trial);
      pick.set(priced.pick);
      if (much) stale = 0;
    } else stale += 1;
    if (closed(bound, state)) return undefined;
    if (step === 0 || step % 25 === 24) offerDescent(problem, table, priced.pick, state);
    if (stale >= 6) {
      scale *= 0.6;
      stale = 0;
      trial.set(lambda);
      if (scale < 0.02) break;
      priceFeatures(problem, alive, trial, space, false);
      setupPart(problem, status, trial, slack);
    }
    // What each set-up's use by the picks says against what its opening pays.
    for (let m = 0; m < slope.length; m += 1) {
      const s = at(multiplierSetup, m);
      slope[m] = status[s] === 0 && at(slack, s) < 0 ? -1 : 0;
    }
    for (const c of priced.pick) {
      const places = chainPlaces[c] as Int32Array;
      for (let i = 0; i < places.length; i += 1) {
        const m = at(places, i);
        if (status[at(multiplierSetup, m)] === 0) slope[m] = at(slope, m) + 1;
      }
    }
    let norm = 0;
    for (let m = 0; m < slope.length; m += 1) {
      if (at(slope, m) < 0 && at(trial, m) <= 0) slope[m] = 0;
      norm += at(slope, m) ** 2;
    }
    if (norm === 0) break;
    const target = Number.isFinite(state.bestCost)
      ? state.bestCost
      : bound + 0.05 * Math.abs(bound) + 1;
    const move = (scale * Math.max(target - current, 1e-6 * Math.abs(target))) / norm;
    for (let m = 0; m < slope.length; m += 1)
      trial[m] = Math.max(0, at(trial, m) + move * at(slope, m));
  }
  const fixed = fix(problem, table, node, bound, state, space, slack);
  if (fixed === 'done') return undefined;
  return { bound, pick, slack };
}

/** Cost of the part plan and the set-ups in the relaxation; writes the slack of undecided ones. */
function setupPart(
  problem: PlanProblem,
  status: Int8Array,
  lambda: Float64Array,
  slack: Float64Array,
): number {
  const { indexed, multiplierSetup } = problem;
  slack.set(indexed.setupCost);
  for (let m = 0; m < lambda.length; m += 1) {
    const s = at(multiplierSetup, m);
    if (status[s] === 0) slack[s] = at(slack, s) - at(lambda, m);
  }
  let sum = at(indexed.planCost, problem.plan);
  for (let s = 0; s < slack.length; s += 1) {
    if (status[s] === 1) sum += at(indexed.setupCost, s);
    else if (status[s] === 0 && at(slack, s) < 0) sum += at(slack, s);
  }
  return sum;
}

/** A choice at least this dear cannot beat the best one known. */
function closed(bound: number, state: SearchState): boolean {
  if (state.best === undefined) return false;
  return (
    (state.whole ? Math.ceil(bound - 1e-6 * Math.max(1, Math.abs(bound) * 1e-6)) : bound) >=
    state.bestCost - state.tolerance
  );
}

/** Fixes what reduced costs decide at the best multipliers of the node. */
function fix(
  problem: PlanProblem,
  table: PairTable,
  node: Node,
  bound: number,
  state: SearchState,
  space: PricingSpace,
  slack: Float64Array,
): 'done' | 'open' {
  const { alive, status, lambda } = node;
  const priced = priceFeatures(problem, alive, lambda, space, true);
  setupPart(problem, status, lambda, slack);
  let changed = false;
  for (let s = 0; s < slack.length; s += 1) {
    if (status[s] !== 0) continue;
    const other: SetupStatus = at(slack, s) < 0 ? 1 : -1;
    if (closed(bound + Math.abs(at(slack, s)), state)) {
      status[s] = other;
      changed = true;
    }
  }
  for (let c = 0; c < alive.length; c += 1)
    if (alive[c] === 1 && closed(bound + at(priced.excess, c), state)) {
      alive[c] = 0;
      changed = true;
    }
  return !changed || propagate(problem, table, node) ? 'open' : 'done';
}

function offerDescent(
  problem: PlanProblem,
  table: PairTable,
  pick: Int32Array,
  state: SearchState,
): void {
  if (pick.includes(-1)) return;
  const choice = descend(problem.indexed, table, problem.plan, pick);
  if (choice !== undefined) offer(problem.indexed, state, choice);
}

function branch(
  problem: PlanProblem,
  table: PairTable,
  node: Node,
  here: Tightened,
  state: SearchState,
  space: PricingSpace,
): void {
  if (closed(here.bound, state)) return;
  state.nodes += 1;
  if (state.stopped || state.nodes > state.nodeLimit || state.shouldStop()) {
    state.stopped = true;
    state.openBound = Math.min(state.openBound, here.bound);
    return;
  }
  offerDescent(problem, table, here.pick, state);
  if (closed(here.bound, state)) return;
  const visit = (change: (child: Node) => void): void => {
    const child: Node = {
      alive: Uint8Array.from(node.alive),
      status: Int8Array.from(node.status),
      lambda: Float64Array.from(node.lambda),
    };
    change(child);
    if (!propagate(problem, table, child)) return;
    const next = tighten(problem, table, child, state, space, branchSteps);
    if (next === undefined) return;
    branch(
      problem,
      table,
      child,
      { ...next, bound: Math.max(next.bound, here.bound) },
      state,
      space,
    );
  };
  const clashing = worstClash(problem, here.pick);
  const setup = clashing === undefined ? splitSetup(problem, node, here) : undefined;
  if (setup !== undefined) {
    visit((child) => {
      child.status[setup] = 1;
    });
    visit((child) => {
      child.status[setup] = -1;
    });
    return;
  }
  const chain = clashing ?? splitChain(problem, node, here, space);
  if (chain === undefined) {
    // Nothing is left to decide: the only choice has been offered.
    return;
  }
  const f = at(problem.indexed.chainFeature, chain);
  visit((child) => {
    for (
      let c = at(problem.indexed.featureStart, f);
      c < at(problem.indexed.featureStart, f + 1);
      c += 1
    )
      if (c !== chain) child.alive[c] = 0;
  });
  visit((child) => {
    child.alive[chain] = 0;
  });
}

/** The picked chain with the dearest pairs outside the forest, when there are any. */
function worstClash(problem: PlanProblem, pick: Int32Array): number | undefined {
  let worst: number | undefined;
  let most = 0;
  for (const c of pick) {
    let cost = 0;
    for (const { other, cost: price } of problem.loose[c] ?? [])
      if (pick.includes(other)) cost += Math.min(1e13, Math.abs(price));
    if (cost > most) {
      most = cost;
      worst = c;
    }
  }
  return worst;
}

/** The undecided set-up whose opening the relaxation settles least: most at stake first. */
function splitSetup(problem: PlanProblem, node: Node, here: Tightened): number | undefined {
  const { indexed } = problem;
  const uses = new Int32Array(indexed.setupIds.length);
  for (const c of here.pick)
    for (const s of indexed.chainSetups[c] ?? []) uses[s] = at(uses, s) + 1;
  let best: number | undefined;
  let most = -1;
  for (let s = 0; s < uses.length; s += 1) {
    if (node.status[s] !== 0) continue;
    const open = at(here.slack, s) < 0;
    const used = at(uses, s) > 0;
    if (!used && !open) continue;
    const stake =
      (used !== open ? 1e6 : 0) +
      at(uses, s) * 1e3 +
      at(indexed.setupCost, s) / (1 + Math.abs(at(here.slack, s)));
    if (stake > most) {
      most = stake;
      best = s;
    }
  }
  if (best !== undefined) return best;
  for (let c = 0; c < node.alive.length; c += 1) {
    if (node.alive[c] !== 1) continue;
    for (const s of indexed.chainSetups[c] ?? []) if (node.status[s] === 0) return s;
  }
  return undefined;
}

/** A picked chain of a feature that still has others: the one whose rival is nearest. */
function splitChain(
  problem: PlanProblem,
  node: Node,
  here: Tightened,
  space: PricingSpace,
): number | undefined {
  const { indexed } = problem;
  const priced: Pricing = priceFeatures(problem, node.alive, node.lambda, space, true);
  let best: number | undefined;
  let least = Number.POSITIVE_INFINITY;
  for (const [f, chosen] of here.pick.entries())
    for (let c = at(indexed.featureStart, f); c < at(indexed.featureStart, f + 1); c += 1) {
      if (node.alive[c] !== 1 || c === chosen) continue;
      if (at(priced.excess, c) < least) {
        least = at(priced.excess, c);
        best = chosen;
      }
    }
  return best;
}

/** Keeps the choice if it costs less than the best, or as much and comes first by ids. */
export function offer(indexed: IndexedModel, state: SearchState, choice: Choice): void {
  if (choice.chains.includes(-1)) return;
  const cost = choiceCost(indexed, choice);
  if (cost === Number.POSITIVE_INFINITY || cost > state.bestCost) return;
  if (cost === state.bestCost && state.best !== undefined && !comesFirst(choice, state.best))
    return;
  state.best = { plan: choice.plan, chains: Int32Array.from(choice.chains) };
  state.bestCost = cost;
}

function comesFirst(one: Choice, other: Choice): boolean {
  if (one.plan !== other.plan) return one.plan < other.plan;
  for (let f = 0; f < one.chains.length; f += 1) {
    const difference = at(one.chains, f) - at(other.chains, f);
    if (difference !== 0) return difference < 0;
  }
  return false;
}
