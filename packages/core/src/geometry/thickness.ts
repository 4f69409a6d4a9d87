import { firstHit, isClear, nearestPoint } from './tree-queries.js';
import type { TriangleTree } from './triangle-tree.js';

/** Wall and section thickness from points spread over the skin. */
export interface Thickness {
  /** Points that were looked at. */
  readonly samples: number;
  /** Mean distance between neighbouring points, mm. */
  readonly spacingMm: number;
  /**
   * Diameter of the largest ball that fits in the metal, mm: the section that soaks last. A thicker
   * place can only be missed where its ball touches the skin between the points: at most twice the
   * spacing thicker on skin that is flat over that spacing, or by 0.2 % anywhere.
   */
  readonly thickestMm?: number;
  readonly thickestAtMm?: readonly [number, number, number];
  /**
   * Least distance through the metal between faces that look away from each other (within 30 deg),
   * mm. Exact where it was taken; a thinner place smaller across than the spacing can be missed, and
   * where faces run together to an edge it is not taken.
   */
  readonly thinnestWallMm?: number;
  readonly thinnestWallAtMm?: readonly [number, number, number];
  /** Least distance through the open between faces that look at each other (within 30 deg), mm. */
  readonly narrowestGapMm?: number;
  readonly narrowestGapAtMm?: readonly [number, number, number];
}

type Point = readonly [number, number, number];

interface Sample {
  readonly triangle: number;
  readonly point: Point;
  readonly normal: Point;
}

const opposed = -Math.cos(Math.PI / 6);
/** Faces that come together to less than this share of their distance within a triangle are a wedge. */
const wedge = 0.2;
const descents = 24;
/** A ball must be larger by this share to be worth the search: a round bar ties with itself all along. */
const gain = 0.002;

/**
 * Measures thickness at about `wanted` points, spread by area, with at least one in each triangle
 * when there are no more triangles than points. From each point a ray goes inwards (wall) and outwards (gap), and
 * a ball that touches the point is shrunk until it touches the skin elsewhere (Ma, Bae and Choi, "3D
 * medial axis point approximation using nearest neighbors and the normal field", 2012, doi
 * 10.1007/s00371-011-0594-7). The largest ball is then moved to where it can grow no more.
 */
export function measureThickness(tree: TriangleTree, wanted = 4000): Thickness {
  const { samples, area } = spreadSamples(tree, wanted);
  const inside = reached(tree, samples, -1);
  const outside = reached(tree, samples, 1);
  const thin = least(tree, samples, inside, -1);
  const gap = least(tree, samples, outside, 1);
  const thick = largestBall(tree, samples, inside);
  return {
    samples: samples.length,
    spacingMm: samples.length === 0 ? 0 : Math.sqrt(area / samples.length),
    ...(thick === undefined ? {} : { thickestMm: 2 * thick.radius, thickestAtMm: thick.centre }),
    ...(thin === undefined ? {} : { thinnestWallMm: thin.distance, thinnestWallAtMm: thin.point }),
    ...(gap === undefined ? {} : { narrowestGapMm: gap.distance, narrowestGapAtMm: gap.point }),
  };
}

/** Points in the triangles, in proportion to their area, at the R2 sequence of two irrational steps. */
function spreadSamples(
  tree: TriangleTree,
  wanted: number,
): { readonly samples: readonly Sample[]; readonly area: number } {
  const { positionsMm: p, triangles } = tree.mesh;
  const count = triangles.length / 3;
  let area = 0;
  for (let triangle = 0; triangle < count; triangle++) area += areaOf(p, triangles, triangle);
  const samples: Sample[] = [];
  const each = count <= wanted;
  let due = 0.5;
  let turn = 0;
  for (const triangle of tree.order) {
    const here = areaOf(p, triangles, triangle);
    if (here === 0) continue;
    due += (wanted * here) / area;
    let points = Math.floor(due);
    due -= points;
    if (each) points = Math.max(1, points);
    if (points === 0) continue;
    const { corner, u, v, normal } = frame(p, triangles, triangle);
    for (let k = 0; k < points; k++) {
      turn++;
      // one point alone goes to the middle
      let s = points === 1 ? 1 / 3 : (0.5 + 0.7548776662466927 * turn) % 1;
      let t = points === 1 ? 1 / 3 : (0.5 + 0.5698402909980532 * turn) % 1;
      if (s + t > 1) {
        s = 1 - s;
        t = 1 - t;
      }
      samples.push({ triangle, point: along(corner, u, s, v, t), normal });
    }
  }
  return { samples, area };
}

function areaOf(p: Float64Array, triangles: Uint32Array, triangle: number): number {
  const a = 3 * (triangles[3 * triangle] as number);
  const b = 3 * (triangles[3 * triangle + 1] as number);
  const c = 3 * (triangles[3 * triangle + 2] as number);
  const ux = (p[b] as number) - (p[a] as number);
  const uy = (p[b + 1] as number) - (p[a + 1] as number);
  const uz = (p[b + 2] as number) - (p[a + 2] as number);
  const vx = (p[c] as number) - (p[a] as number);
  const vy = (p[c + 1] as number) - (p[a + 1] as number);
  const vz = (p[c + 2] as number) - (p[a + 2] as number);
  const x = uy * vz - uz * vy;
  const y = uz * vx - ux * vz;
  const z = ux * vy - uy * vx;
  return Math.sqrt(x * x + y * y + z * z) / 2;
}

function frame(
  p: Float64Array,
  triangles: Uint32Array,
  triangle: number,
): {
  readonly corner: Point;
  readonly u: Point;
  readonly v: Point;
  readonly normal: Point;
} {
  const a = 3 * (triangles[3 * triangle] as number);
  const b = 3 * (triangles[3 * triangle + 1] as number);
  const c = 3 * (triangles[3 * triangle + 2] as number);
  const corner: Point = [p[a] as number, p[a + 1] as number, p[a + 2] as number];
  const u: Point = [
    (p[b] as number) - corner[0],
    (p[b + 1] as number) - corner[1],
    (p[b + 2] as number) - corner[2],
  ];
  const v: Point = [
    (p[c] as number) - corner[0],
    (p[c + 1] as number) - corner[1],
    (p[c + 2] as number) - corner[2],
  ];
  const x = u[1] * v[2] - u[2] * v[1];
  const y = u[2] * v[0] - u[0] * v[2];
  const z = u[0] * v[1] - u[1] * v[0];
  const double = Math.hypot(x, y, z);
  const normal: Point = double === 0 ? [0, 0, 0] : [x / double, y / double, z / double];
  return { corner, u, v, normal };
}

function along(corner: Point, u: Point, s: number, v: Point, t: number): Point {
  return [
    corner[0] + s * u[0] + t * v[0],
    corner[1] + s * u[1] + t * v[1],
    corner[2] + s * u[2] + t * v[2],
  ];
}

function dot(a: Point, b: Point): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/** How far the skin is from each point along its normal; Infinity where there is none. */
function reached(tree: TriangleTree, samples: readonly Sample[], side: 1 | -1): Float64Array {
  return Float64Array.from(samples, (sample) => throughDistance(tree, sample, side) ?? Infinity);
}

function throughDistance(tree: TriangleTree, sample: Sample, side: 1 | -1): number | undefined {
  const { normal, point, triangle } = sample;
  const direction: Point = [side * normal[0], side * normal[1], side * normal[2]];
  return firstHit(tree, point, direction, 1e-9, triangle)?.distanceMm;
}

/** Distance between opposed faces at a point; undefined when the face that is met is not opposed. */
function opposedDistance(tree: TriangleTree, sample: Sample, side: 1 | -1): number | undefined {
  const { normal, point, triangle } = sample;
  const direction: Point = [side * normal[0], side * normal[1], side * normal[2]];
  const hit = firstHit(tree, point, direction, 1e-9, triangle);
  if (hit === undefined) return undefined;
  const other = frame(tree.mesh.positionsMm, tree.mesh.triangles, hit.triangle).normal;
  return dot(normal, other) <= opposed ? hit.distanceMm : undefined;
}

/** The least opposed distance: the shortest of the samples, each followed to the corners of its triangle. */
function least(
  tree: TriangleTree,
  samples: readonly Sample[],
  distances: Float64Array,
  side: 1 | -1,
): { readonly distance: number; readonly point: Point } | undefined {
  let best: { readonly distance: number; readonly point: Point } | undefined;
  let followed = 0;
  for (const index of byDistance(distances)) {
    if (followed >= descents || !Number.isFinite(distances[index] as number)) break;
    const sample = samples[index] as Sample;
    const middle = opposedDistance(tree, sample, side);
    if (middle === undefined) continue;
    followed++;
    let here = { distance: middle, point: sample.point };
    for (const point of towardCorners(tree, sample)) {
      const distance = opposedDistance(tree, { ...sample, point }, side);
      if (distance !== undefined && distance < here.distance) here = { distance, point };
    }
    if (here.distance < wedge * middle) continue;
    if (best === undefined || here.distance < best.distance) best = here;
  }
  return best;
}

function towardCorners(tree: TriangleTree, sample: Sample): readonly Point[] {
  const { corner, u, v } = frame(tree.mesh.positionsMm, tree.mesh.triangles, sample.triangle);
  // inset, so that the ray does not run along an edge
  return [
    along(corner, u, 0.001, v, 0.001),
    along(corner, u, 0.998, v, 0.001),
    along(corner, u, 0.001, v, 0.998),
  ];
}

/**
 * Radius of the largest ball inside the metal that touches the skin at the sample; undefined when it
 * is not above `least`. Balls end within a thousandth: `grow` finds the rest.
 */
function ballRadius(
  tree: TriangleTree,
  { point, normal }: Sample,
  through: number,
  least: number,
): number | undefined {
  const touch = (radius: number) =>
    nearestPoint(tree, ...along(point, normal, -radius, normal, 0), 0.999 * radius);
  if (least > 0 && !isClear(tree, ...along(point, normal, -least, normal, 0), 0.999 * least))
    return undefined;
  let radius = through / 2;
  for (let turn = 0; turn < 50; turn++) {
    const nearest = touch(radius);
    if (nearest === undefined) return radius;
    const [x, y, z] = nearest.pointMm;
    const chord: Point = [point[0] - x, point[1] - y, point[2] - z];
    const depth = dot(normal, chord);
    const shrunk = depth <= 0 ? 0 : dot(chord, chord) / (2 * depth);
    if (shrunk <= least) return undefined;
    if (shrunk >= radius) return radius;
    radius = shrunk;
  }
  return radius;
}

/** The largest ball: samples in the order of the metal behind them, since no ball is wider than that. */
function largestBall(
  tree: TriangleTree,
  samples: readonly Sample[],
  through: Float64Array,
): { readonly radius: number; readonly centre: Point } | undefined {
  let best: { readonly radius: number; readonly centre: Point } | undefined;
  for (const index of byDistance(through).reverse()) {
    const behind = through[index] as number;
    if (!Number.isFinite(behind)) continue;
    const least = (best?.radius ?? 0) * (1 + gain);
    if (behind / 2 <= least) break;
    const sample = samples[index] as Sample;
    const radius = ballRadius(tree, sample, behind, least);
    if (radius === undefined) continue;
    const { point, normal } = sample;
    best = grow(tree, along(point, normal, -radius, normal, 0), 0.999 * radius);
  }
  return best;
}

function byDistance(distances: Float64Array): number[] {
  const order = Array.from(distances, (_, index) => index);
  // Infinity - Infinity is NaN, so equal ones are told apart first
  return order.sort((a, b) =>
    distances[a] === distances[b] ? a - b : (distances[a] as number) - (distances[b] as number),
  );
}

/** Towards the faces, edges and corners of a cube: a ball between slanted walls climbs along a ridge. */
const ways: readonly Point[] = [-1, 0, 1]
  .flatMap((x) => [-1, 0, 1].flatMap((y) => [-1, 0, 1].map((z) => [x, y, z] as const)))
  .filter(([x, y, z]) => x !== 0 || y !== 0 || z !== 0)
  .map(([x, y, z]) => {
    const length = Math.hypot(x, y, z);
    return [x / length, y / length, z / length];
  });

/** Moves a centre by steps, halved when none helps, to where the ball is largest. */
function grow(
  tree: TriangleTree,
  start: Point,
  startRadius: number,
): { readonly radius: number; readonly centre: Point } {
  let centre = start;
  let radius = startRadius;
  const first = nearestPoint(tree, ...start);
  if (first !== undefined) radius = first.distanceMm;
  // steps stay well inside the ball, so the centre never leaves the metal
  for (let step = startRadius / 4; step > 1e-6 * startRadius; ) {
    let better = false;
    for (const way of ways) {
      const moved = along(centre, way, step, way, 0);
      // nothing nearer than the present radius: the ball can grow there
      if (!isClear(tree, ...moved, radius * (1 + 1e-9))) continue;
      const at = nearestPoint(tree, ...moved);
      if (at === undefined) continue;
      centre = moved;
      radius = at.distanceMm;
      better = true;
    }
    if (!better) step /= 2;
  }
  return { radius, centre };
}
