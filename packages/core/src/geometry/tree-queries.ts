import { leafSize, type TriangleTree } from './triangle-tree.js';

export interface RayHit {
  readonly distanceMm: number;
  readonly triangle: number;
}

/** A hit of a ray with all that a caller may want to count. */
export type HitVisitor = (distanceMm: number, triangle: number, entering: boolean) => void;

interface Query {
  /** Level and node, packed by turns. */
  readonly stack: Int32Array;
}

const query: Query = { stack: new Int32Array(256) };

/**
 * First triangle that a ray meets farther than `fromMm`. The direction has length 1.
 *
 * @param skip a triangle not to be hit, e.g. the one that the ray starts from; -1 for none
 */
export function firstHit(
  tree: TriangleTree,
  origin: readonly number[],
  direction: readonly number[],
  fromMm: number,
  skip: number,
): RayHit | undefined {
  let best = Number.POSITIVE_INFINITY;
  let hit = -1;
  walkRay(
    tree,
    origin,
    direction,
    () => best,
    (distance, triangle) => {
      if (distance > fromMm && distance < best && triangle !== skip) {
        best = distance;
        hit = triangle;
      }
    },
  );
  return hit < 0 ? undefined : { distanceMm: best, triangle: hit };
}

/** Every triangle that a ray of length `reachMm` meets, in no order. */
export function allHits(
  tree: TriangleTree,
  origin: readonly number[],
  direction: readonly number[],
  reachMm: number,
  visit: HitVisitor,
): void {
  walkRay(tree, origin, direction, () => reachMm, visit);
}

function walkRay(
  tree: TriangleTree,
  origin: readonly number[],
  direction: readonly number[],
  reach: () => number,
  visit: HitVisitor,
): void {
  const { boxes, levels, order } = tree;
  const { positionsMm: p, triangles } = tree.mesh;
  const [ox = 0, oy = 0, oz = 0] = origin;
  const [dx = 0, dy = 0, dz = 0] = direction;
  const ix = inverseOf(dx);
  const iy = inverseOf(dy);
  const iz = inverseOf(dz);
  const { stack } = query;
  let top = 0;
  stack[top++] = levels.length - 2;
  stack[top++] = 0;
  while (top > 0) {
    const index = stack[--top] as number;
    const level = stack[--top] as number;
    const box = 6 * ((levels[level] as number) + index);
    const limit = reach();
    // NaN of 0 * Infinity falls out of min and max when the comparison is written this way
    let near = 0;
    let far = limit;
    for (let axis = 0; axis < 3; axis++) {
      const o = axis === 0 ? ox : axis === 1 ? oy : oz;
      const inverse = axis === 0 ? ix : axis === 1 ? iy : iz;
      let t1 = ((boxes[box + axis] as number) - o) * inverse;
      let t2 = ((boxes[box + 3 + axis] as number) - o) * inverse;
      if (t1 > t2) [t1, t2] = [t2, t1];
      if (t1 > near) near = t1;
      if (t2 < far) far = t2;
    }
    // a margin for flat boxes and rounding
    if (near > far + 1e-9 * (1 + Math.abs(far))) continue;
    if (level > 0) {
      const below = levels[level - 1] as number;
      const first = 2 * index;
      if (first + 1 >= (levels[level] as number) - below) {
        stack[top++] = level - 1;
        stack[top++] = first;
        continue;
      }
      // the nearer one is pushed last, so it is looked at first
      const one = 6 * (below + first);
      const ahead =
        dx * middleGap(boxes, one) +
        dy * middleGap(boxes, one + 1) +
        dz * middleGap(boxes, one + 2);
      const farther = ahead > 0 ? 1 : 0;
      stack[top++] = level - 1;
      stack[top++] = first + farther;
      stack[top++] = level - 1;
      stack[top++] = first + 1 - farther;
      continue;
    }
    const end = Math.min(order.length, (index + 1) * leafSize);
    for (let at = index * leafSize; at < end; at++) {
      const triangle = order[at] as number;
      // Moeller and Trumbore 1997, doi 10.1080/10867651.1997.10487468
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
      const px = dy * vz - dz * vy;
      const py = dz * vx - dx * vz;
      const pz = dx * vy - dy * vx;
      const determinant = ux * px + uy * py + uz * pz;
      if (determinant === 0) continue;
      const sx = ox - ax;
      const sy = oy - ay;
      const sz = oz - az;
      const u = (sx * px + sy * py + sz * pz) / determinant;
      if (u < 0 || u > 1) continue;
      const qx = sy * uz - sz * uy;
      const qy = sz * ux - sx * uz;
      const qz = sx * uy - sy * ux;
      const v = (dx * qx + dy * qy + dz * qz) / determinant;
      if (v < 0 || u + v > 1) continue;
      const distance = (vx * qx + vy * qy + vz * qz) / determinant;
      if (distance >= 0 && distance <= limit) visit(distance, triangle, determinant > 0);
    }
  }
}

/** Infinity for what is as good as zero, never its negative: 0 times it must not look like a miss. */
function inverseOf(part: number): number {
  return Math.abs(part) < 1e-300 ? Number.POSITIVE_INFINITY : 1 / part;
}

/** Twice how far the middle of the next box lies ahead of the middle of this one along an axis. */
function middleGap(boxes: Float64Array, at: number): number {
  return (
    (boxes[at + 6] as number) +
    (boxes[at + 9] as number) -
    (boxes[at] as number) -
    (boxes[at + 3] as number)
  );
}

/** Point of the mesh that is nearest to a point. */
export interface NearestPoint {
  readonly distanceMm: number;
  readonly pointMm: readonly [number, number, number];
  readonly triangle: number;
}

/** The nearest point of the mesh within a distance; undefined when nothing is as near. */
export function nearestPoint(
  tree: TriangleTree,
  x: number,
  y: number,
  z: number,
  withinMm: number = Number.POSITIVE_INFINITY,
): NearestPoint | undefined {
  return search(tree, x, y, z, withinMm, false);
}

/** Whether a ball touches nothing. */
export function isClear(
  tree: TriangleTree,
  x: number,
  y: number,
  z: number,
  radiusMm: number,
): boolean {
  return search(tree, x, y, z, radiusMm, true) === undefined;
}

function search(
  tree: TriangleTree,
  x: number,
  y: number,
  z: number,
  withinMm: number,
  anyWillDo: boolean,
): NearestPoint | undefined {
  const { boxes, levels, order, mesh } = tree;
  const { stack } = query;
  let best = withinMm * withinMm;
  let found = -1;
  const point = new Float64Array(3);
  const nearest = new Float64Array(3);
  let top = 0;
  stack[top++] = levels.length - 2;
  stack[top++] = 0;
  while (top > 0 && !(anyWillDo && found >= 0)) {
    const index = stack[--top] as number;
    const level = stack[--top] as number;
    const start = levels[level] as number;
    if (boxDistance2(boxes, 6 * (start + index), x, y, z) >= best) continue;
    if (level > 0) {
      const below = levels[level - 1] as number;
      const first = 2 * index;
      const two = first + 1 < start - below;
      const d1 = boxDistance2(boxes, 6 * (below + first), x, y, z);
      const d2 = two ? boxDistance2(boxes, 6 * (below + first + 1), x, y, z) : best;
      // the nearer one is pushed last, so it is looked at first
      if (d2 > d1 && d2 < best) {
        stack[top++] = level - 1;
        stack[top++] = first + 1;
      }
      if (d1 < best) {
        stack[top++] = level - 1;
        stack[top++] = first;
      }
      if (d2 <= d1 && d2 < best) {
        stack[top++] = level - 1;
        stack[top++] = first + 1;
      }
      continue;
    }
    const end = Math.min(order.length, (index + 1) * leafSize);
    for (let at = index * leafSize; at < end; at++) {
      const triangle = order[at] as number;
      nearestOnTriangle(mesh.positionsMm, mesh.triangles, triangle, x, y, z, point);
      const px = (point[0] as number) - x;
      const py = (point[1] as number) - y;
      const pz = (point[2] as number) - z;
      const d = px * px + py * py + pz * pz;
      if (d < best) {
        best = d;
        found = triangle;
        nearest.set(point);
      }
    }
  }
  if (found < 0) return undefined;
  const [nx = 0, ny = 0, nz = 0] = nearest;
  return { distanceMm: Math.sqrt(best), pointMm: [nx, ny, nz], triangle: found };
}

function boxDistance2(boxes: Float64Array, at: number, x: number, y: number, z: number): number {
  const dx = Math.max((boxes[at] as number) - x, 0, x - (boxes[at + 3] as number));
  const dy = Math.max((boxes[at + 1] as number) - y, 0, y - (boxes[at + 4] as number));
  const dz = Math.max((boxes[at + 2] as number) - z, 0, z - (boxes[at + 5] as number));
  return dx * dx + dy * dy + dz * dz;
}

/** By the Voronoi regions of a triangle: Ericson, Real-Time Collision Detection (2005), 5.1.5. */
function nearestOnTriangle(
  p: Float64Array,
  triangles: Uint32Array,
  triangle: number,
  x: number,
  y: number,
  z: number,
  out: Float64Array,
): void {
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
  const wx = x - ax;
  const wy = y - ay;
  const wz = z - az;
  const d1 = ux * wx + uy * wy + uz * wz;
  const d2 = vx * wx + vy * wy + vz * wz;
  const uu = ux * ux + uy * uy + uz * uz;
  const uv = ux * vx + uy * vy + uz * vz;
  const vv = vx * vx + vy * vy + vz * vz;
  // the same two products seen from the other two corners
  const d3 = d1 - uu;
  const d4 = d2 - uv;
  const d5 = d1 - uv;
  const d6 = d2 - vv;
  let s = 0;
  let t = 0;
  const vc = d1 * d4 - d3 * d2;
  const vb = d5 * d2 - d1 * d6;
  const va = d3 * d6 - d5 * d4;
  if (d1 <= 0 && d2 <= 0) {
    // the corner a
  } else if (d3 >= 0 && d4 <= d3) s = 1;
  else if (d6 >= 0 && d5 <= d6) t = 1;
  else if (vc <= 0 && d1 >= 0 && d3 <= 0) s = d1 / (d1 - d3);
  else if (vb <= 0 && d2 >= 0 && d6 <= 0) t = d2 / (d2 - d6);
  else if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) {
    t = (d4 - d3) / (d4 - d3 + (d5 - d6));
    s = 1 - t;
  } else {
    const whole = va + vb + vc;
    s = vb / whole;
    t = vc / whole;
  }
  out[0] = ax + s * ux + t * vx;
  out[1] = ay + s * uy + t * vy;
  out[2] = az + s * uz + t * vz;
}
