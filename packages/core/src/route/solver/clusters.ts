import { at, type IndexedModel } from './indexed-model.js';
import type { SearchNode } from './node.js';
import type { Propagation } from './propagate.js';

/**
 * The undecided set-ups of a node in clusters of at most `most`. Clusters inherited from the parent
 * stay together; while two fit into one, the two that most alive chains use together are joined, so
 * that as many chains as possible need the set-ups of one cluster only.
 */
export function clusterSetups(
  model: IndexedModel,
  node: SearchNode,
  work: Propagation,
  most: number,
): number[][] {
  const { status, cluster, alive } = node;
  const clusters: number[][] = [];
  const numberOf = new Map<number, number>();
  for (let s = 0; s < status.length; s += 1) {
    if (status[s] !== 0) continue;
    const label = at(cluster, s);
    const joined = clusters[numberOf.get(label) ?? -1];
    // A label from another part plan may name more set-ups than were together there.
    if (joined === undefined || joined.length >= most) {
      numberOf.set(label, clusters.length);
      clusters.push([s]);
    } else {
      joined.push(s);
    }
  }
  const sizes = clusters.map((members) => members.length).sort((a, b) => a - b);
  const smallest = sizes.slice(0, 2).reduce((sum, size) => sum + size, 0);
  if (clusters.length < 2 || smallest > most) return clusters;

  const count = clusters.length;
  const home = new Int32Array(status.length);
  clusters.forEach((members, number) => {
    for (const s of members) home[s] = number;
  });
  const together = new Float64Array(count * count);
  for (let f = 0; f < model.featureIds.length; f += 1) {
    if (at(work.left, f) < 2) continue;
    for (let c = at(model.featureStart, f); c < at(model.featureStart, f + 1); c += 1) {
      if (alive[c] === 1) countTogether(model, node, c, home, together, count);
    }
  }
  return join(clusters, together, most);
}

function countTogether(
  model: IndexedModel,
  node: SearchNode,
  chain: number,
  home: Int32Array,
  together: Float64Array,
  count: number,
): void {
  const setups = model.chainSetups[chain] as Int32Array;
  for (let i = 0; i < setups.length; i += 1) {
    const one = setups[i] as number;
    if (node.status[one] !== 0) continue;
    for (let j = 0; j < setups.length; j += 1) {
      const other = setups[j] as number;
      if (node.status[other] !== 0 || home[one] === home[other]) continue;
      const key = (home[one] as number) * count + (home[other] as number);
      together[key] = (together[key] as number) + 1;
    }
  }
}

function join(clusters: number[][], together: Float64Array, most: number): number[][] {
  const count = clusters.length;
  const gone = new Set<number>();
  for (;;) {
    let best = 0;
    let a = -1;
    let b = -1;
    for (let i = 0; i < count; i += 1) {
      if (gone.has(i)) continue;
      for (let j = i + 1; j < count; j += 1) {
        const weight = at(together, i * count + j);
        if (weight <= best || gone.has(j)) continue;
        if ((clusters[i]?.length ?? 0) + (clusters[j]?.length ?? 0) > most) continue;
        best = weight;
        a = i;
        b = j;
      }
    }
    if (a < 0) return clusters.filter((_, number) => !gone.has(number));
    clusters[a]?.push(...(clusters[b] ?? []));
    gone.add(b);
    for (let i = 0; i < count; i += 1) {
      together[a * count + i] = at(together, a * count + i) + at(together, b * count + i);
      together[i * count + a] = at(together, a * count + i);
    }
  }
}
