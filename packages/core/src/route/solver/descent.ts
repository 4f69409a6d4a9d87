import { type Choice, choiceCost, type IndexedModel, relationCost } from './indexed-model.js';
import type { Relation } from './relations.js';

/**
 * Improves a choice without proof: moves features one at a time, then tries to do without each used
 * set-up and to open each unused one, as long as the cost falls. Works on a copy.
 */
export function descend(model: IndexedModel, start: Choice): Choice {
  const choice = { plan: start.plan, chains: Int32Array.from(start.chains) };
  const users = countUsers(model, choice);
  for (let round = 0; round < 20 && moveFeatures(model, choice, users, -1) > 0; round += 1);
  let cost = choiceCost(model, choice);
  const keptChains = new Int32Array(choice.chains.length);
  const keptUsers = new Int32Array(users.length);
  for (let improved = true; improved; ) {
    improved = false;
    for (let s = 0; s < users.length; s += 1) {
      keptChains.set(choice.chains);
      keptUsers.set(users);
      if (tryWithout(model, choice, users, s)) {
        const changed = choiceCost(model, choice);
        if (changed < cost) {
          cost = changed;
          improved = true;
          continue;
        }
      }
      choice.chains.set(keptChains);
      users.set(keptUsers);
    }
  }
  return choice;
}

/** Leaves the set-up if it is used, else opens it for nothing once; then lets every feature move. */
function tryWithout(model: IndexedModel, choice: Choice, users: Int32Array, s: number): boolean {
  if ((users[s] as number) > 0) {
    if (moveFeatures(model, choice, users, s) < 0) return false;
    moveFeatures(model, choice, users, -1);
  } else {
    users[s] = 1;
    const moved = moveFeatures(model, choice, users, -1);
    users[s] = (users[s] as number) - 1;
    if (moved === 0) return false;
  }
  moveFeatures(model, choice, users, -1);
  return true;
}

function countUsers(model: IndexedModel, choice: Choice): Int32Array {
  const users = new Int32Array(model.setupIds.length);
  for (const chain of choice.chains) {
    for (const s of model.chainSetups[chain] as Int32Array) users[s] = (users[s] as number) + 1;
  }
  return users;
}

/**
 * Gives every feature in turn its cheapest chain, where set-ups in use cost nothing more and the
 * banned one is out of reach. Returns how many moved, or -1 if some feature cannot leave the ban.
 */
function moveFeatures(
  model: IndexedModel,
  choice: Choice,
  users: Int32Array,
  banned: number,
): number {
  const { chains, plan } = choice;
  const works = plan * model.chainIds.length;
  let moved = 0;
  for (let f = 0; f < chains.length; f += 1) {
    const current = chains[f] as number;
    for (const s of model.chainSetups[current] as Int32Array) users[s] = (users[s] as number) - 1;
    let best = -1;
    let least = Number.POSITIVE_INFINITY;
    for (
      let c = model.featureStart[f] as number;
      c < (model.featureStart[f + 1] as number);
      c += 1
    ) {
      if (model.works[works + c] !== 1) continue;
      const setups = model.chainSetups[c] as Int32Array;
      let cost = model.chainCost[c] as number;
      for (let i = 0; i < setups.length; i += 1) {
        const s = setups[i] as number;
        if (s === banned) cost = Number.POSITIVE_INFINITY;
        if (users[s] === 0) cost += model.setupCost[s] as number;
      }
      if (cost > least || cost === Number.POSITIVE_INFINITY) continue;
      cost += relationsWith(model, chains, f, c);
      if (cost < least || (cost === least && c === current)) {
        least = cost;
        best = c;
      }
    }
    const next = best < 0 ? current : best;
    for (const s of model.chainSetups[next] as Int32Array) users[s] = (users[s] as number) + 1;
    if (best < 0 && banned >= 0) return -1;
    if (next !== current) moved += 1;
    chains[f] = next;
  }
  return moved;
}

function relationsWith(
  model: IndexedModel,
  chains: Int32Array,
  feature: number,
  chain: number,
): number {
  const related = model.featureRelations[feature] as readonly number[];
  let cost = 0;
  for (let i = 0; i < related.length; i += 1) {
    const relation = model.relations[related[i] as number] as Relation;
    cost +=
      relation.one === feature
        ? relationCost(relation, chain, chains[relation.other] as number)
        : relationCost(relation, chains[relation.one] as number, chain);
  }
  return cost;
}
