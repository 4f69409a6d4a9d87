import type { TriangleMesh } from './mesh.js';

/** A cut through the part at one height. */
export interface Section {
  readonly zMm: number;
  /** Area of metal in the cut, mm2. */
  readonly areaMm2: number;
  /** Length of all its outlines, mm. */
  readonly perimeterMm: number;
}

/**
 * Horizontal cuts just above the given heights. Each triangle that the plane crosses gives one
 * directed piece of outline; the area is half the sum of their cross products (Green's theorem), so
 * outlines need not be joined. A vertex in the plane counts as below it: at the lowest height of a
 * part the result is its foot on the plate.
 *
 * @param heightsMm heights, mm, in any order
 * @returns one section a height, in the same order
 * @example
 * sectionsAt(boxMesh(10, 20, 30), [0, 15]).map(({ areaMm2 }) => areaMm2) // -> [200, 200]
 */
export function sectionsAt(mesh: TriangleMesh, heightsMm: readonly number[]): readonly Section[] {
  const { positionsMm: p, triangles } = mesh;
  const order = heightsMm.map((_, index) => index);
  order.sort((i, k) => (heightsMm[i] as number) - (heightsMm[k] as number));
  const sorted = Float64Array.from(order, (index) => heightsMm[index] as number);
  const area2 = new Float64Array(sorted.length);
  const length = new Float64Array(sorted.length);
  const ox = p[3 * (triangles[0] ?? 0)] ?? 0;
  const oy = p[3 * (triangles[0] ?? 0) + 1] ?? 0;
  for (let h = 0; h < triangles.length; h += 3) {
    let a = 3 * (triangles[h] as number);
    let b = 3 * (triangles[h + 1] as number);
    let c = 3 * (triangles[h + 2] as number);
    const za = p[a + 2] as number;
    const zb = p[b + 2] as number;
    const zc = p[c + 2] as number;
    const low = Math.min(za, zb, zc);
    const high = Math.max(za, zb, zc);
    // heights z with low <= z < high cross
    let at = firstFrom(sorted, low);
    for (; at < sorted.length; at++) {
      const z = sorted[at] as number;
      if (z >= high) break;
      // turn the corners so that a stands alone on its side
      const aboveA = (p[a + 2] as number) > z;
      const aboveB = (p[b + 2] as number) > z;
      const aboveC = (p[c + 2] as number) > z;
      if (aboveA === aboveC) [a, b, c] = [b, c, a];
      else if (aboveA === aboveB) [a, b, c] = [c, a, b];
      const top = (p[a + 2] as number) > z;
      const ab = (z - (p[a + 2] as number)) / ((p[b + 2] as number) - (p[a + 2] as number));
      const ac = (z - (p[a + 2] as number)) / ((p[c + 2] as number) - (p[a + 2] as number));
      const x1 = (p[a] as number) + ab * ((p[b] as number) - (p[a] as number)) - ox;
      const y1 = (p[a + 1] as number) + ab * ((p[b + 1] as number) - (p[a + 1] as number)) - oy;
      const x2 = (p[a] as number) + ac * ((p[c] as number) - (p[a] as number)) - ox;
      const y2 = (p[a + 1] as number) + ac * ((p[c + 1] as number) - (p[a + 1] as number)) - oy;
      const cross = x1 * y2 - x2 * y1;
      area2[at] = (area2[at] as number) + (top ? cross : -cross);
      length[at] = (length[at] as number) + Math.hypot(x2 - x1, y2 - y1);
    }
  }
  const sections: Section[] = [];
  for (const [at, index] of order.entries())
    sections[index] = {
      zMm: sorted[at] as number,
      areaMm2: (area2[at] as number) / 2,
      perimeterMm: length[at] as number,
    };
  return sections;
}

/** Index of the first entry of a sorted list that is not below the value. */
function firstFrom(sorted: Float64Array, value: number): number {
  let low = 0;
  let high = sorted.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((sorted[middle] as number) < value) low = middle + 1;
    else high = middle;
  }
  return low;
}
