import { type AscentRule, raiseBound } from './ascent.js';
import { chooseBranch } from './branch.js';
import { createDescent, type Descent, descend } from './descent.js';
import { createFixing, type Fixing, fixByBound } from './fixing.js';
import { at, type Choice, choiceCost, type IndexedModel } from './indexed-model.js';
import { buildLocalProblem, createLocalProblem, type LocalProblem } from './local-problem.js';
import { childNode, planRoot, type SearchNode } from './node.js';
import { type NodeHeap, popNode, pushNode } from './node-heap.js';
import { createPropagation, type Propagation, propagate } from './propagate.js';

export interface SearchLimits {
  readonly nodeLimit: number;
  readonly shouldStop: () => boolean;
}

export interface SearchResult {
  readonly best: Choice | undefined;
  readonly bestCost: number;
  /** No choice costs less; equal to `bestCost` if the search is complete. */
  readonly lowerBound: number;
  readonly complete: boolean;
  readonly nodes: number;
}

/** Steps for the first part plan, for the others (from the multipliers of the last) and below. */
const firstRootRule: AscentRule = { steps: 300, length: 1 };
const rootRule: AscentRule = { steps: 50, length: 1 };
const nodeRule: AscentRule = { steps: 20, length: 1.5 };
/** Times that a node is bounded again because the bound decided set-ups. */
const repeats = 2;
/** Above this many open nodes the search goes depth first, to bound the memory. */
const mostOpenNodes = 20000;
/** A choice this close to the best is worth a descent. */
const descentReach = 0.2;
/** After n descents in vain, n / this many nodes pass before the next. */
const vainDescents = 4;
/** At a root a choice is tried every so many steps. */
const tryEvery = 16;

interface Search {
  readonly model: IndexedModel;
  readonly work: Propagation;
  readonly local: LocalProblem;
  readonly fixing: Fixing;
  /** Scratch: set-ups that are open in the choice at hand. */
  readonly open: Uint8Array;
  readonly descent: Descent;
  /** Choices from which a descent has started. */
  readonly tried: Set<number>;
  /** Descents in vain since the last that found a better choice. */
  vain: number;
  /** No descent below a root before this node. */
  nextDescent: number;
  readonly clusterSize: number;
  /** Bounds are computed with rounding errors far below this; costs are compared as they are. */
  readonly tolerance: number;
  best: Choice | undefined;
  bestCost: number;
  nodes: number;
  /** The last priced root: its multipliers start the next. */
  lastRoot: SearchNode | undefined;
}

/**
 * Best-first branch and bound over all part plans. A node is given up only if its bound lies above
 * the best cost, so that among choices of equal cost all are met and the first by ids is kept.
 */
export function searchChoices(
  model: IndexedModel,
  start: Choice | undefined,
  limits: SearchLimits,
): SearchResult {
  const search = createSearch(model);
  const open: NodeHeap = { nodes: [] };
  for (let plan = 0; plan < model.planIds.length; plan += 1) {
    const root = planRoot(model, plan);
    if (root.bound < Number.POSITIVE_INFINITY) pushNode(open, root);
  }
  if (start !== undefined) offer(search, start);
  if (search.best === undefined) offerFirst(search, open);
  const stack: SearchNode[] = [];
  let stopped = false;
  for (;;) {
    const node = stack.pop() ?? popNode(open);
    if (node === undefined) break;
    if (node.bound > limit(search)) continue;
    if (search.nodes >= limits.nodeLimit || limits.shouldStop()) {
      stack.push(node);
      stopped = true;
      break;
    }
    for (const next of expand(search, node)) {
      if (open.nodes.length < mostOpenNodes) pushNode(open, next);
      else stack.push(next);
    }
  }
  let lowerBound = search.bestCost;
  for (const node of [...stack, ...open.nodes]) lowerBound = Math.min(lowerBound, node.bound);
  return {
    best: search.best,
    bestCost: search.bestCost,
    lowerBound,
    complete: !stopped || (search.best !== undefined && lowerBound >= search.bestCost),
    nodes: search.nodes,
  };
}

function createSearch(model: IndexedModel): Search {
  const local = createLocalProblem(model);
  const sum = sumOfCosts(model);
  return {
    model,
    work: createPropagation(model),
    local,
    open: new Uint8Array(model.setupIds.length),
    fixing: createFixing(local.share.length, model.chainIds.length),
    descent: createDescent(model, 2 * sum + 1),
    tried: new Set(),
    vain: 0,
    nextDescent: 0,
    clusterSize: 6,
    tolerance: 1e-12 * sum,
    best: undefined,
    bestCost: Number.POSITIVE_INFINITY,
    nodes: 0,
    lastRoot: undefined,
  };
}

function sumOfCosts(model: IndexedModel): number {
  let sum = 0;
  const tables = [model.planCost, model.setupCost, model.chainCost];
  for (const costs of [...tables, ...model.relations.map((relation) => relation.costs)]) {
    for (const cost of costs) if (Number.isFinite(cost)) sum += Math.abs(cost);
  }
  return sum;
}

function limit(search: Search): number {
  return search.bestCost + search.tolerance;
}

/** The nodes that replace a node; an unpriced root is replaced by itself, priced. */
function expand(search: Search, node: SearchNode): SearchNode[] {
  const kept: SearchNode[] = [];
  const { branch } = node;
  if (!node.priced) {
    priceRoot(search, node);
    if (node.bound <= limit(search)) kept.push(node);
  } else if (branch !== undefined) {
    for (const taken of [true, false]) {
      const child = childNode(search.model, node, branch, taken);
      price(search, child, nodeRule);
      if (child.bound <= limit(search)) kept.push(child);
    }
  }
  return kept.filter(({ branch: next }) => next !== undefined);
}

function priceRoot(search: Search, root: SearchNode): void {
  const { model, lastRoot } = search;
  root.priced = true;
  if (lastRoot === undefined) {
    const users = new Int32Array(model.setupIds.length);
    for (const s of model.linkSetup) users[s] = (users[s] as number) + 1;
    for (let f = 0; f < root.budget.length; f += 1) {
      root.budget[f] = costWithShares(model, root, users, f);
    }
    price(search, root, firstRootRule);
  } else {
    root.share.set(lastRoot.share);
    root.budget.set(lastRoot.budget);
    root.cluster.set(lastRoot.cluster);
    price(search, root, rootRule);
  }
  if (root.bound < Number.POSITIVE_INFINITY) search.lastRoot = root;
}

/** Cheapest chain of a feature if every set-up is shared alike by all features that can use it. */
function costWithShares(
  model: IndexedModel,
  root: SearchNode,
  users: Int32Array,
  f: number,
): number {
  let least = Number.POSITIVE_INFINITY;
  for (let c = at(model.featureStart, f); c < at(model.featureStart, f + 1); c += 1) {
    if (root.alive[c] !== 1) continue;
    let cost = at(model.chainCost, c);
    for (const s of model.chainSetups[c] as Int32Array) {
      cost += at(model.setupCost, s) / at(users, s);
    }
    least = Math.min(least, cost);
  }
  return least;
}

/**
 * Bounds a node: propagate, raise the bound, decide what it forces, and again while set-ups are
 * decided that way. Offers the choice that the bound suggests and chooses the next branch.
 */
function price(search: Search, node: SearchNode, rule: AscentRule): void {
  const { model, work, local } = search;
  search.nodes += 1;
  for (let round = 0; ; round += 1) {
    if (!propagate(model, node, work)) {
      node.bound = Number.POSITIVE_INFINITY;
      return;
    }
    buildLocalProblem(model, node, work, local, search.clusterSize);
    const steps = round === 0 ? rule.steps : rule.steps >> 1;
    const bound = raiseBound(
      local,
      () => limit(search),
      { ...rule, steps },
      (step) => {
        if (node.depth === 0 && step % tryEvery === tryEvery - 1) offerFromBound(search, node);
      },
    );
    node.bound = Math.max(node.bound, bound);
    if (node.bound > limit(search)) return;
    keepMultipliers(local, node);
    const decided = fixByBound(local, node, search.fixing, limit(search));
    if (decided < 0) {
      node.bound = Number.POSITIVE_INFINITY;
      return;
    }
    if (decided === 0 || round >= repeats) break;
  }
  offerFromBound(search, node);
  node.branch = chooseBranch(model, node, local);
}

function keepMultipliers(local: LocalProblem, node: SearchNode): void {
  for (let l = 0; l < local.multipliers; l += 1) {
    local.share[l] = local.bestShare[l] as number;
    node.share[local.multiplierOf[l] as number] = local.bestShare[l] as number;
  }
  for (let f = 0; f < local.features; f += 1) {
    local.budget[f] = local.bestBudget[f] as number;
    node.budget[local.featureOf[f] as number] = local.bestBudget[f] as number;
  }
}

/** With the set-ups that the bound opens, gives every feature its cheapest chain. */
function offerFromBound(search: Search, node: SearchNode): void {
  const { model, local, work, open } = search;
  const isLeaf = local.features === 0;
  if (!isLeaf && node.depth > 0 && search.nodes < search.nextDescent) return;
  for (let s = 0; s < open.length; s += 1) open[s] = node.status[s] === 1 ? 1 : 0;
  for (let k = 0; k < local.clusters.length; k += 1) {
    const members = local.clusters[k] as readonly number[];
    for (let b = 0; b < members.length; b += 1) {
      if (((local.subset[k] as number) >> b) & 1) open[members[b] as number] = 1;
    }
  }
  const chains = Int32Array.from(work.decided);
  for (let f = 0; f < chains.length; f += 1) {
    if (at(chains, f) < 0) chains[f] = cheapestWith(model, node, open, f);
    if (at(chains, f) < 0) return;
  }
  const choice = { plan: node.plan, chains };
  if (isLeaf) {
    offer(search, choice);
    return;
  }
  const reach = search.bestCost + descentReach * Math.abs(search.bestCost);
  if (node.depth > 0 && choiceCost(model, choice) > reach) return;
  const key = fingerprint(choice);
  if (search.tried.has(key)) return;
  search.tried.add(key);
  const before = search.bestCost;
  offer(search, descend(model, search.descent, choice));
  search.vain = search.bestCost < before ? 0 : search.vain + 1;
  search.nextDescent = search.nodes + search.vain / vainDescents;
}

/** A number that rarely is the same for two choices. */
function fingerprint({ plan, chains }: Choice): number {
  let key = plan;
  for (const chain of chains) key = (key * 69069 + chain + 1) % 4294967291;
  return key;
}

function cheapestWith(model: IndexedModel, node: SearchNode, open: Uint8Array, f: number): number {
  let best = -1;
  let least = Number.POSITIVE_INFINITY;
  for (let c = at(model.featureStart, f); c < at(model.featureStart, f + 1); c += 1) {
    if (node.alive[c] !== 1) continue;
    let cost = at(model.chainCost, c);
    const setups = model.chainSetups[c] as Int32Array;
    for (let i = 0; i < setups.length; i += 1) {
      const s = setups[i] as number;
      if (open[s] !== 1) cost += model.setupCost[s] as number;
    }
    if (cost < least) {
      least = cost;
      best = c;
    }
  }
  return best;
}

/** A first choice from the part plan with the lowest plain bound that yields one. */
function offerFirst(search: Search, open: NodeHeap): void {
  const { model } = search;
  const users = new Int32Array(model.setupIds.length);
  for (const s of model.linkSetup) users[s] = (users[s] as number) + 1;
  const shut = new Uint8Array(model.setupIds.length);
  for (const root of [...open.nodes].sort((a, b) => a.bound - b.bound || a.plan - b.plan)) {
    const chains = new Int32Array(model.featureIds.length);
    for (let f = 0; f < chains.length; f += 1) chains[f] = cheapestWith(model, root, shut, f);
    offer(search, descend(model, search.descent, { plan: root.plan, chains }));
    if (search.best !== undefined) return;
  }
}

/** Keeps the choice if it costs less than the best, or as much and comes first by ids. */
function offer(search: Search, choice: Choice): void {
  const cost = choiceCost(search.model, choice);
  if (cost === Number.POSITIVE_INFINITY || cost > search.bestCost) return;
  const { best } = search;
  if (cost === search.bestCost && best !== undefined && !comesFirst(choice, best)) return;
  search.best = { plan: choice.plan, chains: Int32Array.from(choice.chains) };
  search.bestCost = cost;
}

function comesFirst(one: Choice, other: Choice): boolean {
  if (one.plan !== other.plan) return one.plan < other.plan;
  for (let f = 0; f < one.chains.length; f += 1) {
    const difference = at(one.chains, f) - at(other.chains, f);
    if (difference !== 0) return difference < 0;
  }
  return false;
}
