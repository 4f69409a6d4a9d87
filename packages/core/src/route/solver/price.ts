import { type AscentRule, raiseBound } from './ascent.js';
import { chooseBranch } from './branch.js';
import { createFixing, type Fixing, fixByBound } from './fixing.js';
import { type Incumbent, isOnlyCheck, limit, offerFromBound, offerOnly } from './incumbent.js';
import { at, type IndexedModel } from './indexed-model.js';
import { buildLocalProblem, createLocalProblem, type LocalProblem } from './local-problem.js';
import type { SearchNode } from './node.js';
import { createPropagation, type Propagation, propagate } from './propagate.js';

/** Scratch for bounding nodes. */
export interface Pricing {
  readonly work: Propagation;
  readonly local: LocalProblem;
  readonly fixing: Fixing;
  /** Nodes bounded so far. */
  nodes: number;
  /** The last root bounded: its multipliers start the next. */
  lastRoot: SearchNode | undefined;
}

/** Steps for the first part plan, for the others (from the multipliers of the last) and below. */
const firstRootRule: AscentRule = { steps: 100, length: 1 };
const rootRule: AscentRule = { steps: 30, length: 1 };
const nodeRule: AscentRule = { steps: 20, length: 1.5 };
/** Times that a node is bounded again because the bound decided set-ups. */
const repeats = 2;
/** At a root a choice is tried every so many steps. */
const tryEvery = 16;
/** Most set-ups in a cluster. */
const clusterSize = 6;

export function createPricing(model: IndexedModel): Pricing {
  const local = createLocalProblem(model);
  return {
    work: createPropagation(model),
    local,
    fixing: createFixing(local.share.length, model.chainIds.length),
    nodes: 0,
    lastRoot: undefined,
  };
}

/** Bounds the root of a part plan. */
export function priceRoot(incumbent: Incumbent, pricing: Pricing, root: SearchNode): void {
  const { model } = incumbent;
  const { lastRoot } = pricing;
  root.priced = true;
  if (lastRoot === undefined) {
    const users = new Int32Array(model.setupIds.length);
    for (const s of model.linkSetup) users[s] = at(users, s) + 1;
    for (let f = 0; f < root.budget.length; f += 1) {
      root.budget[f] = costWithShares(model, root, users, f);
    }
    priceNode(incumbent, pricing, root, firstRootRule);
  } else {
    root.share.set(lastRoot.share);
    root.budget.set(lastRoot.budget);
    root.cluster.set(lastRoot.cluster);
    priceNode(incumbent, pricing, root, rootRule);
  }
  if (root.bound < Number.POSITIVE_INFINITY) pricing.lastRoot = root;
}

/** Bounds a node below a root. */
export function priceChild(incumbent: Incumbent, pricing: Pricing, node: SearchNode): void {
  priceNode(incumbent, pricing, node, nodeRule);
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
 * Propagates, raises the bound, decides what it forces, and again while set-ups are decided that
 * way. Offers the choice that the bound suggests and chooses the next branch. The bound becomes
 * Infinity if the node holds nothing.
 */
function priceNode(
  incumbent: Incumbent,
  pricing: Pricing,
  node: SearchNode,
  rule: AscentRule,
): void {
  const { model } = incumbent;
  const { work, local } = pricing;
  pricing.nodes += 1;
  for (let round = 0; ; round += 1) {
    if (!propagate(model, node, work)) {
      node.bound = Number.POSITIVE_INFINITY;
      return;
    }
    buildLocalProblem(model, node, work, local, clusterSize);
    const bound = raiseBound(
      local,
      () => limit(incumbent),
      { ...rule, steps: round === 0 ? rule.steps : rule.steps >> 1 },
      (step) => {
        if (node.depth > 0 || step % tryEvery !== tryEvery - 1 || isOnlyCheck(incumbent)) return;
        offerFromBound(incumbent, node, local, pricing.nodes);
      },
    );
    node.bound = Math.max(node.bound, bound);
    if (node.bound > limit(incumbent)) return;
    keepMultipliers(local, node);
    const decided = fixByBound(local, node, pricing.fixing, limit(incumbent));
    if (decided < 0) {
      node.bound = Number.POSITIVE_INFINITY;
      return;
    }
    if (decided === 0 || round >= repeats) break;
  }
  node.branch = chooseBranch(model, node, local);
  if (node.branch === undefined) offerOnly(incumbent, node);
  else offerFromBound(incumbent, node, local, pricing.nodes);
}

function keepMultipliers(local: LocalProblem, node: SearchNode): void {
  for (let l = 0; l < local.multipliers; l += 1) {
    local.share[l] = at(local.bestShare, l);
    node.share[at(local.multiplierOf, l)] = at(local.bestShare, l);
  }
  for (let f = 0; f < local.features; f += 1) {
    local.budget[f] = at(local.bestBudget, f);
    node.budget[at(local.featureOf, f)] = at(local.bestBudget, f);
  }
}
