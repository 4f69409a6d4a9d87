import type { Choice, IndexedModel } from './indexed-model.js';
import type { Relation } from './relations.js';

/** A choice under improvement; reused from descent to descent. */
export interface Descent {
  readonly chains: Int32Array;
  /** Features that use each set-up now. */
  readonly users: Int32Array;
  /** Cost of the choice without its part plan; a forbidden pair counts as `forbidden`. */
  cost: number;
  readonly forbidden: number;
  /** Moves since the last accepted choice: feature, chain before. */
  moves: number;
  readonly moved: Int32Array;
  readonly before: Int32Array;
}

export function createDescent(model: IndexedModel, forbidden: number): Descent {
  const count = model.featureIds.length;
  return {
    chains: new Int32Array(count),
    users: new Int32Array(model.setupIds.length),
    cost: 0,
    forbidden,
    moves: 0,
    moved: new Int32Array(64 * count),
    before: new Int32Array(64 * count),
  };
}

/** Passes over all features before a choice counts as settled. */
const mostPasses = 20;
/** A trial that costs this part of its set-up more than before is still worth a pass. */
const promise = 0.5;

/**
 * Improves a choice without proof: moves features one at a time, then tries to do without each used
 * set-up and to open each unused one, as long as the cost falls. The result may still hold a
 * forbidden pair.
 */
export function descend(model: IndexedModel, work: Descent, start: Choice): Choice {
  load(model, work, start);
  const { plan } = start;
  settle(model, work, plan, mostPasses);
  work.moves = 0;
  const setups = work.users.length;
  for (let idle = 0, s = 0; idle < setups; s = (s + 1) % setups) {
    const cost = work.cost;
    const least = cost - 1e-12 * Math.abs(cost);
    if (
      trial(model, work, plan, s) &&
      work.cost < cost + promise * (model.setupCost[s] as number)
    ) {
      settle(model, work, plan, 2);
    }
    if (work.cost < least) {
      idle = 0;
    } else {
      undo(model, work);
      idle += 1;
    }
    work.moves = 0;
  }
  return { plan, chains: Int32Array.from(work.chains) };
}

function load(model: IndexedModel, work: Descent, start: Choice): void {
  work.users.fill(0);
  work.cost = 0;
  work.moves = 0;
  work.chains.fill(-1);
  for (let f = 0; f < work.chains.length; f += 1) put(model, work, f, start.chains[f] as number);
}

/** Moves every user of a used set-up away from it, or every feature that gains to an unused one. */
function trial(model: IndexedModel, work: Descent, plan: number, s: number): boolean {
  const { users, chains } = work;
  const { setupLinks, setupLinkStart, linkFeature } = model;
  const start = setupLinkStart[s] as number;
  const end = setupLinkStart[s + 1] as number;
  if ((users[s] as number) > 0) {
    for (let i = start; i < end; i += 1) {
      const f = linkFeature[setupLinks[i] as number] as number;
      if (!(model.chainSetups[chains[f] as number] as Int32Array).includes(s)) continue;
      if (!moveFeature(model, work, plan, f, s)) return false;
    }
    return true;
  }
  // Open for nothing while the features choose, so that they may come one by one.
  users[s] = 1;
  for (let i = start; i < end; i += 1) {
    moveFeature(model, work, plan, linkFeature[setupLinks[i] as number] as number, -1);
  }
  users[s] = (users[s] as number) - 1;
  if (users[s] === 0) return false;
  work.cost += model.setupCost[s] as number;
  return true;
}

function settle(model: IndexedModel, work: Descent, plan: number, passes: number): void {
  for (let pass = 0; pass < passes; pass += 1) {
    const cost = work.cost;
    for (let f = 0; f < work.chains.length; f += 1) moveFeature(model, work, plan, f, -1);
    if (!(work.cost < cost)) return;
  }
}

/** Gives a feature its cheapest chain without the banned set-up; false if it has none. */
function moveFeature(
  model: IndexedModel,
  work: Descent,
  plan: number,
  f: number,
  banned: number,
): boolean {
  const { chainCost, setupCost, works } = model;
  const { users } = work;
  const base = plan * chainCost.length;
  const current = work.chains[f] as number;
  take(model, work, f);
  let best = -1;
  let least = Number.POSITIVE_INFINITY;
  const end = model.featureStart[f + 1] as number;
  for (let c = model.featureStart[f] as number; c < end; c += 1) {
    let cost = chainCost[c] as number;
    if (cost > least || works[base + c] !== 1) continue;
    const setups = model.chainSetups[c] as Int32Array;
    for (let i = 0; i < setups.length; i += 1) {
      const s = setups[i] as number;
      if (s === banned) cost = Number.POSITIVE_INFINITY;
      else if (users[s] === 0) cost += setupCost[s] as number;
    }
    if (cost > least || cost === Number.POSITIVE_INFINITY) continue;
    cost += relationsOf(model, work, f, c);
    if (cost < least || (cost === least && c === current)) {
      least = cost;
      best = c;
    }
  }
  put(model, work, f, best < 0 ? current : best);
  if (best < 0) return false;
  if (best !== current && work.moves < work.moved.length) {
    work.moved[work.moves] = f;
    work.before[work.moves] = current;
    work.moves += 1;
  }
  return true;
}

function undo(model: IndexedModel, work: Descent): void {
  while (work.moves > 0) {
    work.moves -= 1;
    const f = work.moved[work.moves] as number;
    take(model, work, f);
    put(model, work, f, work.before[work.moves] as number);
  }
}

function put(model: IndexedModel, work: Descent, f: number, chain: number): void {
  const { users, chains } = work;
  let cost = (model.chainCost[chain] as number) + relationsOf(model, work, f, chain);
  const setups = model.chainSetups[chain] as Int32Array;
  for (let i = 0; i < setups.length; i += 1) {
    const s = setups[i] as number;
    if (users[s] === 0) cost += model.setupCost[s] as number;
    users[s] = (users[s] as number) + 1;
  }
  chains[f] = chain;
  work.cost += cost;
}

function take(model: IndexedModel, work: Descent, f: number): void {
  const { users, chains } = work;
  const chain = chains[f] as number;
  let cost = (model.chainCost[chain] as number) + relationsOf(model, work, f, chain);
  const setups = model.chainSetups[chain] as Int32Array;
  for (let i = 0; i < setups.length; i += 1) {
    const s = setups[i] as number;
    users[s] = (users[s] as number) - 1;
    if (users[s] === 0) cost += model.setupCost[s] as number;
  }
  work.cost -= cost;
}

/** Cost of the relations between a chain and the chains that the other features have now. */
function relationsOf(model: IndexedModel, work: Descent, f: number, chain: number): number {
  const related = model.featureRelations[f] as readonly number[];
  let sum = 0;
  for (let i = 0; i < related.length; i += 1) {
    const relation = model.relations[related[i] as number] as Relation;
    const isOne = relation.one === f;
    const partner = work.chains[isOne ? relation.other : relation.one] as number;
    if (partner < 0) continue;
    const row = relation.rowOf[(isOne ? chain : partner) - relation.oneStart] as number;
    const column = relation.columnOf[(isOne ? partner : chain) - relation.otherStart] as number;
    const cost = relation.costs[row * relation.columns + column] as number;
    sum += cost === Number.POSITIVE_INFINITY ? work.forbidden : cost;
  }
  return sum;
}
