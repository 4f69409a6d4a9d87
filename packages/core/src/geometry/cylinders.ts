import type { MeshEdges } from './edges.js';
import type { FaceNormals } from './face-normals.js';
import { type TriangleMesh, triangleCount } from './mesh.js';
import { firstHit } from './tree-queries.js';
import type { TriangleTree } from './triangle-tree.js';
import { acrossOf, cross, dot, minus, plus, unit, type Vector, vertexAt } from './vector.js';

/** A round piece of skin with straight sides. */
export interface CylinderFace {
  readonly kind: 'hole' | 'boss';
  readonly diameterMm: number;
  /** Length 1; points to the side with the higher z, then y, then x. */
  readonly axis: Vector;
  /** Middle of the axis, mm. */
  readonly centreMm: Vector;
  readonly lengthMm: number;
  readonly areaMm2: number;
  /** How far round the skin goes, deg: 360 for a whole hole. */
  readonly coverageDeg: number;
  /** Largest distance of a vertex from the fitted cylinder, mm. */
  readonly deviationMm: number;
  /** Whether each end of a hole is open over its whole width: against the axis, along it. */
  readonly openEnds: readonly [boolean, boolean];
  /** Whether a straight tool comes in from outside through each end. */
  readonly toolEnds: readonly [boolean, boolean];
}

export interface CylinderSearch {
  readonly faces: readonly CylinderFace[];
  /** 1 for each triangle that belongs to one of them. */
  readonly taken: Uint8Array;
}

const degree = Math.PI / 180;
/** Neighbouring facets of a round surface: flatter is a plane, sharper is an edge. */
const leastTurn = Math.cos(0.4 * degree);
const mostTurn = Math.cos(46 * degree);
/** How far a facet may lean to the axis. */
const leaning = 0.02;
/** What goes round by 170 deg has a facet that looks at least 60 deg away from any other one. */
const leastSpread = Math.cos(60 * degree);
/** How often a triangle may be part of a search that comes to nothing, before it is left out of seeds. */
const enough = 4;
/** Triangles of a patch on a smoothly curved skin, where every seed would find nearly the same one. */
const largePatch = 50;
/** Past its ends a hole or boss has an edge sharper than this. */
const smoothEnd = Math.cos(25 * degree);
/** A ring of a torus or sphere also lies on a cylinder, but on a short one. */
const leastLength = 0.12;
/** Least share of the skin: of a face that goes all round, and of one that does not. */
const leastShare = { whole: 1e-4, partial: 5e-4 };

/**
 * Round holes and bosses by region growing. Two neighbouring facets give an axis (square on both
 * normals) and, seen along it, three corners and so a circle; neighbours join while they lie along the axis
 * and their corners on the circle (within 0.2 % of the radius plus `toleranceMm`). What goes round by
 * 170 deg or more is kept, with the circle fitted to all corners by least squares.
 */
export function cylinderFaces(
  tree: TriangleTree,
  edges: MeshEdges,
  faces: FaceNormals,
  toleranceMm: number,
): CylinderSearch {
  const { mesh } = tree;
  const count = triangleCount(mesh);
  const taken = new Uint8Array(count);
  const stamp = new Uint32Array(count);
  const spent = new Uint8Array(count);
  const found: CylinderFace[] = [];
  const skinMm2 = faces.areasMm2.reduce((sum, area) => sum + area, 0);
  const widest = largestRadius(tree);
  let turn = 0;
  for (let h = 0; h < 3 * count; h++) {
    const twin = edges.twins[h] as number;
    if (twin < h) continue;
    const one = (h / 3) | 0;
    const other = (twin / 3) | 0;
    if (taken[one] !== 0 || taken[other] !== 0) continue;
    if ((spent[one] as number) >= enough && (spent[other] as number) >= enough) continue;
    const seed = seedOf(mesh, faces.normals, h, twin, one, other);
    if (seed === undefined || seed.radius > widest) continue;
    turn++;
    const { region, round } = growRegion(
      mesh,
      edges,
      faces,
      seed,
      one,
      taken,
      stamp,
      turn,
      toleranceMm,
    );
    if (!round || region.length < 8) {
      if (region.length >= largePatch) spend(spent, region, 1);
      continue;
    }
    // what is no hole or boss from here is none from the next seed either
    spend(spent, region, enough);
    const face = fitted(tree, faces, region, seed.axis, toleranceMm);
    if (face === undefined) continue;
    const share = face.coverageDeg === 360 ? leastShare.whole : leastShare.partial;
    if (face.areaMm2 < share * skinMm2) continue;
    if (face.lengthMm < face.diameterMm && runsOn(mesh, edges, faces, region, face.axis)) continue;
    for (const triangle of region) taken[triangle] = 1;
    found.push(face);
  }
  found.sort((a, b) => b.areaMm2 - a.areaMm2 || compare(a.centreMm, b.centreMm));
  return { faces: found, taken };
}

/**
 * Whether the skin goes on smoothly past the ends: then the piece is a slice of something curved both
 * ways, such as a bend of a pipe.
 */
function runsOn(
  { positionsMm, triangles }: TriangleMesh,
  edges: MeshEdges,
  { normals }: FaceNormals,
  region: readonly number[],
  axis: Vector,
): boolean {
  const inside = new Set(region);
  let smooth = 0;
  let all = 0;
  for (const triangle of region) {
    for (let h = 3 * triangle; h < 3 * triangle + 3; h++) {
      const twin = edges.twins[h] as number;
      const other = twin < 0 ? -1 : (twin / 3) | 0;
      if (inside.has(other)) continue;
      const edge = minus(
        vertexAt(positionsMm, triangles[h % 3 === 2 ? h - 2 : h + 1] as number),
        vertexAt(positionsMm, triangles[h] as number),
      );
      const length = Math.hypot(edge[0], edge[1], edge[2]);
      // the long sides of half a round are smooth by right
      if (Math.abs(dot(edge, axis)) > 0.7 * length) continue;
      all += length;
      if (other >= 0 && cosineBetween(normals, triangle, other) > smoothEnd) smooth += length;
    }
  }
  return smooth > all / 2;
}

/** Nothing rounder than the part is wide. */
function largestRadius({ boxes, levels }: TriangleTree): number {
  const root = 6 * ((levels[levels.length - 1] as number) - 1);
  return Math.max(
    ...[0, 1, 2].map((k) => (boxes[root + 3 + k] as number) - (boxes[root + k] as number)),
  );
}

function spend(spent: Uint8Array, region: readonly number[], by: number): void {
  for (const triangle of region) spent[triangle] = Math.min(200, (spent[triangle] as number) + by);
}

interface Seed {
  readonly axis: Vector;
  readonly u: Vector;
  readonly v: Vector;
  /** Middle of the circle in u and v. */
  readonly middle: readonly [number, number];
  readonly radius: number;
}

function seedOf(
  mesh: TriangleMesh,
  normals: Float64Array,
  h: number,
  twin: number,
  one: number,
  other: number,
): Seed | undefined {
  const cosine = cosineBetween(normals, one, other);
  if (cosine > leastTurn || cosine < mostTurn) return undefined;
  const axis = unit(cross(vertexAt(normals, one), vertexAt(normals, other)));
  const [u, v] = acrossOf(axis);
  const { positionsMm: p, triangles } = mesh;
  const flat = (half: number): readonly [number, number] => {
    const point = vertexAt(p, triangles[half] as number);
    return [dot(point, u), dot(point, v)];
  };
  const [ax, ay] = flat(h % 3 === 0 ? h + 2 : h - 1);
  const [bx, by] = flat(h);
  const [cx, cy] = flat(twin % 3 === 0 ? twin + 2 : twin - 1);
  const double = 2 * ((bx - ax) * (cy - ay) - (by - ay) * (cx - ax));
  const chord = (cx - ax) ** 2 + (cy - ay) ** 2;
  if (Math.abs(double) < 1e-9 * chord) return undefined;
  const b2 = (bx - ax) ** 2 + (by - ay) ** 2;
  const mx = ((cy - ay) * b2 - (by - ay) * chord) / double;
  const my = ((bx - ax) * chord - (cx - ax) * b2) / double;
  return { axis, u, v, middle: [ax + mx, ay + my], radius: Math.hypot(mx, my) };
}

function cosineBetween(normals: Float64Array, one: number, other: number): number {
  return (
    (normals[3 * one] as number) * (normals[3 * other] as number) +
    (normals[3 * one + 1] as number) * (normals[3 * other + 1] as number) +
    (normals[3 * one + 2] as number) * (normals[3 * other + 2] as number)
  );
}

function growRegion(
  mesh: TriangleMesh,
  edges: MeshEdges,
  { normals }: FaceNormals,
  { axis, u, v, middle, radius }: Seed,
  start: number,
  taken: Uint8Array,
  stamp: Uint32Array,
  turn: number,
  toleranceMm: number,
): { readonly region: readonly number[]; readonly round: boolean } {
  const { positionsMm: p, triangles } = mesh;
  const allowed = 0.002 * radius + toleranceMm;
  const fits = (triangle: number): boolean => {
    const lean =
      (normals[3 * triangle] as number) * axis[0] +
      (normals[3 * triangle + 1] as number) * axis[1] +
      (normals[3 * triangle + 2] as number) * axis[2];
    if (Math.abs(lean) > leaning) return false;
    for (let corner = 0; corner < 3; corner++) {
      const at = 3 * (triangles[3 * triangle + corner] as number);
      const x = p[at] as number;
      const y = p[at + 1] as number;
      const z = p[at + 2] as number;
      const du = x * u[0] + y * u[1] + z * u[2] - middle[0];
      const dv = x * v[0] + y * v[1] + z * v[2] - middle[1];
      if (Math.abs(Math.sqrt(du * du + dv * dv) - radius) > allowed) return false;
    }
    return true;
  };
  if (!fits(start)) return { region: [], round: false };
  const region = [start];
  let round = false;
  stamp[start] = turn;
  for (let at = 0; at < region.length; at++) {
    const triangle = region[at] as number;
    for (let h = 3 * triangle; h < 3 * triangle + 3; h++) {
      const twin = edges.twins[h] as number;
      if (twin < 0) continue;
      const next = (twin / 3) | 0;
      if (stamp[next] === turn || taken[next] !== 0) continue;
      stamp[next] = turn;
      if (!fits(next)) continue;
      region.push(next);
      round ||= cosineBetween(normals, start, next) < leastSpread;
    }
  }
  return { region, round };
}

function fitted(
  tree: TriangleTree,
  { normals, areasMm2 }: FaceNormals,
  region: readonly number[],
  seedAxis: Vector,
  toleranceMm: number,
): CylinderFace | undefined {
  const { positionsMm, triangles } = tree.mesh;
  const axis = pointingUp(seedAxis);
  const [u, v] = acrossOf(axis);
  const vertices = new Set<number>();
  for (const triangle of region)
    for (let corner = 0; corner < 3; corner++)
      vertices.add(triangles[3 * triangle + corner] as number);
  const points = [...vertices].map((vertex) => vertexAt(positionsMm, vertex));
  const flat = points.map((point) => [dot(point, u), dot(point, v)] as const);
  const circle = fitCircle(flat);
  if (circle === undefined) return undefined;
  const { x, y, radius } = circle;
  const deviationMm = flat.reduce(
    (most, [px, py]) => Math.max(most, Math.abs(Math.hypot(px - x, py - y) - radius)),
    0,
  );
  if (deviationMm > 0.004 * radius + 2 * toleranceMm) return undefined;
  const coverageDeg = coverage(flat.map(([px, py]) => Math.atan2(py - y, px - x)));
  if (coverageDeg < 170) return undefined;
  const heights = points.map((point) => dot(point, axis));
  const low = heights.reduce((least, height) => Math.min(least, height));
  const high = heights.reduce((most, height) => Math.max(most, height));
  const lengthMm = high - low;
  if (lengthMm < leastLength * 2 * radius) return undefined;
  const middle = plus(plus(plus([0, 0, 0], x, u), y, v), (low + high) / 2, axis);
  let areaMm2 = 0;
  let outward = 0;
  for (const triangle of region) {
    const area = areasMm2[triangle] as number;
    areaMm2 += area;
    const radial = minus(vertexAt(positionsMm, triangles[3 * triangle] as number), middle);
    outward += area * dot(vertexAt(normals, triangle), radial);
  }
  const kind = outward < 0 ? 'hole' : 'boss';
  const starts = [
    middle,
    ...[u, v].flatMap((w) => [-1, 1].map((way) => plus(middle, 0.85 * radius * way, w))),
  ];
  /** How far a hole is free along its axis, over its whole width. */
  const free = (side: 1 | -1): number => {
    const direction: Vector = [side * axis[0], side * axis[1], side * axis[2]];
    return Math.min(
      ...starts.map(
        (start) => firstHit(tree, start, direction, 0, -1)?.distanceMm ?? Number.POSITIVE_INFINITY,
      ),
    );
  };
  const ways = kind === 'hole' ? [free(-1), free(1)] : [0, 0];
  const [before = 0, after = 0] = ways;
  // a bottom drilled to a point lies up to 0.3 diameters deeper than the wall
  const bottom = lengthMm / 2 + 0.8 * radius;
  return {
    kind,
    diameterMm: 2 * radius,
    axis,
    centreMm: middle,
    lengthMm,
    areaMm2,
    coverageDeg,
    deviationMm,
    openEnds: [before > bottom, after > bottom],
    toolEnds: [before === Number.POSITIVE_INFINITY, after === Number.POSITIVE_INFINITY],
  };
}

/** Least-squares circle in the algebraic sense (Kasa 1976, doi 10.1109/TIM.1976.6312298). */
function fitCircle(
  points: readonly (readonly [number, number])[],
): { readonly x: number; readonly y: number; readonly radius: number } | undefined {
  const n = points.length;
  const mx = points.reduce((sum, [x]) => sum + x, 0) / n;
  const my = points.reduce((sum, [, y]) => sum + y, 0) / n;
  let uu = 0;
  let uv = 0;
  let vv = 0;
  let ru = 0;
  let rv = 0;
  let r = 0;
  for (const [px, py] of points) {
    const u = px - mx;
    const v = py - my;
    const square = u * u + v * v;
    uu += u * u;
    uv += u * v;
    vv += v * v;
    ru += u * square;
    rv += v * square;
    r += square;
  }
  const determinant = uu * vv - uv * uv;
  if (determinant <= 1e-12 * (uu + vv) ** 2) return undefined;
  const x = (ru * vv - rv * uv) / determinant / 2;
  const y = (rv * uu - ru * uv) / determinant / 2;
  return { x: mx + x, y: my + y, radius: Math.sqrt(x * x + y * y + r / n) };
}

/** 360 less the widest gap between neighbouring directions, when that is wider than a facet may be. */
function coverage(angles: readonly number[]): number {
  const sorted = [...angles].sort((a, b) => a - b);
  let gap = 2 * Math.PI + (sorted[0] as number) - (sorted[sorted.length - 1] as number);
  for (let at = 1; at < sorted.length; at++)
    gap = Math.max(gap, (sorted[at] as number) - (sorted[at - 1] as number));
  return gap <= 46 * degree ? 360 : 360 - gap / degree;
}

function pointingUp(axis: Vector): Vector {
  const lead = [axis[2], axis[1], axis[0]].find((part) => Math.abs(part) > 1e-6) ?? 0;
  return lead < 0 ? [-axis[0], -axis[1], -axis[2]] : axis;
}

function compare(a: Vector, b: Vector): number {
  return a[2] - b[2] || a[1] - b[1] || a[0] - b[0];
}
