import { createDescent, type Descent, descend } from './descent.js';
import { at, type Choice, choiceCost, type IndexedModel } from './indexed-model.js';
import type { LocalProblem } from './local-problem.js';
import type { SearchNode } from './node.js';

/** The best choice found so far, and what the search for better ones needs. */
export interface Incumbent {
  readonly model: IndexedModel;
  best: Choice | undefined;
  bestCost: number;
  /** Choices that cost more are not kept. */
  readonly cutoff: number;
  /** Bounds are computed with rounding errors far below this; costs are compared as they are. */
  readonly tolerance: number;
  /** No cost lies between the best and this far below it: 1 or so if all costs are whole. */
  readonly grain: number;
  readonly descent: Descent;
  /** Choices from which a descent has started. */
  readonly tried: Set<number>;
  /** Descents in vain since the last that found a better choice. */
  vain: number;
  /** No descent below a root before this node. */
  nextDescent: number;
  /** Scratch: set-ups that are open in the choice at hand. */
  readonly open: Uint8Array;
}

/** A choice this close to the best is worth a descent. */
const descentReach = 0.2;

export function createIncumbent(model: IndexedModel, cutoff: number): Incumbent {
  let sum = 0;
  let whole = true;
  const tables = [model.planCost, model.setupCost, model.chainCost];
  for (const costs of [...tables, ...model.relations.map((relation) => relation.costs)]) {
    for (const cost of costs) {
      if (cost === Number.POSITIVE_INFINITY) continue;
      sum += Math.abs(cost);
      whole &&= Number.isInteger(cost);
    }
  }
  const tolerance = 1e-12 * sum;
  return {
    model,
    best: undefined,
    bestCost: Number.POSITIVE_INFINITY,
    cutoff,
    tolerance,
    grain: whole && tolerance < 1e-3 ? 1 - 2e-3 : -tolerance,
    descent: createDescent(model, 2 * sum + 1),
    tried: new Set(),
    vain: 0,
    nextDescent: 0,
    open: new Uint8Array(model.setupIds.length),
  };
}

/** With a cutoff and nothing found yet, most likely there is nothing to find. */
export function isOnlyCheck({ best, cutoff }: Incumbent): boolean {
  return best === undefined && cutoff < Number.POSITIVE_INFINITY;
}

/** A node with a bound above this holds neither a better choice nor one as good. */
export function limit(incumbent: Incumbent): number {
  return Math.min(incumbent.bestCost, incumbent.cutoff) + incumbent.tolerance;
}

/**
 * True if a node may still hold the answer: a choice that costs less than the best, or one as good
 * that comes first by ids.
 */
export function isOpen(incumbent: Incumbent, node: SearchNode): boolean {
  if (node.bound > limit(incumbent)) return false;
  const { best, bestCost, grain, model } = incumbent;
  if (best === undefined || node.bound <= bestCost - grain) return true;
  if (node.plan !== best.plan) return node.plan < best.plan;
  for (let f = 0; f < best.chains.length; f += 1) {
    const first = node.alive.indexOf(1, at(model.featureStart, f));
    if (first !== at(best.chains, f)) return first < at(best.chains, f);
  }
  return false;
}

/** Keeps the choice if it costs less than the best, or as much and comes first by ids. */
export function offer(incumbent: Incumbent, choice: Choice): void {
  const cost = choiceCost(incumbent.model, choice);
  if (cost === Number.POSITIVE_INFINITY || cost > incumbent.bestCost) return;
  if (cost > incumbent.cutoff) return;
  const { best } = incumbent;
  if (cost === incumbent.bestCost && best !== undefined && !comesFirst(choice, best)) return;
  incumbent.best = { plan: choice.plan, chains: Int32Array.from(choice.chains) };
  incumbent.bestCost = cost;
}

function comesFirst(one: Choice, other: Choice): boolean {
  if (one.plan !== other.plan) return one.plan < other.plan;
  for (let f = 0; f < one.chains.length; f += 1) {
    const difference = at(one.chains, f) - at(other.chains, f);
    if (difference !== 0) return difference < 0;
  }
  return false;
}

/** A first choice from the first of the roots that yields one. */
export function offerFirst(incumbent: Incumbent, roots: readonly SearchNode[]): void {
  const { model } = incumbent;
  const shut = new Uint8Array(model.setupIds.length);
  for (const root of roots) {
    const chains = new Int32Array(model.featureIds.length);
    for (let f = 0; f < chains.length; f += 1) chains[f] = cheapestWith(model, root, shut, f);
    offer(incumbent, descend(model, incumbent.descent, { plan: root.plan, chains }));
    if (incumbent.best !== undefined) return;
  }
}

/** Offers the choice of a node in which every feature has one chain left. */
export function offerOnly(incumbent: Incumbent, node: SearchNode): void {
  const { featureStart, featureIds } = incumbent.model;
  const chains = new Int32Array(featureIds.length);
  for (let f = 0; f < chains.length; f += 1) {
    chains[f] = node.alive.indexOf(1, at(featureStart, f));
    if (at(chains, f) < 0 || at(chains, f) >= at(featureStart, f + 1)) return;
  }
  offer(incumbent, { plan: node.plan, chains });
}

/**
 * With the set-ups that the bound opens, gives every feature its cheapest chain, and descends from
 * there. Below the roots, after n descents in vain n nodes pass before the next.
 */
export function offerFromBound(
  incumbent: Incumbent,
  node: SearchNode,
  local: LocalProblem,
  nodes: number,
): void {
  const { model, open } = incumbent;
  if (node.depth > 0 && nodes < incumbent.nextDescent) return;
  for (let s = 0; s < open.length; s += 1) open[s] = node.status[s] === 1 ? 1 : 0;
  for (let k = 0; k < local.clusters.length; k += 1) {
    const members = local.clusters[k] as readonly number[];
    for (let b = 0; b < members.length; b += 1) {
      if (((local.subset[k] as number) >> b) & 1) open[members[b] as number] = 1;
    }
  }
  const chains = new Int32Array(model.featureIds.length);
  for (let f = 0; f < chains.length; f += 1) {
    chains[f] = cheapestWith(model, node, open, f);
    if (at(chains, f) < 0) return;
  }
  const choice = { plan: node.plan, chains };
  const before = incumbent.bestCost;
  const reach = before + descentReach * Math.abs(before);
  if (node.depth > 0 && choiceCost(model, choice) > reach) return;
  const key = fingerprint(choice);
  if (incumbent.tried.has(key)) return;
  incumbent.tried.add(key);
  offer(incumbent, descend(model, incumbent.descent, choice));
  incumbent.vain = incumbent.bestCost < before ? 0 : incumbent.vain + 1;
  incumbent.nextDescent = nodes + incumbent.vain;
}

/** A number that rarely is the same for two choices. */
function fingerprint({ plan, chains }: Choice): number {
  let key = plan;
  for (const chain of chains) key = (key * 69069 + chain + 1) % 4294967291;
  return key;
}

function cheapestWith(model: IndexedModel, node: SearchNode, open: Uint8Array, f: number): number {
  const end = at(model.featureStart, f + 1);
  let best = -1;
  let least = Number.POSITIVE_INFINITY;
  for (let c = at(model.featureStart, f); c < end; c += 1) {
    if (node.alive[c] !== 1) continue;
    let cost = at(model.chainCost, c);
    const setups = model.chainSetups[c] as Int32Array;
    for (let i = 0; i < setups.length; i += 1) {
      const s = setups[i] as number;
      if (open[s] !== 1) cost += at(model.setupCost, s);
    }
    if (cost < least) {
      least = cost;
      best = c;
    }
  }
  return best;
}
