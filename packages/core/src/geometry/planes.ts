import type { MeshEdges } from './edges.js';
import type { FaceNormals } from './face-normals.js';
import { type TriangleMesh, triangleCount } from './mesh.js';
import { acrossOf, dot, type Vector, vertexAt } from './vector.js';

/** A flat piece of skin. */
export interface PlaneFace {
  readonly areaMm2: number;
  /** Outwards, length 1. */
  readonly normal: Vector;
  /** Middle of its area, mm. */
  readonly centreMm: Vector;
  /** Extents in the plane, mm: along the level direction and across it. */
  readonly extentsMm: readonly [number, number];
}

const flatCosine = Math.cos((0.6 * Math.PI) / 180);

/**
 * Flat faces by region growing: neighbours join while their normals stay within 0.6 deg of the seed's
 * and their corners within `toleranceMm` of its plane.
 *
 * @param taken triangles that belong to something else already (a cylinder) are left out
 * @param leastAreaMm2 smaller faces are not reported
 * @returns largest first
 */
export function planeFaces(
  mesh: TriangleMesh,
  edges: MeshEdges,
  { normals, areasMm2 }: FaceNormals,
  taken: Uint8Array,
  leastAreaMm2: number,
  toleranceMm: number,
): readonly PlaneFace[] {
  const { positionsMm: p, triangles } = mesh;
  const count = triangleCount(mesh);
  const used = taken.slice();
  const stack = new Uint32Array(count);
  const faces: PlaneFace[] = [];
  const mean = areasMm2.reduce((sum, area) => sum + area, 0) / Math.max(1, count);
  // large triangles have the surest normals, so they seed first
  for (const least of [mean, mean / 100]) {
    for (let seed = 0; seed < count; seed++) {
      if (used[seed] !== 0 || (areasMm2[seed] as number) < least) continue;
      const nx = normals[3 * seed] as number;
      const ny = normals[3 * seed + 1] as number;
      const nz = normals[3 * seed + 2] as number;
      const a = 3 * (triangles[3 * seed] as number);
      const offset = nx * (p[a] as number) + ny * (p[a + 1] as number) + nz * (p[a + 2] as number);
      const region: number[] = [];
      let area = 0;
      let top = 0;
      stack[top++] = seed;
      used[seed] = 1;
      while (top > 0) {
        const triangle = stack[--top] as number;
        region.push(triangle);
        area += areasMm2[triangle] as number;
        for (let h = 3 * triangle; h < 3 * triangle + 3; h++) {
          const twin = edges.twins[h] as number;
          if (twin < 0) continue;
          const next = (twin / 3) | 0;
          if (used[next] !== 0) continue;
          const cosine =
            nx * (normals[3 * next] as number) +
            ny * (normals[3 * next + 1] as number) +
            nz * (normals[3 * next + 2] as number);
          // slivers have no sure normal; their corners decide
          if (cosine < flatCosine && (areasMm2[next] as number) > 1e-6 * mean) continue;
          // two of its corners are in the region already
          const v = 3 * (triangles[twin % 3 === 0 ? twin + 2 : twin - 1] as number);
          const height =
            nx * (p[v] as number) + ny * (p[v + 1] as number) + nz * (p[v + 2] as number) - offset;
          if (Math.abs(height) > toleranceMm) continue;
          used[next] = 1;
          stack[top++] = next;
        }
      }
      if (area >= leastAreaMm2) faces.push(planeFace(mesh, region, [nx, ny, nz], areasMm2));
    }
  }
  return faces.sort(
    (one, other) => other.areaMm2 - one.areaMm2 || one.centreMm[2] - other.centreMm[2],
  );
}

function planeFace(
  mesh: TriangleMesh,
  region: readonly number[],
  normal: Vector,
  areas: Float64Array,
): PlaneFace {
  const { positionsMm, triangles } = mesh;
  const [u, v] = acrossOf(normal);
  const low = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  const high = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  const centre = [0, 0, 0];
  let areaMm2 = 0;
  for (const triangle of region) {
    const area = areas[triangle] as number;
    areaMm2 += area;
    for (let corner = 0; corner < 3; corner++) {
      const point = vertexAt(positionsMm, triangles[3 * triangle + corner] as number);
      for (let axis = 0; axis < 3; axis++)
        centre[axis] = (centre[axis] as number) + (area * (point[axis] as number)) / 3;
      for (const [k, direction] of [u, v].entries()) {
        const along = dot(point, direction);
        low[k] = Math.min(low[k] as number, along);
        high[k] = Math.max(high[k] as number, along);
      }
    }
  }
  const [x = 0, y = 0, z = 0] = centre;
  return {
    areaMm2,
    normal,
    centreMm: [x / areaMm2, y / areaMm2, z / areaMm2],
    extentsMm: [(high[0] as number) - (low[0] as number), (high[1] as number) - (low[1] as number)],
  };
}
