import { at, type IndexedModel } from './indexed-model.js';
import type { SearchNode } from './node.js';

/** What propagation leaves behind for the bound; reused from node to node. */
export interface Propagation {
  /** Alive chains of each feature. */
  readonly left: Int32Array;
  /** The only alive chain of each decided feature, -1 for the others. */
  readonly decided: Int32Array;
  /** Chain costs with the relations to decided features added. */
  readonly cost: Float64Array;
  /** Bits of the set-ups of every chain, `words` words a chain. */
  readonly setupBits: Int32Array;
  readonly words: number;
  readonly linkUse: Int32Array;
  readonly setupUse: Int32Array;
  readonly list: Int32Array;
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
    cost: new Float64Array(chains),
    setupBits,
    words,
    linkUse: new Int32Array(model.linkSetup.length),
    setupUse: new Int32Array(model.setupIds.length),
    list: new Int32Array(chains),
  };
}

/**
 * Draws the consequences of what a node has decided until nothing changes: chains that need a
 * closed set-up or a forbidden pair with a decided feature fall away, then dominated chains; a
 * set-up that every chain of some feature uses is open, one that no chain uses is closed. False if
 * a feature has no chain left.
 */
export function propagate(model: IndexedModel, node: SearchNode, work: Propagation): boolean {
  const { status } = node;
  const { linkUse, setupUse, left, decided } = work;
  const { featureStart, useStart, useLink, linkSetup, linkFeature } = model;
  const features = left.length;
  decided.fill(-1);
  for (let changed = true; changed; ) {
    changed = false;
    linkUse.fill(0);
    setupUse.fill(0);
    for (let f = 0; f < features; f += 1) {
      const count = sift(model, node, work, f);
      if (count === 0) return false;
      left[f] = count;
      if (count === 1 && decided[f] === -1) {
        decided[f] = firstAlive(node, featureStart[f] as number);
        if (model.featureRelations[f]?.length !== 0) changed = true;
      }
      for (let c = featureStart[f] as number; c < (featureStart[f + 1] as number); c += 1) {
        if (node.alive[c] !== 1) continue;
        for (let i = useStart[c] as number; i < (useStart[c + 1] as number); i += 1) {
          const link = useLink[i] as number;
          linkUse[link] = (linkUse[link] as number) + 1;
        }
      }
    }
    for (let link = 0; link < linkUse.length; link += 1) {
      const count = linkUse[link] as number;
      if (count === 0) continue;
      const s = linkSetup[link] as number;
      setupUse[s] = 1;
      if (status[s] === 0 && count === left[linkFeature[link] as number]) {
        status[s] = 1;
        changed = true;
      }
    }
    for (let s = 0; s < status.length; s += 1) {
      if (status[s] !== 0) continue;
      if (setupUse[s] === 0) status[s] = -1;
      else if (model.setupCost[s] === 0) {
        status[s] = 1;
        changed = true;
      }
    }
  }
  return true;
}

function firstAlive(node: SearchNode, start: number): number {
  let c = start;
  while (node.alive[c] !== 1) c += 1;
  return c;
}

/** Drops the impossible and the dominated chains of one feature; returns how many are left. */
function sift(model: IndexedModel, node: SearchNode, work: Propagation, f: number): number {
  const { alive, status } = node;
  const { list, cost, decided } = work;
  const { featureStart, useStart, useLink, linkSetup } = model;
  const related = model.featureRelations[f] as readonly number[];
  let count = 0;
  for (let c = featureStart[f] as number; c < (featureStart[f + 1] as number); c += 1) {
    if (alive[c] !== 1) continue;
    let possible = true;
    for (let i = useStart[c] as number; i < (useStart[c + 1] as number) && possible; i += 1) {
      possible = (status[linkSetup[useLink[i] as number] as number] as number) >= 0;
    }
    let sum = model.chainCost[c] as number;
    for (let i = 0; i < related.length; i += 1) {
      const relation = model.relations[related[i] as number];
      if (relation === undefined) continue;
      const { one, other, oneStart, otherStart, rowOf, columnOf, columns, costs } = relation;
      const partner = decided[one === f ? other : one] as number;
      if (partner < 0) continue;
      const row = rowOf[(one === f ? c : partner) - oneStart] as number;
      const column = columnOf[(one === f ? partner : c) - otherStart] as number;
      sum += costs[row * columns + column] as number;
    }
    if (!possible || sum === Number.POSITIVE_INFINITY) {
      alive[c] = 0;
      continue;
    }
    cost[c] = sum;
    list[count] = c;
    count += 1;
  }
  if (count < 2) return count;
  let kept = 0;
  for (let i = 0; i < count; i += 1) {
    const chain = list[i] as number;
    for (let j = 0; j < count; j += 1) {
      const rival = list[j] as number;
      if (i === j || alive[rival] !== 1) continue;
      if (!beats(model, node, work, f, rival, chain)) continue;
      alive[chain] = 0;
      break;
    }
    if (alive[chain] === 1) kept += 1;
  }
  return kept;
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
  if (sum > limit) return false;
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
    const relation = model.relations[related[i] as number];
    if (relation === undefined) continue;
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
