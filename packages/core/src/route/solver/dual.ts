import type { LocalProblem, LocalRelation } from './local-problem.js';

/**
 * The lower bound at the current shares and budgets. Each feature pays its budget; each cluster
 * chooses its cheapest subset of set-ups, where a subset costs its set-ups less the shares charged
 * to features, plus for every feature the cheapest chain that the subset allows, if that chain costs
 * less than the budget; each relation chooses its cheapest cell less its messages. Any real choice
 * can be read as such a selection at no higher cost, hence the bound. Leaves the reduced costs, the
 * tables, the chosen subsets and the slope of the bound in the local problem (of links the part that
 * chains contribute; an open set-up contributes -1).
 */
export function evaluateDual(local: LocalProblem): number {
  const { budget, budgetSlope, shareSlope } = local;
  let value = local.constant;
  for (let f = 0; f < local.features; f += 1) value += budget[f] as number;
  budgetSlope.fill(1, 0, local.features);
  shareSlope.fill(0, 0, local.multipliers);
  startTables(local);
  value += priceChains(local);
  value += chooseSubsets(local);
  slopeOfSubsets(local);
  return value + priceRelations(local);
}

/** Tables hold increments first: the cost of single set-ups less their shares. */
function startTables(local: LocalProblem): void {
  const { table, tableStart, clusters, setupCost, share, linkCluster, linkMask, hasExtra } = local;
  table.fill(0, 0, tableStart[clusters.length] as number);
  for (let k = 0; k < clusters.length; k += 1) {
    const start = tableStart[k] as number;
    const members = clusters[k] as readonly number[];
    hasExtra[k] = 0;
    for (let b = 0; b < members.length; b += 1) {
      table[start + (1 << b)] = setupCost[members[b] as number] as number;
    }
  }
  for (let l = 0; l < local.links; l += 1) {
    const cell = (tableStart[linkCluster[l] as number] as number) + (linkMask[l] as number);
    table[cell] = (table[cell] as number) - (share[l] as number);
  }
}

/**
 * Reduced cost of every chain. The gain of a group with one to three chains below zero is entered
 * as increments (of the chains, less their overlaps); a group with more gets its own table.
 */
function priceChains(local: LocalProblem): number {
  const { groupStart, groupFeature, groupCluster, cost, mask, useStart, use } = local;
  const { share, budget, reduced, negative, negativeStart, table, tableStart } = local;
  let value = 0;
  let count = 0;
  for (let g = 0; g < local.groups; g += 1) {
    const first = count;
    negativeStart[g] = first;
    const pays = budget[groupFeature[g] as number] as number;
    const end = groupStart[g + 1] as number;
    for (let c = groupStart[g] as number; c < end; c += 1) {
      let sum = (cost[c] as number) - pays;
      const last = useStart[c + 1] as number;
      for (let i = useStart[c] as number; i < last; i += 1)
        sum += share[use[i] as number] as number;
      reduced[c] = sum;
      if (sum < 0) {
        negative[count] = c;
        count += 1;
      }
    }
    if (count === first) continue;
    const cluster = groupCluster[g] as number;
    if (cluster < 0) {
      value += takeFree(local, g, first, count);
      count = first;
      continue;
    }
    const start = tableStart[cluster] as number;
    const a = negative[first] as number;
    const maskA = mask[a] as number;
    const costA = reduced[a] as number;
    if (count > first + 3) {
      addExtra(local, g, first, count);
      continue;
    }
    table[start + maskA] = (table[start + maskA] as number) + costA;
    if (count === first + 1) continue;
    const b = negative[first + 1] as number;
    const maskB = mask[b] as number;
    const costB = reduced[b] as number;
    table[start + maskB] = (table[start + maskB] as number) + costB;
    const ab = start + (maskA | maskB);
    const overlapAB = Math.max(costA, costB);
    table[ab] = (table[ab] as number) - overlapAB;
    if (count === first + 2) continue;
    const c = negative[first + 2] as number;
    const maskC = mask[c] as number;
    const costC = reduced[c] as number;
    table[start + maskC] = (table[start + maskC] as number) + costC;
    const ac = start + (maskA | maskC);
    table[ac] = (table[ac] as number) - Math.max(costA, costC);
    const bc = start + (maskB | maskC);
    table[bc] = (table[bc] as number) - Math.max(costB, costC);
    const abc = start + (maskA | maskB | maskC);
    table[abc] = (table[abc] as number) + Math.max(overlapAB, costC);
  }
  negativeStart[local.groups] = count;
  return value;
}

/** A group without undecided set-ups takes its cheapest chain. */
function takeFree(local: LocalProblem, group: number, first: number, end: number): number {
  const { negative, reduced } = local;
  let best = negative[first] as number;
  for (let i = first + 1; i < end; i += 1) {
    const c = negative[i] as number;
    if ((reduced[c] as number) < (reduced[best] as number)) best = c;
  }
  slopeOfChain(local, group, best);
  return reduced[best] as number;
}

function slopeOfChain(local: LocalProblem, group: number, chain: number): void {
  const { groupFeature, budgetSlope, shareSlope, useStart, use } = local;
  const f = groupFeature[group] as number;
  budgetSlope[f] = (budgetSlope[f] as number) - 1;
  const last = useStart[chain + 1] as number;
  for (let i = useStart[chain] as number; i < last; i += 1) {
    const l = use[i] as number;
    shareSlope[l] = (shareSlope[l] as number) + 1;
  }
}

/** Gain of a group for every subset of its cluster: its cheapest allowed chain below zero. */
export function groupGain(local: LocalProblem, group: number): Float64Array {
  const { negative, negativeStart, reduced, mask, groupCluster, clusters, gain } = local;
  const members = clusters[groupCluster[group] as number] as readonly number[];
  const size = 1 << members.length;
  gain.fill(0, 0, size);
  for (let i = negativeStart[group] as number; i < (negativeStart[group + 1] as number); i += 1) {
    const c = negative[i] as number;
    const m = mask[c] as number;
    if ((reduced[c] as number) < (gain[m] as number)) gain[m] = reduced[c] as number;
  }
  for (let bit = 1; bit < size; bit <<= 1) {
    for (let t = bit; t < size; t = (t + 1) | bit) {
      const smaller = gain[t ^ bit] as number;
      if (smaller < (gain[t] as number)) gain[t] = smaller;
    }
  }
  return gain;
}

function addExtra(local: LocalProblem, group: number, first: number, end: number): void {
  const { groupCluster, tableStart, clusters, extra, hasExtra, negativeStart } = local;
  const cluster = groupCluster[group] as number;
  const start = tableStart[cluster] as number;
  const size = 1 << (clusters[cluster] as readonly number[]).length;
  negativeStart[group] = first;
  negativeStart[group + 1] = end;
  const gain = groupGain(local, group);
  if (hasExtra[cluster] === 0) {
    hasExtra[cluster] = 1;
    for (let t = 0; t < size; t += 1) extra[start + t] = gain[t] as number;
  } else {
    for (let t = 0; t < size; t += 1) {
      extra[start + t] = (extra[start + t] as number) + (gain[t] as number);
    }
  }
}

/** Sums the increments over subsets and picks the cheapest subset of every cluster. */
function chooseSubsets(local: LocalProblem): number {
  const { table, tableStart, clusters, extra, hasExtra, subset, least } = local;
  let value = 0;
  for (let k = 0; k < clusters.length; k += 1) {
    const start = tableStart[k] as number;
    const size = 1 << (clusters[k] as readonly number[]).length;
    for (let bit = 1; bit < size; bit <<= 1) {
      for (let t = bit; t < size; t = (t + 1) | bit) {
        table[start + t] = (table[start + t] as number) + (table[start + (t ^ bit)] as number);
      }
    }
    if (hasExtra[k] === 1) {
      for (let t = 0; t < size; t += 1) {
        table[start + t] = (table[start + t] as number) + (extra[start + t] as number);
      }
    }
    let best = 0;
    let cheapest = table[start] as number;
    for (let t = 1; t < size; t += 1) {
      if ((table[start + t] as number) < cheapest) {
        cheapest = table[start + t] as number;
        best = t;
      }
    }
    subset[k] = best;
    least[k] = cheapest;
    value += cheapest;
  }
  return value;
}

function slopeOfSubsets(local: LocalProblem): void {
  const { negative, negativeStart, groupCluster, mask, reduced, subset } = local;
  for (let g = 0; g < local.groups; g += 1) {
    const first = negativeStart[g] as number;
    const end = negativeStart[g + 1] as number;
    if (first === end) continue;
    const chosen = subset[groupCluster[g] as number] as number;
    let best = -1;
    let cheapest = 0;
    for (let i = first; i < end; i += 1) {
      const c = negative[i] as number;
      if (((mask[c] as number) & chosen) !== mask[c]) continue;
      if ((reduced[c] as number) < cheapest) {
        cheapest = reduced[c] as number;
        best = c;
      }
    }
    if (best >= 0) slopeOfChain(local, g, best);
  }
}

function priceRelations(local: LocalProblem): number {
  const { share, shareSlope, relations } = local;
  let value = 0;
  for (let n = 0; n < relations.length; n += 1) {
    const placed = relations[n] as LocalRelation;
    const { row, column, rows, columns, rowCount, columnCount } = placed;
    const { costs, columns: width } = placed.relation;
    let cheapest = Number.POSITIVE_INFINITY;
    let bestRow = 0;
    let bestColumn = 0;
    for (let i = 0; i < rowCount; i += 1) {
      const r = rows[i] as number;
      const message = share[row + r] as number;
      for (let j = 0; j < columnCount; j += 1) {
        const c = columns[j] as number;
        const left = (costs[r * width + c] as number) - message - (share[column + c] as number);
        if (left < cheapest) {
          cheapest = left;
          bestRow = r;
          bestColumn = c;
        }
      }
    }
    value += cheapest;
    shareSlope[row + bestRow] = (shareSlope[row + bestRow] as number) - 1;
    shareSlope[column + bestColumn] = (shareSlope[column + bestColumn] as number) - 1;
  }
  return value;
}
