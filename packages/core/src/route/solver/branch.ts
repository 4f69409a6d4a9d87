import type { IndexedModel } from './indexed-model.js';
import type { LocalProblem } from './local-problem.js';
import type { Branch, SearchNode } from './node.js';

/** Keeps a set-up in the running that the bound always opens, or never. */
const leastSplit = 1e-3;

/**
 * The decision that splits a node: the undecided set-up about which the bound wavers most, weighted
 * by its cost and the number of alive chains that use it; without undecided set-ups, the cheapest
 * chain of the feature with most open relations. Undefined if nothing is left to decide.
 */
export function chooseBranch(
  model: IndexedModel,
  node: SearchNode,
  local: LocalProblem,
): Branch | undefined {
  const users = new Int32Array(node.status.length);
  for (let c = 0; c < local.chains; c += 1) {
    const chain = local.chainOf[c] as number;
    if (node.alive[chain] !== 1) continue;
    const setups = model.chainSetups[chain] as Int32Array;
    for (const s of setups) users[s] = (users[s] as number) + 1;
  }
  let setup = -1;
  let most = 0;
  for (const members of local.clusters) {
    for (const s of members) {
      if (node.status[s] !== 0 || users[s] === 0) continue;
      const rate = local.openRate[s] as number;
      const split = Math.min(rate, 1 - rate) + leastSplit;
      const weight = split * (model.setupCost[s] as number) * (users[s] as number);
      if (weight > most) {
        most = weight;
        setup = s;
      }
    }
  }
  if (setup >= 0) return { kind: 'setup', number: setup };
  const chain = chainToDecide(model, node, local);
  return chain < 0 ? undefined : { kind: 'chain', number: chain };
}

function chainToDecide(model: IndexedModel, node: SearchNode, local: LocalProblem): number {
  const open = new Int32Array(model.featureIds.length);
  for (const { relation } of local.relations) {
    open[relation.one] = (open[relation.one] as number) + 1;
    open[relation.other] = (open[relation.other] as number) + 1;
  }
  let best = -1;
  let most = -1;
  for (let c = 0; c < local.chains; c += 1) {
    const chain = local.chainOf[c] as number;
    if (node.alive[chain] !== 1) continue;
    const feature = model.chainFeature[chain] as number;
    let rivals = 0;
    for (
      let d = model.featureStart[feature] as number;
      d < (model.featureStart[feature + 1] as number);
      d += 1
    ) {
      rivals += node.alive[d] as number;
    }
    if (rivals < 2) continue;
    const degree = open[feature] as number;
    if (degree < most) continue;
    const sameFeature = best >= 0 && model.chainFeature[local.chainOf[best] as number] === feature;
    if (
      degree > most ||
      (sameFeature && (local.reduced[c] as number) < (local.reduced[best] as number))
    ) {
      best = c;
      most = degree;
    }
  }
  return best < 0 ? -1 : (local.chainOf[best] as number);
}
