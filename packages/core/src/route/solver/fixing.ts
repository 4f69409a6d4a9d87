import { evaluateDual, groupGain } from './dual.js';
import type { LocalProblem } from './local-problem.js';
import type { SearchNode } from './node.js';

/** Scratch and results of fixing. */
export interface Fixing {
  /** How much the relations of a chain rise at least with its row or column. */
  readonly lineRise: Float64Array;
  /** Rise of every group's cluster if its feature is served elsewhere. */
  readonly elsewhere: Float64Array;
  /** Per cluster of the feature at hand: cheapest superset of every subset without the feature. */
  readonly without: Float64Array[];
}

export function createFixing(multipliers: number, chains: number): Fixing {
  return {
    lineRise: new Float64Array(multipliers),
    elsewhere: new Float64Array(chains),
    without: [],
  };
}

/**
 * Decides what the bound at the current multipliers forces: a set-up or chain whose choice, or whose
 * refusal, would lift the bound above `limit` is decided the other way. Returns the number of set-ups
 * decided, or -1 if the node holds nothing at or below the limit.
 */
export function fixByBound(
  local: LocalProblem,
  node: SearchNode,
  fixing: Fixing,
  limit: number,
): number {
  const room = limit - evaluateDual(local);
  if (!(room >= 0)) return -1;
  const decided = fixSetups(local, node, room);
  riseOfLines(local, fixing);
  cheapestSupersets(local);
  for (let first = 0; first < local.groups; ) {
    const f = local.groupFeature[first] as number;
    let end = first + 1;
    while (end < local.groups && local.groupFeature[end] === f) end += 1;
    fixChains(local, node, fixing, room, first, end);
    first = end;
  }
  return decided;
}

function fixSetups(local: LocalProblem, node: SearchNode, room: number): number {
  const { clusters, table, tableStart, least } = local;
  let decided = 0;
  for (let k = 0; k < clusters.length; k += 1) {
    const members = clusters[k] as readonly number[];
    const start = tableStart[k] as number;
    const size = 1 << members.length;
    for (let b = 0; b < members.length; b += 1) {
      let open = Number.POSITIVE_INFINITY;
      let closed = Number.POSITIVE_INFINITY;
      const bit = 1 << b;
      for (let t = 0; t < size; t += 1) {
        const cost = table[start + t] as number;
        if ((t & bit) !== 0) {
          if (cost < open) open = cost;
        } else if (cost < closed) closed = cost;
      }
      open -= least[k] as number;
      closed -= least[k] as number;
      const s = members[b] as number;
      if (open > room) {
        node.status[s] = -1;
        decided += 1;
      } else if (closed > room) {
        node.status[s] = 1;
        decided += 1;
      }
    }
  }
  return decided;
}

function riseOfLines(local: LocalProblem, fixing: Fixing): void {
  const { share } = local;
  const { lineRise } = fixing;
  for (const { relation, row, column, rows, rowCount, columns, columnCount } of local.relations) {
    lineRise.fill(Number.POSITIVE_INFINITY, row, row + relation.rows + relation.columns);
    let cheapest = Number.POSITIVE_INFINITY;
    for (let i = 0; i < rowCount; i += 1) {
      const r = rows[i] as number;
      for (let j = 0; j < columnCount; j += 1) {
        const c = columns[j] as number;
        const left =
          (relation.costs[r * relation.columns + c] as number) -
          (share[row + r] as number) -
          (share[column + c] as number);
        if (left < cheapest) cheapest = left;
        if (left < (lineRise[row + r] as number)) lineRise[row + r] = left;
        if (left < (lineRise[column + c] as number)) lineRise[column + c] = left;
      }
    }
    for (let l = row; l < row + relation.rows + relation.columns; l += 1) {
      lineRise[l] = (lineRise[l] as number) - cheapest;
    }
  }
}

/** For every subset of every cluster the cost of its cheapest superset. */
function cheapestSupersets(local: LocalProblem): void {
  const { clusters, table, tableStart, superset } = local;
  for (let k = 0; k < clusters.length; k += 1) {
    const start = tableStart[k] as number;
    const size = 1 << (clusters[k] as readonly number[]).length;
    for (let t = 0; t < size; t += 1) superset[start + t] = table[start + t] as number;
    spreadDown(superset, start, size);
  }
}

function spreadDown(values: Float64Array, start: number, size: number): void {
  for (let bit = 1; bit < size; bit <<= 1) {
    for (let t = bit; t < size; t = (t + 1) | bit) {
      const larger = values[start + t] as number;
      if (larger < (values[start + (t ^ bit)] as number)) values[start + (t ^ bit)] = larger;
    }
  }
}

/**
 * Drops the chains of one feature (groups first to end) that would lift the bound above the room:
 * the chain's own reduced cost, plus the rise of its home cluster if it must hold the chain's
 * set-ups, plus the rise of the other clusters if they must do without this feature.
 */
function fixChains(
  local: LocalProblem,
  node: SearchNode,
  fixing: Fixing,
  room: number,
  first: number,
  end: number,
): void {
  const { groupStart, groupCluster, negativeStart, reduced, least, clusters } = local;
  const { elsewhere, without } = fixing;
  let total = 0;
  for (let g = first; g < end; g += 1) {
    const cluster = groupCluster[g] as number;
    let rise = 0;
    if (cluster < 0) {
      for (let c = groupStart[g] as number; c < (groupStart[g + 1] as number); c += 1) {
        rise = Math.max(rise, -(reduced[c] as number));
      }
    } else if (negativeStart[g] !== negativeStart[g + 1]) {
      const size = 1 << (clusters[cluster] as readonly number[]).length;
      let buffer = without[g - first];
      if (buffer === undefined || buffer.length < size) {
        buffer = new Float64Array(size);
        without[g - first] = buffer;
      }
      const start = local.tableStart[cluster] as number;
      const gain = groupGain(local, g);
      for (let t = 0; t < size; t += 1) {
        buffer[t] = (local.table[start + t] as number) - (gain[t] as number);
      }
      spreadDown(buffer, 0, size);
      rise = (buffer[0] as number) - (least[cluster] as number);
    }
    elsewhere[g] = rise;
    total += rise;
  }
  for (let g = first; g < end; g += 1) {
    const others = total - (elsewhere[g] as number);
    const cluster = groupCluster[g] as number;
    const own = cluster >= 0 && negativeStart[g] !== negativeStart[g + 1];
    const supersets = own ? (without[g - first] as Float64Array) : local.superset;
    const start = cluster < 0 || own ? 0 : (local.tableStart[cluster] as number);
    for (let c = groupStart[g] as number; c < (groupStart[g + 1] as number); c += 1) {
      let rise = reduced[c] as number;
      if (cluster < 0) {
        rise += total;
      } else {
        const forced = supersets[start + (local.mask[c] as number)] as number;
        rise += others + forced - (least[cluster] as number);
      }
      if (rise <= room && (local.useStart[c] as number) < (local.useStart[c + 1] as number)) {
        rise += riseOfUses(local, fixing, c, cluster, first, end);
      }
      if (rise > room || rise === Number.POSITIVE_INFINITY)
        node.alive[local.chainOf[c] as number] = 0;
    }
  }
}

/** Rise of relations and of clusters away from home that a chain forces. */
function riseOfUses(
  local: LocalProblem,
  fixing: Fixing,
  chain: number,
  home: number,
  first: number,
  end: number,
): number {
  const { useStart, use, links, linkCluster, linkMask } = local;
  const last = useStart[chain + 1] as number;
  let rise = 0;
  for (let i = useStart[chain] as number; i < last; i += 1) {
    const l = use[i] as number;
    if (l >= links) {
      rise += fixing.lineRise[l] as number;
      continue;
    }
    const cluster = linkCluster[l] as number;
    if (cluster === home) continue;
    let mask = 0;
    let seen = false;
    for (let j = useStart[chain] as number; j < last; j += 1) {
      const other = use[j] as number;
      if (other >= links || linkCluster[other] !== cluster) continue;
      if (j < i) seen = true;
      mask |= linkMask[other] as number;
    }
    if (seen) continue;
    const start = local.tableStart[cluster] as number;
    let open = (local.superset[start + mask] as number) - (local.least[cluster] as number);
    // The same cluster may already rise because it must do without the feature: count it once.
    for (let g = first; g < end; g += 1) {
      if (local.groupCluster[g] === cluster) open -= fixing.elsewhere[g] as number;
    }
    if (open > 0) rise += open;
  }
  return rise;
}
