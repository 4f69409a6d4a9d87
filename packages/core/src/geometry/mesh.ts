import type { Finding } from '../problems/finding.js';
import { InputError, type Place, type ProblemCode } from '../problems/problem.js';

/**
 * A surface of triangles. Hot loops over millions of triangles read these arrays with `as number`:
 * every index comes from the mesh itself, which its reader has checked.
 */
export interface TriangleMesh {
  /** x, y, z of each vertex, mm; z is the build direction. */
  readonly positionsMm: Float64Array;
  /** Three vertex numbers a triangle, counter-clockwise seen from outside. */
  readonly triangles: Uint32Array;
}

/** What a mesh file held. */
export interface MeshReading {
  readonly mesh: TriangleMesh;
  readonly format: 'stl-binary' | 'stl-text' | '3mf';
  /** Name or title that the file gives; empty when it gives none. */
  readonly title: string;
  readonly findings: readonly Finding[];
}

/** Most triangles of a mesh. */
export const maxTriangles = 20_000_000;
/** Largest mesh file, bytes: a binary STL of the most triangles. */
export const maxMeshBytes: number = 84 + 50 * maxTriangles;
/** Farthest coordinate from the origin, mm: what lies beyond is damage or a wrong unit. */
export const maxCoordinateMm = 1e6;

/** The error that a reader of meshes throws: one located problem. */
export function meshError(
  code: ProblemCode,
  place: Place,
  message: string,
  value?: string | number,
  accept?: string,
): InputError {
  return new InputError([
    {
      code,
      place,
      message,
      ...(value === undefined ? {} : { value: String(value).slice(0, 200) }),
      ...(accept === undefined ? {} : { accept }),
    },
  ]);
}

/** Number of triangles of a mesh. */
export function triangleCount(mesh: TriangleMesh): number {
  return mesh.triangles.length / 3;
}
