import { at, type IndexedModel } from './indexed-model.js';
import type { SearchNode } from './node.js';
import type { Relation } from './relations.js';

/** What propagation leaves behind for the bound; reused from node to node. */
export interface Propagation {
  /** Alive chains of each feature. */
  readonly left: Int32Array;
  /** The only alive chain of each decided feature, -1 for the others. */
  readonly decided: Int32Array;
  /** Alive chains on each link, and links with alive chains on each set-up. */
  readonly linkUse: Int32Array;
  readonly setupUse: Int32Array;
  /** Bits of the set-ups of every chain, `words` words a chain. */
  readonly setupBits: Int32Array;
  readonly words: number;
  /** Features whose chains are to be looked at again. */
  readonly queue: number[];
  readonly queued: Uint8Array;
  /** Chains of the feature at hand and their costs. */
  readonly list: Int32Array;
  readonly cost: Float64Array;
}

export function createPropagation(model: IndexedModel): Propagation {
  const chains = model.chainIds.length;
  const words = (model.setupIds.length + 31) >> 5;
  const setupBits = new Int32Array(chains * words);
  model.chainSetups.forEach((setups, chain) => {
    for (const s of setups) {
      const word = chain * words + (s >> 5);
      setupBits[word] = at(setupBits, word) | (1 << (s & 31));
    }
  });
  return {
    left: new Int32Array(model.featureIds.length),
    decided: new Int32Array(model.featureIds.length),
    linkUse: new Int32Array(model.linkSetup.length),
    setupUse: new Int32Array(model.setupIds.length),
    setupBits,
    words,
    queue: [],
    queued: new Uint8Array(model.featureIds.length),
    list: new Int32Array(chains),
    cost: new Float64Array(chains),
  };
}

/**
 * Draws the consequences of what a node has decided until nothing changes: chains that need a
 * closed set-up or a forbidden pair with a decided feature fall away, then dominated chains; a
 * set-up that every chain of some feature uses is open, one that no chain uses is closed. False if
 * a feature has no chain left, or a set-up that must be open no chain that uses it.
 */
export function propagate(model: IndexedModel, node: SearchNode, work: Propagation): boolean {
  const { status, settled } = node;
  const { left, queue } = work;
  queue.length = 0;
  work.queued.fill(0);
  countChains(model, node, work);
  for (let f = 0; f < left.length; f += 1) {
    if (left[f] === 0) return false;
    if (settled === undefined) enqueue(work, f);
    if (left[f] === 1) decide(model, node, work, f);
  }
  for (let s = 0; s < status.length; s += 1) {
    if (status[s] === 0 && work.setupUse[s] === 0) status[s] = -1;
    else if (settled !== undefined && status[s] !== settled[s]) enqueueUsers(model, work, s);
  }
  for (let f = 0; f < left.length; f += 1) openForced(model, node, work, f);
  for (let f = queue.pop(); f !== undefined; f = queue.pop()) {
    work.queued[f] = 0;
    if (!sift(model, node, work, f)) continue;
    if (left[f] === 0) return false;
    if (left[f] === 1) decide(model, node, work, f);
    openForced(model, node, work, f);
  }
  for (let s = 0; s < status.length; s += 1) {
    if (status[s] === 1 && work.setupUse[s] === 0 && model.setupCost[s] !== 0) return false;
  }
  node.settled = status.slice();
  return true;
}

function countChains(model: IndexedModel, node: SearchNode, work: Propagation): void {
  const { left, decided, linkUse, setupUse } = work;
  const { chainFeature, useStart, useLink, linkSetup } = model;
  const { alive } = node;
  left.fill(0);
  decided.fill(-1);
  linkUse.fill(0);
  setupUse.fill(0);
  for (let c = 0; c < alive.length; c += 1) {
    if (alive[c] !== 1) continue;
    const f = chainFeature[c] as number;
    left[f] = (left[f] as number) + 1;
    const end = useStart[c + 1] as number;
    for (let i = useStart[c] as number; i < end; i += 1) {
      const link = useLink[i] as number;
      linkUse[link] = (linkUse[link] as number) + 1;
    }
  }
  for (let link = 0; link < linkUse.length; link += 1) {
    if (linkUse[link] === 0) continue;
    const s = linkSetup[link] as number;
    setupUse[s] = (setupUse[s] as number) + 1;
  }
}

function enqueue(work: Propagation, f: number): void {
  if (work.queued[f] === 1) return;
  work.queued[f] = 1;
  work.queue.push(f);
}

function enqueueUsers(model: IndexedModel, work: Propagation, s: number): void {
  const { setupLinks, setupLinkStart, linkFeature } = model;
  for (let i = setupLinkStart[s] as number; i < (setupLinkStart[s + 1] as number); i += 1) {
    const link = setupLinks[i] as number;
    if (work.linkUse[link] !== 0) enqueue(work, linkFeature[link] as number);
  }
}

function decide(model: IndexedModel, node: SearchNode, work: Propagation, f: number): void {
  if (work.decided[f] !== -1) return;
  let c = model.featureStart[f] as number;
  while (node.alive[c] !== 1) c += 1;
  work.decided[f] = c;
  const related = model.featureRelations[f] as readonly number[];
  for (let i = 0; i < related.length; i += 1) {
    const relation = model.relations[related[i] as number] as Relation;
    enqueue(work, relation.one === f ? relation.other : relation.one);
  }
}

/** Opens the undecided set-ups that all alive chains of a feature use. */
function openForced(model: IndexedModel, node: SearchNode, work: Propagation, f: number): void {
  const { linkStart, linkSetup } = model;
  const end = linkStart[f + 1] as number;
  for (let link = linkStart[f] as number; link < end; link += 1) {
    if (work.linkUse[link] !== work.left[f]) continue;
    const s = linkSetup[link] as number;
    if (node.status[s] !== 0) continue;
    node.status[s] = 1;
    enqueueUsers(model, work, s);
  }
}

function drop(
  model: IndexedModel,
  node: SearchNode,
  work: Propagation,
  f: number,
  c: number,
): void {
  const { linkUse, setupUse, left } = work;
  node.alive[c] = 0;
  left[f] = (left[f] as number) - 1;
  for (let i = model.useStart[c] as number; i < (model.useStart[c + 1] as number); i += 1) {
    const link = model.useLink[i] as number;
    linkUse[link] = (linkUse[link] as number) - 1;
    if (linkUse[link] !== 0) continue;
    const s = model.linkSetup[link] as number;
    setupUse[s] = (setupUse[s] as number) - 1;
    if (setupUse[s] === 0 && node.status[s] === 0) node.status[s] = -1;
  }
}

/** Drops the impossible and the dominated chains of one feature; true if there were any. */
function sift(model: IndexedModel, node: SearchNode, work: Propagation, f: number): boolean {
  const { alive, status } = node;
  const { list, cost } = work;
  const { featureStart, useStart, useLink, linkSetup } = model;
  const before = work.left[f] as number;
  let count = 0;
  for (let c = featureStart[f] as number; c < (featureStart[f + 1] as number); c += 1) {
    if (alive[c] !== 1) continue;
    let possible = true;
    for (let i = useStart[c] as number; i < (useStart[c + 1] as number) && possible; i += 1) {
      possible = (status[linkSetup[useLink[i] as number] as number] as number) >= 0;
    }
    const sum = possible ? foldedCost(model, work, f, c) : Number.POSITIVE_INFINITY;
    if (sum === Number.POSITIVE_INFINITY) {
      drop(model, node, work, f, c);
      continue;
    }
    cost[c] = sum;
    list[count] = c;
    count += 1;
  }
  for (let i = 0; i < count; i += 1) {
    const chain = list[i] as number;
    const limit = cost[chain] as number;
    for (let j = 0; j < count; j += 1) {
      const rival = list[j] as number;
      if ((cost[rival] as number) > limit || i === j || alive[rival] !== 1) continue;
      if (!beats(model, node, work, f, rival, chain)) continue;
      drop(model, node, work, f, chain);
      break;
    }
  }
  return work.left[f] !== before;
}

/** Cost of a chain with its relations to decided features. */
export function foldedCost(model: IndexedModel, work: Propagation, f: number, c: number): number {
  const related = model.featureRelations[f] as readonly number[];
  let sum = model.chainCost[c] as number;
  for (let i = 0; i < related.length; i += 1) {
    const relation = model.relations[related[i] as number] as Relation;
    const isOne = relation.one === f;
    const partner = work.decided[isOne ? relation.other : relation.one] as number;
    if (partner < 0) continue;
    const row = relation.rowOf[(isOne ? c : partner) - relation.oneStart] as number;
    const column = relation.columnOf[(isOne ? partner : c) - relation.otherStart] as number;
    sum += relation.costs[row * relation.columns + column] as number;
  }
  return sum;
}

/**
 * True if no choice with `chain` is better than the same choice with `rival`: the rival costs no
 * more even if it has to pay for every undecided set-up that the chain does not use, and none of
 * its relations costs more. Of equals the chain with the earlier id stays.
 */
function beats(
  model: IndexedModel,
  node: SearchNode,
  work: Propagation,
  f: number,
  rival: number,
  chain: number,
): boolean {
  const { cost, setupBits, words, decided } = work;
  const limit = cost[chain] as number;
  let sum = cost[rival] as number;
  const setups = model.chainSetups[rival] as Int32Array;
  for (let i = 0; i < setups.length; i += 1) {
    const s = setups[i] as number;
    if (node.status[s] !== 0) continue;
    if ((((setupBits[chain * words + (s >> 5)] as number) >>> (s & 31)) & 1) === 1) continue;
    sum += model.setupCost[s] as number;
  }
  if (sum > limit || (sum === limit && rival > chain)) return false;
  const related = model.featureRelations[f] as readonly number[];
  for (let i = 0; i < related.length; i += 1) {
    const relation = model.relations[related[i] as number] as Relation;
    const { one, other, oneStart, otherStart, rowOf, columnOf } = relation;
    if (one === f) {
      if ((decided[other] as number) >= 0) continue;
      const line = (rowOf[rival - oneStart] as number) * relation.rows;
      if (relation.rowBeats[line + (rowOf[chain - oneStart] as number)] !== 1) return false;
    } else {
      if ((decided[one] as number) >= 0) continue;
      const line = (columnOf[rival - otherStart] as number) * relation.columns;
      if (relation.columnBeats[line + (columnOf[chain - otherStart] as number)] !== 1) return false;
    }
  }
  return true;
}
