import { at, type IndexedModel } from './indexed-model.js';

/**
 * The model as the relaxation sees it, alike for every part plan. Set-ups are priced to the features that
 * might use them (one multiplier per feature and set-up); what then remains falls apart into set-ups
 * and features, except for pairs. Pairs of features are kept along a spanning forest, where the
 * cheapest joint choice is found from the leaves up; the other pairs are dropped from the bound
 * (paying ones are granted by halves first), so the bound stays below every choice.
 */
export interface RelaxedModel {
  readonly indexed: IndexedModel;
  /** Chain costs with the grants of paying pairs outside the forest. */
  readonly base: Float64Array;
  /** Features in an order in which each comes after its parent; parent -1 at a root. */
  readonly order: Int32Array;
  readonly parent: Int32Array;
  /** Pair costs to the parent feature: for each chain a row over the parent's chains. */
  readonly toParent: readonly (Float64Array | undefined)[];
  readonly multipliers: number;
  /** For each multiplier its set-up. */
  readonly multiplierSetup: Int32Array;
  readonly chainPlaces: readonly Int32Array[];
  /** Pairs outside the forest, by chain. */
  readonly loose: readonly (readonly { readonly other: number; readonly cost: number }[])[];
}

export function relaxModel(indexed: IndexedModel): RelaxedModel {
  const features = indexed.featureIds.length;
  const setups = indexed.setupIds.length;
  const chains = indexed.chainIds.length;
  const { order, parent } = spanningForest(indexed);
  const base = Float64Array.from(indexed.chainCost);
  const toParent: (Float64Array | undefined)[] = Array.from({ length: chains }, () => undefined);
  const loose: { other: number; cost: number }[][] = Array.from({ length: chains }, () => []);
  for (let i = 0; i < indexed.pairA.length; i += 1) {
    const a = at(indexed.pairA, i);
    const b = at(indexed.pairB, i);
    const cost = at(indexed.pairCost, i);
    const fa = at(indexed.chainFeature, a);
    const fb = at(indexed.chainFeature, b);
    const child = at(parent, fa) === fb ? a : at(parent, fb) === fa ? b : -1;
    if (child < 0) {
      loose[a]?.push({ other: b, cost });
      loose[b]?.push({ other: a, cost });
      if (cost < 0) for (const chain of [a, b]) base[chain] = at(base, chain) + cost / 2;
      continue;
    }
    const above = child === a ? b : a;
    const start = at(indexed.featureStart, at(indexed.chainFeature, above));
    const size = at(indexed.featureStart, at(indexed.chainFeature, above) + 1) - start;
    const row = toParent[child] ?? new Float64Array(size);
    row[above - start] = cost;
    toParent[child] = row;
  }
  const place = new Int32Array(features * setups).fill(-1);
  const multiplierSetup: number[] = [];
  const chainPlaces: Int32Array[] = [];
  for (let c = 0; c < chains; c += 1) {
    const f = at(indexed.chainFeature, c);
    const uses = indexed.chainSetups[c] ?? new Int32Array(0);
    const places = new Int32Array(uses.length);
    uses.forEach((s, i) => {
      const key = f * setups + s;
      if (at(place, key) < 0) {
        place[key] = multiplierSetup.length;
        multiplierSetup.push(s);
      }
      places[i] = at(place, key);
    });
    chainPlaces.push(places);
  }
  return {
    indexed,
    base,
    order,
    parent,
    toParent,
    multipliers: multiplierSetup.length,
    multiplierSetup: Int32Array.from(multiplierSetup),
    chainPlaces,
    loose,
  };
}

/** Breadth-first forest over the features that pairs join, densest joints first. */
function spanningForest(indexed: IndexedModel): { order: Int32Array; parent: Int32Array } {
  const features = indexed.featureIds.length;
  const weight = new Map<number, number>();
  for (let i = 0; i < indexed.pairA.length; i += 1) {
    const fa = at(indexed.chainFeature, at(indexed.pairA, i));
    const fb = at(indexed.chainFeature, at(indexed.pairB, i));
    const key = Math.min(fa, fb) * features + Math.max(fa, fb);
    weight.set(key, (weight.get(key) ?? 0) + 1);
  }
  const group = Int32Array.from({ length: features }, (_, f) => f);
  const root = (f: number): number => {
    let top = f;
    while (at(group, top) !== top) top = at(group, top);
    return top;
  };
  const near: number[][] = Array.from({ length: features }, () => []);
  for (const [key] of [...weight].sort((a, b) => b[1] - a[1] || a[0] - b[0])) {
    const a = Math.floor(key / features);
    const b = key % features;
    if (root(a) === root(b)) continue;
    group[root(a)] = root(b);
    near[a]?.push(b);
    near[b]?.push(a);
  }
  const parent = new Int32Array(features).fill(-1);
  const order: number[] = [];
  const seen = new Uint8Array(features);
  for (let f = 0; f < features; f += 1) {
    if (seen[f] === 1) continue;
    seen[f] = 1;
    const queue = [f];
    for (let head = 0; head < queue.length; head += 1) {
      const here = queue[head] as number;
      order.push(here);
      for (const next of near[here] ?? []) {
        if (seen[next] === 1) continue;
        seen[next] = 1;
        parent[next] = here;
        queue.push(next);
      }
    }
  }
  return { order: Int32Array.from(order), parent };
}

/** Result of pricing the features at given multipliers. */
export interface Pricing {
  /** Sum over the trees of their cheapest joint choice; Infinity when a tree has none. */
  value: number;
  readonly pick: Int32Array;
  /** Cheapest value of the whole tree with this chain chosen, minus the tree's cheapest. */
  readonly excess: Float64Array;
}

/** Working arrays of `priceFeatures`, kept between calls. */
export interface PricingSpace {
  readonly own: Float64Array;
  readonly below: Float64Array;
  readonly up: Float64Array;
  readonly down: Float64Array;
  readonly pricing: Pricing;
}

export function pricingSpace(indexed: IndexedModel): PricingSpace {
  const chains = indexed.chainIds.length;
  return {
    own: new Float64Array(chains),
    below: new Float64Array(chains),
    up: new Float64Array(chains),
    down: new Float64Array(chains),
    pricing: {
      value: 0,
      pick: new Int32Array(indexed.featureIds.length),
      excess: new Float64Array(chains),
    },
  };
}

/**
 * Cheapest chain of every feature at the multipliers, jointly along the forest.
 *
 * @param withExcess also computes for each chain what choosing it costs over the cheapest
 */
export function priceFeatures(
  problem: RelaxedModel,
  alive: Uint8Array,
  lambda: Float64Array,
  space: PricingSpace,
  withExcess: boolean,
): Pricing {
  const { indexed, base, order, parent, toParent, chainPlaces } = problem;
  const { own, below, up, down, pricing } = space;
  const start = indexed.featureStart;
  for (let c = 0; c < own.length; c += 1) {
    if (alive[c] !== 1) {
      below[c] = Number.POSITIVE_INFINITY;
      continue;
    }
    let cost = at(base, c);
    const places = chainPlaces[c] as Int32Array;
    for (let i = 0; i < places.length; i += 1) cost += at(lambda, at(places, i));
    own[c] = cost;
    below[c] = cost;
  }
  pricing.value = 0;
  // From the leaves up: `up[p]` of a child's contribution is added to the parent's chains.
  for (let i = order.length - 1; i >= 0; i -= 1) {
    const f = at(order, i);
    const above = at(parent, f);
    const first = at(start, f);
    const last = at(start, f + 1);
    if (above < 0) {
      let least = Number.POSITIVE_INFINITY;
      let best = -1;
      for (let c = first; c < last; c += 1)
        if (at(below, c) < least) {
          least = at(below, c);
          best = c;
        }
      pricing.pick[f] = best;
      pricing.value += least;
      if (withExcess)
        for (let c = first; c < last; c += 1) pricing.excess[c] = at(below, c) - least;
      continue;
    }
    const parentFirst = at(start, above);
    for (let p = parentFirst; p < at(start, above + 1); p += 1) {
      if (at(below, p) === Number.POSITIVE_INFINITY) continue;
      const least = cheapestBelow(first, last, p - parentFirst, below, toParent);
      up[p] = least;
      below[p] = at(below, p) + least;
    }
  }
  if (pricing.value === Number.POSITIVE_INFINITY) return pricing;
  // From the roots down: the pick, and what each chain costs over it.
  for (let i = 0; i < order.length; i += 1) {
    const f = at(order, i);
    const above = at(parent, f);
    if (above < 0) continue;
    const first = at(start, f);
    const last = at(start, f + 1);
    const parentFirst = at(start, above);
    const chosen = at(pricing.pick, above) - parentFirst;
    let least = Number.POSITIVE_INFINITY;
    let best = -1;
    for (let c = first; c < last; c += 1) {
      const cost = at(below, c) + pairTo(toParent[c], chosen);
      if (cost < least) {
        least = cost;
        best = c;
      }
    }
    pricing.pick[f] = best;
    if (!withExcess) continue;
    for (let p = parentFirst; p < at(start, above + 1); p += 1)
      down[p] = cheapestBelow(first, last, p - parentFirst, below, toParent);
    for (let c = first; c < last; c += 1) {
      if (at(below, c) === Number.POSITIVE_INFINITY) {
        pricing.excess[c] = Number.POSITIVE_INFINITY;
        continue;
      }
      let cheapest = Number.POSITIVE_INFINITY;
      for (let p = parentFirst; p < at(start, above + 1); p += 1) {
        if (at(below, p) === Number.POSITIVE_INFINITY) continue;
        const cost =
          at(pricing.excess, p) - at(down, p) + at(below, c) + pairTo(toParent[c], p - parentFirst);
        if (cost < cheapest) cheapest = cost;
      }
      pricing.excess[c] = cheapest;
    }
  }
  return pricing;
}

function pairTo(row: Float64Array | undefined, parentChain: number): number {
  return row === undefined ? 0 : at(row, parentChain);
}

function cheapestBelow(
  first: number,
  last: number,
  parentChain: number,
  below: Float64Array,
  toParent: readonly (Float64Array | undefined)[],
): number {
  let least = Number.POSITIVE_INFINITY;
  for (let c = first; c < last; c += 1) {
    const cost = at(below, c) + pairTo(toParent[c], parentChain);
    if (cost < least) least = cost;
  }
  return least;
}
