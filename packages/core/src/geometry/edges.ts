import type { TriangleMesh } from './mesh.js';

/** Marks of a half-edge that has no single opposite one. */
export const openEdge = -1;
export const tangledEdge = -2;

/**
 * How the triangles hang together. Half-edge h leads from corner h to the next corner of triangle
 * floor(h / 3).
 */
export interface MeshEdges {
  /**
   * Opposite half-edge of each, or `openEdge` where there is none that runs the other way, or
   * `tangledEdge` where more than two triangles meet.
   */
  readonly twins: Int32Array;
  /** Edges with a triangle on one side only. */
  readonly open: number;
  /** Edges where more than two triangles meet. */
  readonly nonManifold: number;
  /** Of the latter, those with as many triangles of one direction as of the other: still closed. */
  readonly balanced: number;
  /** Edges whose two triangles run the same way: one of them faces the wrong side. */
  readonly flipped: number;
}

/**
 * Finds the neighbours of every triangle in time linear in their number: half-edges are put into one
 * bucket for each lower end, and pairs are looked for within a bucket only.
 */
export function meshEdges(mesh: TriangleMesh): MeshEdges {
  const { triangles } = mesh;
  const vertices = mesh.positionsMm.length / 3;
  const halfEdges = triangles.length;
  const starts = new Uint32Array(vertices + 1);
  for (let h = 0; h < halfEdges; h++) {
    const from = triangles[h] as number;
    const to = triangles[h % 3 === 2 ? h - 2 : h + 1] as number;
    const low = Math.min(from, to);
    starts[low + 1] = (starts[low + 1] as number) + 1;
  }
  for (let v = 0; v < vertices; v++)
    starts[v + 1] = (starts[v + 1] as number) + (starts[v] as number);
  const bucket = new Uint32Array(halfEdges);
  // after the filling, starts[v] is where the bucket of v ends
  for (let h = 0; h < halfEdges; h++) {
    const from = triangles[h] as number;
    const to = triangles[h % 3 === 2 ? h - 2 : h + 1] as number;
    const low = Math.min(from, to);
    const at = starts[low] as number;
    bucket[at] = h;
    starts[low] = at + 1;
  }
  const twins = new Int32Array(halfEdges).fill(openEdge);
  const tally = { open: 0, nonManifold: 0, balanced: 0, flipped: 0 };
  let begin = 0;
  for (let v = 0; v < vertices; v++) {
    const end = starts[v] as number;
    if (end - begin > 24) sortByFarEnd(bucket, begin, end, triangles);
    pairBucket(bucket, begin, end, v, triangles, twins, tally);
    begin = end;
  }
  return { twins, ...tally };
}

function farEnd(h: number, low: number, triangles: Uint32Array): number {
  const from = triangles[h] as number;
  return from === low ? (triangles[h % 3 === 2 ? h - 2 : h + 1] as number) : from;
}

/** Long buckets (the hub of a fan) are sorted, so that the edges to one vertex stand together. */
function sortByFarEnd(
  bucket: Uint32Array,
  begin: number,
  end: number,
  triangles: Uint32Array,
): void {
  const keys = new Float64Array(end - begin);
  for (let i = begin; i < end; i++) {
    const h = bucket[i] as number;
    const from = triangles[h] as number;
    const to = triangles[h % 3 === 2 ? h - 2 : h + 1] as number;
    keys[i - begin] = Math.max(from, to) * 2 ** 26 + h;
  }
  keys.sort();
  for (let i = begin; i < end; i++) bucket[i] = (keys[i - begin] as number) % 2 ** 26;
}

function pairBucket(
  bucket: Uint32Array,
  begin: number,
  end: number,
  low: number,
  triangles: Uint32Array,
  twins: Int32Array,
  tally: { open: number; nonManifold: number; balanced: number; flipped: number },
): void {
  const sorted = end - begin > 24;
  let rest = begin;
  while (rest < end) {
    const first = bucket[rest] as number;
    const far = farEnd(first, low, triangles);
    let last = rest + 1;
    let forward = (triangles[first] as number) === low ? 1 : 0;
    for (let i = rest + 1; i < end; i++) {
      const other = bucket[i] as number;
      if (farEnd(other, low, triangles) !== far) {
        if (sorted) break;
        continue;
      }
      // bring the edges to the same vertex next to each other
      bucket[i] = bucket[last] as number;
      bucket[last++] = other;
      if ((triangles[other] as number) === low) forward++;
    }
    const count = last - rest;
    if (count === 1) tally.open++;
    else if (count === 2 && forward === 1) {
      const second = bucket[rest + 1] as number;
      twins[first] = second;
      twins[second] = first;
    } else {
      if (count === 2) tally.flipped++;
      else {
        tally.nonManifold++;
        if (2 * forward === count) tally.balanced++;
      }
      const mark = count === 2 ? openEdge : tangledEdge;
      for (let i = rest; i < last; i++) twins[bucket[i] as number] = mark;
    }
    rest = last;
  }
}
