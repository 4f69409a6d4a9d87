import { meshEdges } from '../geometry/edges.js';
import { faceNormals } from '../geometry/face-normals.js';
import type { TriangleMesh } from '../geometry/mesh.js';
import { chained, type Polyline } from './polylines.js';

/** A part as it is seen from in front, from the right and from above, in millimetres on paper. */
export interface PartView {
  readonly widthMm: number;
  readonly heightMm: number;
  /** Visible edges, x to the right and y down. */
  readonly lines: readonly Polyline[];
  /** Faces turned away from the light, as rectangles x, y, width, height. */
  readonly shades: Readonly<Record<'pale' | 'light', readonly Span[]>>;
  /** Where the axes of the model point on paper, millimetres a millimetre of the model. */
  readonly axes: Readonly<Record<'x' | 'y' | 'z', readonly [number, number]>>;
}

export type Span = readonly [xMm: number, yMm: number, widthMm: number, heightMm: number];

const root3 = Math.sqrt(3);
const root2 = Math.sqrt(2);
const root6 = Math.sqrt(6);
/** Towards the eye, to the right and up on paper: an isometric view. */
const eye = [1 / root3, -1 / root3, 1 / root3] as const;
const right = [1 / root2, 1 / root2, 0] as const;
const up = [-1 / root6, 1 / root6, 2 / root6] as const;
/** The top is light, the front half, the right side dark. */
const light = [-0.35, -0.5, 0.79] as const;

/** What is hidden is found on a grid of this pitch on paper, mm. */
const pitchMm = 0.1;
const sharpest = Math.cos((33 * Math.PI) / 180);
const paleBelow = 0.7;
const lightBelow = 0.3;
/** A stretch of an edge shorter than this is no line, mm. */
const shortestMm = 0.15;

/**
 * Draws the visible edges of a mesh (folds of more than 33 degrees and outlines) and the shade of its
 * faces. Hidden parts are found on a grid of depths, so the cost grows with the triangles and the area
 * of the picture. Undefined for a mesh without extent.
 */
export function partView(
  mesh: TriangleMesh,
  mostWidthMm: number,
  mostHeightMm: number,
): PartView | undefined {
  const { positionsMm: p, triangles } = mesh;
  const count = p.length / 3;
  const [xs, ys, zs] = [new Float64Array(count), new Float64Array(count), new Float64Array(count)];
  const low = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  const high = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let v = 0; v < count; v++) {
    const at = 3 * v;
    const x = along(p, at, right);
    const y = along(p, at, up);
    xs[v] = x;
    ys[v] = y;
    zs[v] = along(p, at, eye);
    low[0] = Math.min(low[0] as number, x);
    low[1] = Math.min(low[1] as number, y);
    high[0] = Math.max(high[0] as number, x);
    high[1] = Math.max(high[1] as number, y);
  }
  const [wide, tall] = [
    (high[0] as number) - (low[0] as number),
    (high[1] as number) - (low[1] as number),
  ];
  if (!(wide > 0 && tall > 0 && Number.isFinite(wide + tall))) return undefined;
  const scale = Math.min(mostWidthMm / wide, mostHeightMm / tall);
  const [widthMm, heightMm] = [wide * scale, tall * scale];
  // on the grid of the paper, depth in the same unit
  const perPixel = scale / pitchMm;
  for (let v = 0; v < count; v++) {
    xs[v] = ((xs[v] as number) - (low[0] as number)) * perPixel + 1;
    ys[v] = ((high[1] as number) - (ys[v] as number)) * perPixel + 1;
    zs[v] = (zs[v] as number) * perPixel;
  }
  const grid: Grid = {
    columns: Math.ceil(widthMm / pitchMm) + 3,
    rows: Math.ceil(heightMm / pitchMm) + 3,
    depths: new Float32Array(0),
    shades: new Uint8Array(0),
  };
  const depths = new Float32Array(grid.columns * grid.rows).fill(Number.NEGATIVE_INFINITY);
  const shades = new Uint8Array(grid.columns * grid.rows);
  const filled = { ...grid, depths, shades };
  const { normals } = faceNormals(mesh);
  const edges = meshEdges(mesh);
  const closed = edges.open === 0;
  for (let t = 0; t < triangles.length / 3; t++) {
    const facing = along(normals, 3 * t, eye);
    if (facing === 0 || (closed && facing < 0)) continue;
    const lit = along(normals, 3 * t, light) * (facing < 0 ? -1 : 1);
    const shade = lit < lightBelow ? 2 : lit < paleBelow ? 1 : 0;
    fillTriangle(
      filled,
      shade,
      xs,
      ys,
      zs,
      triangles[3 * t] as number,
      triangles[3 * t + 1] as number,
      triangles[3 * t + 2] as number,
    );
  }
  const pieces: (readonly [number, number, number, number])[] = [];
  for (let h = 0; h < triangles.length; h++) {
    const twin = edges.twins[h] as number;
    if (twin > h || (twin >= 0 && twin < h && (edges.twins[twin] as number) !== h)) continue;
    const t = Math.floor(h / 3);
    const facing = along(normals, 3 * t, eye);
    if (twin >= 0) {
      const other = Math.floor(twin / 3);
      const beyond = along(normals, 3 * other, eye);
      if (facing <= 0 && beyond <= 0) continue;
      const fold = dot(normals, 3 * t, 3 * other);
      const outline = facing > 0 !== beyond > 0;
      if (fold > sharpest && !outline) continue;
    }
    const from = triangles[h] as number;
    const to = triangles[h % 3 === 2 ? h - 2 : h + 1] as number;
    visibleStretches(filled, xs, ys, zs, from, to, pieces);
  }
  const onPaper = (value: number): number => (value - 1) * pitchMm;
  return {
    widthMm,
    heightMm,
    lines: chained(
      pieces.map(([x1, y1, x2, y2]) => [
        [onPaper(x1), onPaper(y1)],
        [onPaper(x2), onPaper(y2)],
      ]),
    ),
    shades: { pale: spans(filled, 1), light: spans(filled, 2) },
    axes: {
      x: [right[0] * scale, -up[0] * scale],
      y: [right[1] * scale, -up[1] * scale],
      z: [right[2] * scale, -up[2] * scale],
    },
  };
}

interface Grid {
  readonly columns: number;
  readonly rows: number;
  readonly depths: Float32Array;
  readonly shades: Uint8Array;
}

function along(values: Float64Array, at: number, axis: readonly [number, number, number]): number {
  return (
    (values[at] as number) * axis[0] +
    (values[at + 1] as number) * axis[1] +
    (values[at + 2] as number) * axis[2]
  );
}

function dot(values: Float64Array, a: number, b: number): number {
  return (
    (values[a] as number) * (values[b] as number) +
    (values[a + 1] as number) * (values[b + 1] as number) +
    (values[a + 2] as number) * (values[b + 2] as number)
  );
}

/** Depth and shade of every grid point inside the triangle that lies nearest to the eye so far. */
function fillTriangle(
  { columns, rows, depths, shades }: Grid,
  shade: number,
  xs: Float64Array,
  ys: Float64Array,
  zs: Float64Array,
  a: number,
  b: number,
  c: number,
): void {
  const [ax, ay, az] = [xs[a] as number, ys[a] as number, zs[a] as number];
  const [bx, by] = [(xs[b] as number) - ax, (ys[b] as number) - ay];
  const [cx, cy] = [(xs[c] as number) - ax, (ys[c] as number) - ay];
  const area = bx * cy - by * cx;
  if (area === 0) return;
  const bz = (zs[b] as number) - az;
  const cz = (zs[c] as number) - az;
  const slopeX = (bz * cy - cz * by) / area;
  const slopeY = (cz * bx - bz * cx) / area;
  const top = Math.max(0, Math.ceil(Math.min(ay, ay + by, ay + cy)));
  const bottom = Math.min(rows - 1, Math.floor(Math.max(ay, ay + by, ay + cy)));
  for (let y = top; y <= bottom; y++) {
    let start = Number.POSITIVE_INFINITY;
    let end = Number.NEGATIVE_INFINITY;
    const cross = (x1: number, y1: number, x2: number, y2: number): void => {
      if (y1 === y2) return;
      const share = (y - y1) / (y2 - y1);
      if (share < 0 || share > 1) return;
      const x = x1 + share * (x2 - x1);
      start = Math.min(start, x);
      end = Math.max(end, x);
    };
    cross(ax, ay, ax + bx, ay + by);
    cross(ax + bx, ay + by, ax + cx, ay + cy);
    cross(ax + cx, ay + cy, ax, ay);
    const last = Math.min(columns - 1, Math.floor(end));
    for (let x = Math.max(0, Math.ceil(start)); x <= last; x++) {
      const z = az + slopeX * (x - ax) + slopeY * (y - ay);
      const at = y * columns + x;
      if (z <= (depths[at] as number)) continue;
      depths[at] = z;
      shades[at] = shade;
    }
  }
}

/** Stretches of an edge with nothing in front of them, in grid units. */
function visibleStretches(
  grid: Grid,
  xs: Float64Array,
  ys: Float64Array,
  zs: Float64Array,
  from: number,
  to: number,
  pieces: (readonly [number, number, number, number])[],
): void {
  const [x1, y1, z1] = [xs[from] as number, ys[from] as number, zs[from] as number];
  const [dx, dy, dz] = [(xs[to] as number) - x1, (ys[to] as number) - y1, (zs[to] as number) - z1];
  const length = Math.hypot(dx, dy);
  const steps = Math.max(1, Math.ceil(length));
  let begin = -1;
  for (let step = 0; step <= steps + 1; step++) {
    const share = (step + 0.5) / (steps + 1);
    const seen = step <= steps && isSeen(grid, x1 + share * dx, y1 + share * dy, z1 + share * dz);
    if (seen && begin < 0) begin = step;
    if (seen || begin < 0) continue;
    const [start, end] = [begin / (steps + 1), step / (steps + 1)];
    const whole = begin === 0 && step === steps + 1;
    if (whole || (end - start) * length * pitchMm >= shortestMm)
      pieces.push([x1 + start * dx, y1 + start * dy, x1 + end * dx, y1 + end * dy]);
    begin = -1;
  }
}

/** One of the nine grid points around it has nothing nearer than the point by more than two pitches. */
function isSeen({ columns, rows, depths }: Grid, x: number, y: number, z: number): boolean {
  const [column, row] = [Math.round(x), Math.round(y)];
  for (let r = Math.max(0, row - 1); r <= Math.min(rows - 1, row + 1); r++)
    for (let c = Math.max(0, column - 1); c <= Math.min(columns - 1, column + 1); c++)
      if ((depths[r * columns + c] as number) <= z + 2) return true;
  return false;
}

/** Rectangles that cover the grid points of a shade, two rows at a time, joined downwards. */
function spans({ columns, rows, shades, depths }: Grid, shade: number): readonly Span[] {
  const done: Span[] = [];
  let open = new Map<string, [start: number, end: number, row: number, height: number]>();
  const close = (run: readonly [number, number, number, number]): void => {
    const [start, end, row, height] = run;
    done.push([
      (start - 1.5) * pitchMm,
      (row - 1.5) * pitchMm,
      (end - start) * pitchMm,
      height * pitchMm,
    ]);
  };
  for (let row = 0; row < rows; row += 2) {
    const next: typeof open = new Map();
    let start = -1;
    for (let column = 0; column <= columns; column++) {
      const at = row * columns + column;
      const inside =
        column < columns && shades[at] === shade && depths[at] !== Number.NEGATIVE_INFINITY;
      if (inside && start < 0) start = column;
      if (inside || start < 0) continue;
      const key = `${start}:${column}`;
      const above = open.get(key);
      next.set(
        key,
        above === undefined ? [start, column, row, 2] : [start, column, above[2], above[3] + 2],
      );
      open.delete(key);
      start = -1;
    }
    for (const run of open.values()) close(run);
    open = next;
  }
  for (const run of open.values()) close(run);
  return done;
}
