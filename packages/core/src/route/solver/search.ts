import { at, type Choice, choiceCost, type IndexedModel } from './indexed-model.js';

/** Best choice so far and how the search may end early. */
export interface SearchState {
  best: Choice | undefined;
  bestCost: number;
  nodes: number;
  stopped: boolean;
  /** Smallest bound of a node that was left open because the search stopped. */
  openBound: number;
  readonly nodeLimit: number;
  readonly shouldStop: () => boolean;
  /** Costs closer than this are compared by exact evaluation. */
  readonly tolerance: number;
}

/** Searches every choice with the given part plan; improves `state.best`. */
export function searchPlan(indexed: IndexedModel, plan: number, state: SearchState): void {
  const features = indexed.featureIds.length;
  const total = indexed.chainIds.length;
  const setups = indexed.setupIds.length;
  const base = Float64Array.from(indexed.chainCost);
  for (let i = 0; i < indexed.pairA.length; i += 1) {
    const cost = at(indexed.pairCost, i);
    if (cost >= 0) continue;
    // A pair that pays is granted to both chains by halves: never less than what it can pay.
    for (const chain of [at(indexed.pairA, i), at(indexed.pairB, i)]) {
      base[chain] = at(base, chain) + cost / 2;
    }
  }
  const forbidden: number[][] = Array.from({ length: total }, () => []);
  for (let i = 0; i < indexed.pairA.length; i += 1) {
    if (at(indexed.pairCost, i) !== Number.POSITIVE_INFINITY) continue;
    forbidden[at(indexed.pairA, i)]?.push(at(indexed.pairB, i));
    forbidden[at(indexed.pairB, i)]?.push(at(indexed.pairA, i));
  }

  const price = (alive: Uint8Array, shares: Float64Array): { bound: number; pick: Int32Array } => {
    const pick = new Int32Array(features).fill(-1);
    let bound = at(indexed.planCost, plan);
    for (let f = 0; f < features; f += 1) {
      let least = Number.POSITIVE_INFINITY;
      for (let c = at(indexed.featureStart, f); c < at(indexed.featureStart, f + 1); c += 1) {
        if (alive[c] !== 1) continue;
        let cost = at(base, c);
        for (const s of indexed.chainSetups[c] ?? []) cost += at(shares, f * setups + s);
        if (cost < least) {
          least = cost;
          pick[f] = c;
        }
      }
      bound += least;
    }
    return { bound, pick };
  };

  const visit = (alive: Uint8Array, status: Int8Array, inherited: Float64Array): void => {
    if (state.stopped || state.nodes >= state.nodeLimit || state.shouldStop()) {
      state.stopped = true;
    }
    state.nodes += 1;
    const shares = Float64Array.from(inherited);
    let sunk = 0;
    for (let s = 0; s < setups; s += 1) {
      if (status[s] !== 1) continue;
      sunk += at(indexed.setupCost, s);
      for (let f = 0; f < features; f += 1) shares[f * setups + s] = 0;
    }
    let bound = Number.NEGATIVE_INFINITY;
    let pick = new Int32Array(features);
    const bestShares = Float64Array.from(shares);
    let scale = 1;
    for (let step = 0; step < 40; step += 1) {
      const priced = price(alive, shares);
      if (priced.bound === Number.POSITIVE_INFINITY) return;
      let current = priced.bound + sunk;
      const slope = new Float64Array(features * setups);
      for (let s = 0; s < setups; s += 1) {
        if (status[s] !== 0) continue;
        let rest = at(indexed.setupCost, s);
        for (let f = 0; f < features; f += 1) rest -= at(shares, f * setups + s);
        if (rest >= 0) continue;
        current += rest;
        for (let f = 0; f < features; f += 1) slope[f * setups + s] = -1;
      }
      let norm = 0;
      for (let f = 0; f < features; f += 1) {
        for (const s of indexed.chainSetups[at(priced.pick as Int32Array, f)] ?? []) {
          if (status[s] === 0) slope[f * setups + s] = at(slope, f * setups + s) + 1;
        }
      }
      for (let i = 0; i < slope.length; i += 1) {
        if (at(slope, i) < 0 && at(shares, i) <= 0) slope[i] = 0;
        norm += at(slope, i) ** 2;
      }
      if (step === 0) offer(indexed, state, { plan, chains: priced.pick });
      if (current > bound) {
        bound = current;
        pick = Int32Array.from(priced.pick);
        bestShares.set(shares);
      } else {
        scale *= 0.9;
      }
      if (bound > state.bestCost + state.tolerance || norm === 0) break;
      const target = Number.isFinite(state.bestCost)
        ? state.bestCost
        : bound + 0.1 * Math.abs(bound) + 1;
      const move = (scale * Math.max(target - current, state.tolerance)) / norm;
      for (let i = 0; i < slope.length; i += 1) {
        shares[i] = Math.max(0, at(shares, i) + move * at(slope, i));
      }
    }
    if (bound > state.bestCost + state.tolerance) return;
    if (state.stopped) {
      state.openBound = Math.min(state.openBound, bound);
      return;
    }
    offer(indexed, state, { plan, chains: pick });

    // Branch on the undecided set-up that most picked chains use, else on a feature.
    const uses = new Int32Array(setups);
    const needed = new Uint8Array(setups);
    for (let c = 0; c < total; c += 1) {
      if (alive[c] !== 1) continue;
      for (const s of indexed.chainSetups[c] ?? []) needed[s] = 1;
    }
    for (const c of pick)
      for (const s of indexed.chainSetups[c] ?? []) uses[s] = at(uses as Int32Array, s) + 1;
    let branch = -1;
    for (let s = 0; s < setups; s += 1) {
      if (status[s] !== 0 || needed[s] !== 1) continue;
      if (branch < 0 || at(uses, s) > at(uses, branch)) branch = s;
    }
    if (branch >= 0) {
      const open = Int8Array.from(status);
      open[branch] = 1;
      const closed = Int8Array.from(status);
      closed[branch] = -1;
      const fewer = Uint8Array.from(alive);
      for (let c = 0; c < total; c += 1) if (indexed.chainSetups[c]?.includes(branch)) fewer[c] = 0;
      visit(alive, open, bestShares);
      visit(fewer, closed, bestShares);
      return;
    }
    for (let f = 0; f < features; f += 1) {
      const options: number[] = [];
      for (let c = at(indexed.featureStart, f); c < at(indexed.featureStart, f + 1); c += 1) {
        if (alive[c] === 1) options.push(c);
      }
      if (options.length < 2) continue;
      for (const option of options) {
        const fixed = Uint8Array.from(alive);
        for (const other of options) if (other !== option) fixed[other] = 0;
        for (const other of forbidden[option] ?? []) fixed[other] = 0;
        visit(fixed, status, bestShares);
      }
      return;
    }
  };

  const alive = new Uint8Array(total);
  for (let c = 0; c < total; c += 1) alive[c] = at(indexed.works, plan * total + c);
  visit(alive, new Int8Array(setups), new Float64Array(features * setups));
}

/** Keeps the choice if it costs less than the best, or as much and comes first by ids. */
export function offer(indexed: IndexedModel, state: SearchState, choice: Choice): void {
  if (choice.chains.includes(-1)) return;
  const cost = choiceCost(indexed, choice);
  if (cost === Number.POSITIVE_INFINITY || cost > state.bestCost) return;
  if (cost === state.bestCost && state.best !== undefined && !comesFirst(choice, state.best))
    return;
  state.best = { plan: choice.plan, chains: Int32Array.from(choice.chains) };
  state.bestCost = cost;
}

function comesFirst(one: Choice, other: Choice): boolean {
  if (one.plan !== other.plan) return one.plan < other.plan;
  for (let f = 0; f < one.chains.length; f += 1) {
    const difference = at(one.chains, f) - at(other.chains, f);
    if (difference !== 0) return difference < 0;
  }
  return false;
}
