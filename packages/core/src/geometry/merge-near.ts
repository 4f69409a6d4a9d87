import type { TriangleMesh } from './mesh.js';

/**
 * Merges vertices that lie within a tolerance of an earlier one, which stays where it is; triangles
 * that shrink to nothing are dropped. Vertices are kept in cells of twice the tolerance, so a vertex
 * is compared with the few in the eight cells around it.
 */
export function mergeNear(mesh: TriangleMesh, toleranceMm: number): TriangleMesh {
  const { positionsMm: p, triangles } = mesh;
  const count = p.length / 3;
  const size = 2 * toleranceMm;
  const heads = new Int32Array(2 ** Math.ceil(Math.log2(Math.max(16, 2 * count)))).fill(-1);
  const next = new Int32Array(count);
  const number = new Uint32Array(count);
  const positions = new Float64Array(p.length);
  const slotOf = (x: number, y: number, z: number): number =>
    (Math.imul(x, 0x9e3779b1) ^ Math.imul(y, 0x85ebca6b) ^ Math.imul(z, 0xc2b2ae35)) &
    (heads.length - 1);
  let kept = 0;
  for (let vertex = 0; vertex < count; vertex++) {
    const x = p[3 * vertex] as number;
    const y = p[3 * vertex + 1] as number;
    const z = p[3 * vertex + 2] as number;
    const cell = [Math.floor(x / size), Math.floor(y / size), Math.floor(z / size)] as const;
    // the neighbour cells on the nearer side of each axis
    const side = [
      x / size - cell[0] < 0.5 ? -1 : 1,
      y / size - cell[1] < 0.5 ? -1 : 1,
      z / size - cell[2] < 0.5 ? -1 : 1,
    ] as const;
    let same = -1;
    for (let around = 0; around < 8 && same < 0; around++) {
      const slot = slotOf(
        cell[0] + (around & 1 ? side[0] : 0),
        cell[1] + (around & 2 ? side[1] : 0),
        cell[2] + (around & 4 ? side[2] : 0),
      );
      for (let other = heads[slot] as number; other >= 0; other = next[other] as number) {
        const dx = (positions[3 * other] as number) - x;
        const dy = (positions[3 * other + 1] as number) - y;
        const dz = (positions[3 * other + 2] as number) - z;
        if (dx * dx + dy * dy + dz * dz > toleranceMm * toleranceMm) continue;
        same = other;
        break;
      }
    }
    if (same < 0) {
      same = kept++;
      positions.set([x, y, z], 3 * same);
      const slot = slotOf(...cell);
      next[same] = heads[slot] as number;
      heads[slot] = same;
    }
    number[vertex] = same;
  }
  const out = new Uint32Array(triangles.length);
  let length = 0;
  for (let at = 0; at < triangles.length; at += 3) {
    const a = number[triangles[at] as number] as number;
    const b = number[triangles[at + 1] as number] as number;
    const c = number[triangles[at + 2] as number] as number;
    if (a === b || b === c || c === a) continue;
    out[length] = a;
    out[length + 1] = b;
    out[length + 2] = c;
    length += 3;
  }
  return { positionsMm: positions.slice(0, 3 * kept), triangles: out.slice(0, length) };
}
