import type { MeshEdges } from './edges.js';
import { openEdge } from './edges.js';
import { type TriangleMesh, triangleCount } from './mesh.js';
import { allHits } from './tree-queries.js';
import type { TriangleTree } from './triangle-tree.js';

/** A connected piece of surface. */
export interface Shell {
  readonly triangles: number;
  /** Signed volume, mm3: negative when its triangles face inwards. */
  readonly volumeMm3: number;
  readonly surfaceAreaMm2: number;
  /** No edge is open or flipped. */
  readonly closed: boolean;
  /** How many closed shells lie around it; undefined when this was not looked for. */
  readonly depth?: number;
}

export interface ShellMap {
  /** Number of the shell of each triangle, in the order of their first triangles. */
  readonly shellOf: Uint32Array;
  readonly count: number;
}

/** Most shells whose nesting is looked for. */
export const maxNestedShells = 2000;

/** Groups triangles that hang together by edges. Pieces that touch at a point or along a tangled edge stay apart. */
export function shellMap(mesh: TriangleMesh, edges: MeshEdges): ShellMap {
  const count = triangleCount(mesh);
  const shellOf = new Uint32Array(count).fill(0xffffffff);
  const stack = new Uint32Array(count);
  let shells = 0;
  for (let seed = 0; seed < count; seed++) {
    if (shellOf[seed] !== 0xffffffff) continue;
    let top = 0;
    stack[top++] = seed;
    shellOf[seed] = shells;
    while (top > 0) {
      const triangle = stack[--top] as number;
      for (let h = 3 * triangle; h < 3 * triangle + 3; h++) {
        const twin = edges.twins[h] as number;
        if (twin < 0) continue;
        const next = (twin / 3) | 0;
        if (shellOf[next] !== 0xffffffff) continue;
        shellOf[next] = shells;
        stack[top++] = next;
      }
    }
    shells++;
  }
  return { shellOf, count: shells };
}

/**
 * Volume, area and nesting of the shells. A shell inside an odd number of others is the skin of a
 * cavity when it faces inwards. Nesting counts the shells that a ray from the shell leaves.
 *
 * @param tree without it, or with more than `maxNestedShells` shells, the depth is left out
 */
export function shellsOf(
  mesh: TriangleMesh,
  edges: MeshEdges,
  map: ShellMap,
  tree?: TriangleTree,
): readonly Shell[] {
  const { positionsMm: p, triangles } = mesh;
  const { shellOf, count } = map;
  const volume = new Float64Array(count);
  const area = new Float64Array(count);
  const sizes = new Uint32Array(count);
  const open = new Uint8Array(count);
  const largest = new Float64Array(count);
  const seat = new Uint32Array(count);
  const origin = 3 * (triangles[0] ?? 0);
  const ox = p[origin] ?? 0;
  const oy = p[origin + 1] ?? 0;
  const oz = p[origin + 2] ?? 0;
  for (let triangle = 0; triangle < shellOf.length; triangle++) {
    const shell = shellOf[triangle] as number;
    const a = 3 * (triangles[3 * triangle] as number);
    const b = 3 * (triangles[3 * triangle + 1] as number);
    const c = 3 * (triangles[3 * triangle + 2] as number);
    const ax = p[a] as number;
    const ay = p[a + 1] as number;
    const az = p[a + 2] as number;
    const ux = (p[b] as number) - ax;
    const uy = (p[b + 1] as number) - ay;
    const uz = (p[b + 2] as number) - az;
    const vx = (p[c] as number) - ax;
    const vy = (p[c + 1] as number) - ay;
    const vz = (p[c + 2] as number) - az;
    const nx = uy * vz - uz * vy;
    const ny = uz * vx - ux * vz;
    const nz = ux * vy - uy * vx;
    const double = Math.sqrt(nx * nx + ny * ny + nz * nz);
    volume[shell] =
      (volume[shell] as number) + ((ax - ox) * nx + (ay - oy) * ny + (az - oz) * nz) / 6;
    area[shell] = (area[shell] as number) + double / 2;
    sizes[shell] = (sizes[shell] as number) + 1;
    if (double > (largest[shell] as number)) {
      largest[shell] = double;
      seat[shell] = triangle;
    }
    for (let h = 3 * triangle; h < 3 * triangle + 3; h++)
      if (edges.twins[h] === openEdge) open[shell] = 1;
  }
  const depths =
    tree === undefined || count > maxNestedShells ? undefined : depthsOf(tree, map, open, seat);
  return Array.from({ length: count }, (_, shell) => ({
    triangles: sizes[shell] as number,
    volumeMm3: volume[shell] as number,
    surfaceAreaMm2: area[shell] as number,
    closed: open[shell] === 0,
    ...(depths === undefined ? {} : { depth: depths[shell] as number }),
  }));
}

// No face of a part runs along this direction but by design.
const oblique: readonly number[] = [0.36596, 0.25881, 0.89395].map(
  (part, _axis, all) => part / Math.hypot(...all),
);

function depthsOf(
  tree: TriangleTree,
  { shellOf, count }: ShellMap,
  open: Uint8Array,
  seat: Uint32Array,
): Uint32Array {
  const depths = new Uint32Array(count);
  if (count < 2) return depths;
  const { positionsMm: p, triangles } = tree.mesh;
  const windings = new Int32Array(count);
  for (let shell = 0; shell < count; shell++) {
    const corners = [0, 1, 2].map(
      (corner) => 3 * (triangles[3 * (seat[shell] as number) + corner] as number),
    );
    // off the middle, where a fan of neighbours could meet
    const share = [0.41, 0.34, 0.25];
    const start = [0, 1, 2].map((axis) =>
      corners.reduce((sum, at, k) => sum + (share[k] as number) * (p[at + axis] as number), 0),
    );
    windings.fill(0);
    allHits(tree, start, oblique, Number.POSITIVE_INFINITY, (_distance, triangle, entering) => {
      const other = shellOf[triangle] as number;
      windings[other] = (windings[other] as number) + (entering ? 1 : -1);
    });
    for (let other = 0; other < count; other++)
      if (other !== shell && open[other] === 0 && windings[other] !== 0)
        depths[shell] = (depths[shell] as number) + 1;
  }
  return depths;
}
