import { at, type Choice, choiceCost, type IndexedModel } from './indexed-model.js';

/** Stands for a forbidden pair during descent, so that a clash can be repaired step by step. */
const clash = 1e13;

/** Pairs of every chain, forbidden ones at the clash price. */
export interface PairTable {
  readonly of: readonly { readonly others: Int32Array; readonly costs: Float64Array }[];
}

export function pairTable(indexed: IndexedModel): PairTable {
  const lists: { others: number[]; costs: number[] }[] = indexed.chainIds.map(() => ({
    others: [],
    costs: [],
  }));
  for (let i = 0; i < indexed.pairA.length; i += 1) {
    const a = at(indexed.pairA, i);
    const b = at(indexed.pairB, i);
    const cost = Math.min(clash, at(indexed.pairCost, i));
    lists[a]?.others.push(b);
    lists[a]?.costs.push(cost);
    lists[b]?.others.push(a);
    lists[b]?.costs.push(cost);
  }
  return {
    of: lists.map(({ others, costs }) => ({
      others: Int32Array.from(others),
      costs: Float64Array.from(costs),
    })),
  };
}

/**
 * Improves a choice by exchanging one chain at a time and by leaving one set-up at a time, until
 * neither helps. Returns undefined when the end still holds a forbidden pair.
 */
export function descend(
  indexed: IndexedModel,
  table: PairTable,
  plan: number,
  from: Int32Array,
): Choice | undefined {
  const chains = Int32Array.from(from);
  const chosen = new Uint8Array(indexed.chainIds.length);
  const uses = new Int32Array(indexed.setupIds.length);
  for (const c of chains) {
    chosen[c] = 1;
    for (const s of indexed.chainSetups[c] ?? []) uses[s] = at(uses, s) + 1;
  }
  const put = (f: number, next: number): void => {
    const old = at(chains, f);
    chosen[old] = 0;
    for (const s of indexed.chainSetups[old] ?? []) uses[s] = at(uses, s) - 1;
    chains[f] = next;
    chosen[next] = 1;
    for (const s of indexed.chainSetups[next] ?? []) uses[s] = at(uses, s) + 1;
  };
  const pairsOf = (c: number): number => {
    const { others, costs } = table.of[c] as PairTable['of'][number];
    let sum = 0;
    for (let i = 0; i < others.length; i += 1) if (chosen[at(others, i)] === 1) sum += at(costs, i);
    return sum;
  };
  /** Cheapest chain of f with the others fixed; set-up `shut` may not be used. */
  const bestChain = (f: number, shut: number): { chain: number; gain: number } => {
    const old = at(chains, f);
    chosen[old] = 0;
    for (const s of indexed.chainSetups[old] ?? []) uses[s] = at(uses, s) - 1;
    let least = Number.POSITIVE_INFINITY;
    let best = -1;
    let current = Number.POSITIVE_INFINITY;
    for (let c = at(indexed.featureStart, f); c < at(indexed.featureStart, f + 1); c += 1) {
      if (at(indexed.works, plan * indexed.chainIds.length + c) === 0) continue;
      const mine = indexed.chainSetups[c] as Int32Array;
      let cost = at(indexed.chainCost, c) + pairsOf(c);
      let barred = false;
      for (let i = 0; i < mine.length; i += 1) {
        const s = at(mine, i);
        if (s === shut) barred = true;
        if (at(uses, s) === 0) cost += at(indexed.setupCost, s);
      }
      if (c === old) current = cost;
      if (!barred && cost < least) {
        least = cost;
        best = c;
      }
    }
    chosen[old] = 1;
    for (const s of indexed.chainSetups[old] ?? []) uses[s] = at(uses, s) + 1;
    return { chain: best, gain: current - least };
  };
  const features = chains.length;
  for (let round = 0; round < 60; round += 1) {
    let moved = false;
    for (let f = 0; f < features; f += 1) {
      const { chain, gain } = bestChain(f, -1);
      if (chain >= 0 && gain > 1e-9) {
        put(f, chain);
        moved = true;
      }
    }
    if (moved) continue;
    for (let s = 0; s < uses.length && !moved; s += 1) {
      if (at(uses, s) === 0) continue;
      const before = Int32Array.from(chains);
      let total = 0;
      let possible = true;
      for (let f = 0; f < features && possible; f += 1) {
        if (!(indexed.chainSetups[at(chains, f)] as Int32Array).includes(s)) continue;
        const { chain, gain } = bestChain(f, s);
        if (chain < 0) possible = false;
        else {
          total += gain;
          put(f, chain);
        }
      }
      if (possible && total > 1e-9) moved = true;
      else
        for (let f = 0; f < features; f += 1)
          if (at(chains, f) !== at(before, f)) put(f, at(before, f));
    }
    if (!moved) break;
  }
  const choice = { plan, chains };
  return choiceCost(indexed, choice) === Number.POSITIVE_INFINITY ? undefined : choice;
}
