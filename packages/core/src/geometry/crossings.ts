import type { MeshEdges } from './edges.js';
import type { FaceNormals } from './face-normals.js';
import { allHits } from './tree-queries.js';
import type { TriangleTree } from './triangle-tree.js';
import { dot, minus, type Vector, vertexAt } from './vector.js';

/** Most triangles of a mesh that is searched for crossings. */
export const maxCrossingTriangles = 100_000;

/** Triangles that an edge may meet, on average, before the search is given up: skins lie on each other. */
const meetingsPerEdge = 50;

/**
 * Edges that pierce a triangle which they do not belong to: both ends lie farther than
 * `depthMm` from its plane. Counting stops at `most`; undefined when so many skins lie on each other
 * that the search would take too long.
 */
export function crossingEdges(
  tree: TriangleTree,
  edges: MeshEdges,
  { normals }: FaceNormals,
  depthMm: number,
  most: number,
): number | undefined {
  const { positionsMm, triangles } = tree.mesh;
  let crossings = 0;
  let meetings = 0;
  for (let h = 0; h < triangles.length && crossings < most; h++) {
    if ((edges.twins[h] as number) > h) continue;
    const from = triangles[h] as number;
    const to = triangles[h % 3 === 2 ? h - 2 : h + 1] as number;
    const start = vertexAt(positionsMm, from);
    const way = minus(vertexAt(positionsMm, to), start);
    const length = Math.hypot(way[0], way[1], way[2]);
    if (length === 0) continue;
    const direction: Vector = [way[0] / length, way[1] / length, way[2] / length];
    let pierced = false;
    allHits(tree, start, direction, length, (distance, triangle) => {
      meetings++;
      for (let corner = 0; corner < 3; corner++) {
        const vertex = triangles[3 * triangle + corner] as number;
        if (vertex === from || vertex === to) return;
      }
      const slope = Math.abs(dot(direction, vertexAt(normals, triangle)));
      if (distance * slope > depthMm && (length - distance) * slope > depthMm) pierced = true;
    });
    if (pierced) crossings++;
    if (meetings > meetingsPerEdge * (h + 1000)) return undefined;
  }
  return crossings;
}
