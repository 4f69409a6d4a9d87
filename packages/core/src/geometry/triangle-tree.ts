import { bounds } from './mass-properties.js';
import { type TriangleMesh, triangleCount } from './mesh.js';

/**
 * Boxes around groups of triangles, groups of groups and so on, to find what is near a point or on a
 * ray without looking at every triangle. The triangles are put along a Morton curve (Morton 1966;
 * Lauterbach et al. 2009, doi 10.1111/j.1467-8659.2009.01377.x) by a radix sort and taken in eights,
 * so building takes time linear in their number.
 */
export interface TriangleTree {
  readonly mesh: TriangleMesh;
  /** Triangles in the order of the curve. */
  readonly order: Uint32Array;
  /** Low x, y, z and high x, y, z of every node, leaves first, then level by level up to the root. */
  readonly boxes: Float64Array;
  /** First node of each level, and the number of nodes at the end. */
  readonly levels: readonly number[];
}

export const leafSize = 8;

export function triangleTree(mesh: TriangleMesh): TriangleTree {
  const order = mortonOrder(mesh);
  const levels = [0];
  let width = Math.max(1, Math.ceil(order.length / leafSize));
  let nodes = width;
  while (width > 1) {
    levels.push(nodes);
    width = Math.ceil(width / 2);
    nodes += width;
  }
  levels.push(nodes);
  const boxes = new Float64Array(6 * nodes);
  fillLeaves(mesh, order, boxes);
  for (let level = 1; level < levels.length - 1; level++) {
    const below = levels[level - 1] as number;
    const start = levels[level] as number;
    const end = levels[level + 1] as number;
    for (let node = start; node < end; node++) {
      const first = below + 2 * (node - start);
      const second = Math.min(first + 1, start - 1);
      for (let k = 0; k < 3; k++) {
        boxes[6 * node + k] = Math.min(
          boxes[6 * first + k] as number,
          boxes[6 * second + k] as number,
        );
        boxes[6 * node + 3 + k] = Math.max(
          boxes[6 * first + 3 + k] as number,
          boxes[6 * second + 3 + k] as number,
        );
      }
    }
  }
  return { mesh, order, boxes, levels };
}

function fillLeaves(mesh: TriangleMesh, order: Uint32Array, boxes: Float64Array): void {
  const { positionsMm: p, triangles } = mesh;
  for (let begin = 0; begin < order.length; begin += leafSize) {
    let x0 = Number.POSITIVE_INFINITY;
    let y0 = x0;
    let z0 = x0;
    let x1 = -x0;
    let y1 = -x0;
    let z1 = -x0;
    const end = Math.min(order.length, begin + leafSize);
    for (let at = begin; at < end; at++) {
      const triangle = 3 * (order[at] as number);
      for (let corner = 0; corner < 3; corner++) {
        const vertex = 3 * (triangles[triangle + corner] as number);
        const x = p[vertex] as number;
        const y = p[vertex + 1] as number;
        const z = p[vertex + 2] as number;
        if (x < x0) x0 = x;
        if (x > x1) x1 = x;
        if (y < y0) y0 = y;
        if (y > y1) y1 = y;
        if (z < z0) z0 = z;
        if (z > z1) z1 = z;
      }
    }
    const node = (6 * begin) / leafSize;
    boxes[node] = x0;
    boxes[node + 1] = y0;
    boxes[node + 2] = z0;
    boxes[node + 3] = x1;
    boxes[node + 4] = y1;
    boxes[node + 5] = z1;
  }
}

/** Numbers of the triangles sorted by the Morton code of their centres, 10 bits an axis. */
function mortonOrder(mesh: TriangleMesh): Uint32Array {
  const { positionsMm: p, triangles } = mesh;
  const count = triangleCount(mesh);
  const { low, high } = bounds(mesh);
  const scale = low.map((value, axis) => {
    const extent = (high[axis] as number) - value;
    return extent > 0 ? 1023 / (3 * extent) : 0;
  });
  const [sx = 0, sy = 0, sz = 0] = scale;
  let keys = new Uint32Array(count);
  for (let triangle = 0; triangle < count; triangle++) {
    const a = 3 * (triangles[3 * triangle] as number);
    const b = 3 * (triangles[3 * triangle + 1] as number);
    const c = 3 * (triangles[3 * triangle + 2] as number);
    const x = (p[a] as number) + (p[b] as number) + (p[c] as number) - 3 * low[0];
    const y = (p[a + 1] as number) + (p[b + 1] as number) + (p[c + 1] as number) - 3 * low[1];
    const z = (p[a + 2] as number) + (p[b + 2] as number) + (p[c + 2] as number) - 3 * low[2];
    keys[triangle] = spread(x * sx) | (spread(y * sy) << 1) | (spread(z * sz) << 2);
  }
  let order = new Uint32Array(count);
  for (let i = 0; i < count; i++) order[i] = i;
  let otherKeys = new Uint32Array(count);
  let otherOrder = new Uint32Array(count);
  for (let shift = 0; shift < 30; shift += 10) {
    const starts = new Uint32Array(1025);
    for (let i = 0; i < count; i++) {
      const digit = ((keys[i] as number) >>> shift) & 1023;
      starts[digit + 1] = (starts[digit + 1] as number) + 1;
    }
    for (let digit = 0; digit < 1024; digit++)
      starts[digit + 1] = (starts[digit + 1] as number) + (starts[digit] as number);
    for (let i = 0; i < count; i++) {
      const digit = ((keys[i] as number) >>> shift) & 1023;
      const to = starts[digit] as number;
      starts[digit] = to + 1;
      otherKeys[to] = keys[i] as number;
      otherOrder[to] = order[i] as number;
    }
    [keys, otherKeys] = [otherKeys, keys];
    [order, otherOrder] = [otherOrder, order];
  }
  return order;
}

/** Puts two empty bits after each of the ten lowest bits. */
function spread(value: number): number {
  let v = value & 1023;
  v = (v | (v << 16)) & 0x030000ff;
  v = (v | (v << 8)) & 0x0300f00f;
  v = (v | (v << 4)) & 0x030c30c3;
  return (v | (v << 2)) & 0x09249249;
}
