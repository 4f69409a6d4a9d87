import { descend } from './descent.js';
import {
  createIncumbent,
  type Incumbent,
  isOnlyCheck,
  isOpen,
  offer,
  offerFirst,
} from './incumbent.js';
import type { Choice, IndexedModel } from './indexed-model.js';
import { childNode, planRoot, type SearchNode } from './node.js';
import { type NodeHeap, popNode, pushNode } from './node-heap.js';
import { createPricing, type Pricing, priceChild, priceRoot } from './price.js';

export interface SearchLimits {
  readonly nodeLimit: number;
  readonly shouldStop: () => boolean;
  /** Choices that cost more are not looked for. */
  readonly cutoff: number;
}

export interface SearchResult {
  readonly best: Choice | undefined;
  readonly bestCost: number;
  /** No choice costs less; equal to `bestCost` if the search is complete. */
  readonly lowerBound: number;
  readonly complete: boolean;
  readonly nodes: number;
  /** No choice with the part plan of that number costs less. */
  readonly planBounds: Float64Array;
}

/** Above this many open nodes the search goes depth first, to bound the memory. */
const mostOpenNodes = 20000;

/**
 * Best-first branch and bound over all part plans. A node is given up only if it holds neither a
 * better choice than the best nor one as good that comes first by ids.
 *
 * @param knownBounds no choice with the part plan of that number costs less
 */
export function searchChoices(
  model: IndexedModel,
  start: Choice | undefined,
  limits: SearchLimits,
  knownBounds?: Float64Array,
): SearchResult {
  const incumbent = createIncumbent(model, limits.cutoff);
  const pricing = createPricing(model);
  const roots = model.planIds
    .map((_, plan) => planRoot(model, plan, knownBounds?.[plan]))
    .filter(({ bound }) => bound < Number.POSITIVE_INFINITY)
    .sort((a, b) => a.bound - b.bound || a.plan - b.plan);
  const heap: NodeHeap = { nodes: [] };
  for (const root of roots) pushNode(heap, root);
  if (start !== undefined) {
    offer(incumbent, start);
    offer(incumbent, descend(model, incumbent.descent, start));
  }
  if (incumbent.best === undefined && !isOnlyCheck(incumbent)) offerFirst(incumbent, roots);

  const stack: SearchNode[] = [];
  for (;;) {
    const node = stack.pop() ?? popNode(heap);
    if (node === undefined) break;
    if (!isOpen(incumbent, node)) continue;
    if (pricing.nodes >= limits.nodeLimit || limits.shouldStop()) {
      stack.push(node);
      break;
    }
    for (const next of expand(incumbent, pricing, node)) {
      if (heap.nodes.length < mostOpenNodes) pushNode(heap, next);
      else stack.push(next);
    }
  }
  const { best, bestCost } = incumbent;
  const left = [...stack, ...heap.nodes].filter(
    ({ bound }) => best === undefined || bound <= bestCost - incumbent.grain,
  );
  return {
    best,
    bestCost,
    lowerBound: left.reduce((least, { bound }) => Math.min(least, bound), bestCost),
    complete: left.length === 0,
    nodes: pricing.nodes,
    planBounds: boundsByPlan(incumbent, roots),
  };
}

/** A root that was given up holds nothing below the best that was known by then. */
function boundsByPlan(incumbent: Incumbent, roots: readonly SearchNode[]): Float64Array {
  const { model, bestCost, cutoff } = incumbent;
  const bounds = new Float64Array(model.planIds.length).fill(Number.POSITIVE_INFINITY);
  for (const { plan, bound } of roots)
    bounds[plan] = bound === Number.POSITIVE_INFINITY ? Math.min(bestCost, cutoff) : bound;
  return bounds;
}

/** The nodes that replace a node; an unpriced root is replaced by itself, priced. */
function expand(incumbent: Incumbent, pricing: Pricing, node: SearchNode): SearchNode[] {
  const kept: SearchNode[] = [];
  const { branch } = node;
  if (!node.priced) {
    priceRoot(incumbent, pricing, node);
    kept.push(node);
  } else if (branch !== undefined) {
    for (const taken of [true, false]) {
      const child = childNode(incumbent.model, node, branch, taken);
      priceChild(incumbent, pricing, child);
      kept.push(child);
    }
  }
  return kept.filter((next) => next.branch !== undefined && isOpen(incumbent, next));
}
