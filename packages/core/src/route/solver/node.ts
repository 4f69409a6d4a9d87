import { at, type IndexedModel } from './indexed-model.js';

/** Share of a link that takes part in no bound yet. */
export const UNCHARGED = -1;

/** One branch-and-bound node: one part plan and what has been decided below it. */
export interface SearchNode {
  readonly plan: number;
  /** No choice inside the node costs less. Infinity: the node holds no choice worth keeping. */
  bound: number;
  readonly depth: number;
  /** False for the root of a part plan until its bound has been computed. */
  priced: boolean;
  /** Of each set-up: 0 undecided, 1 open (its cost is paid), -1 closed (no chain may use it). */
  readonly status: Int8Array;
  /** Status whose consequences have been drawn; undefined if none have. */
  settled: Int8Array | undefined;
  /** 1 for each chain that may still be chosen. */
  readonly alive: Uint8Array;
  /** Cluster label of each set-up; equal labels are decided together in the bound. */
  readonly cluster: Int32Array;
  /** Multipliers of the bound: links first (UNCHARGED or at least 0), then messages of relations. */
  readonly share: Float32Array;
  /** What each feature pays to whoever serves it. */
  readonly budget: Float64Array;
  branch: Branch | undefined;
}

/** What to decide next: a set-up (open or closed) or a chain (chosen or dropped). */
export interface Branch {
  readonly kind: 'setup' | 'chain';
  readonly number: number;
}

/**
 * Root of a part plan with the plainest bound: the cheapest chain of every feature and the least
 * cost of every relation, no set-up; the known bound if that is higher. Infinity if a feature has no
 * chain for the plan.
 */
export function planRoot(
  model: IndexedModel,
  plan: number,
  knownBound: number = Number.NEGATIVE_INFINITY,
): SearchNode {
  const chains = model.chainIds.length;
  const alive = model.works.slice(plan * chains, (plan + 1) * chains);
  let bound = at(model.planCost, plan);
  for (let f = 0; f < model.featureIds.length; f += 1) {
    let least = Number.POSITIVE_INFINITY;
    for (let c = at(model.featureStart, f); c < at(model.featureStart, f + 1); c += 1) {
      if (alive[c] === 1) least = Math.min(least, at(model.chainCost, c));
    }
    bound += least;
  }
  for (const relation of model.relations) bound += relation.costs.reduce((a, b) => Math.min(a, b));
  return {
    plan,
    bound: Math.max(bound, knownBound),
    depth: 0,
    priced: false,
    // A set-up that costs nothing may as well be open.
    status: Int8Array.from(model.setupCost, (cost) => (cost === 0 ? 1 : 0)),
    settled: undefined,
    alive,
    cluster: Int32Array.from({ length: model.setupIds.length }, (_, s) => s),
    share: firstShares(model),
    budget: new Float64Array(model.featureIds.length),
    branch: undefined,
  };
}

function firstShares(model: IndexedModel): Float32Array {
  const links = model.linkSetup.length;
  let messages = 0;
  for (const relation of model.relations) messages += relation.rows + relation.columns;
  return new Float32Array(links + messages).fill(UNCHARGED, 0, links);
}

/** The part of a node that is left when one side of its branch is taken. */
export function childNode(
  model: IndexedModel,
  parent: SearchNode,
  branch: Branch,
  taken: boolean,
): SearchNode {
  const child: SearchNode = {
    plan: parent.plan,
    bound: parent.bound,
    depth: parent.depth + 1,
    priced: true,
    status: parent.status.slice(),
    settled: parent.settled,
    alive: parent.alive.slice(),
    cluster: parent.cluster.slice(),
    share: parent.share.slice(),
    budget: parent.budget.slice(),
    branch: undefined,
  };
  if (branch.kind === 'setup') {
    child.status[branch.number] = taken ? 1 : -1;
  } else if (taken) {
    const f = at(model.chainFeature, branch.number);
    child.alive.fill(0, at(model.featureStart, f), at(model.featureStart, f + 1));
    child.alive[branch.number] = 1;
  } else {
    child.alive[branch.number] = 0;
  }
  return child;
}
