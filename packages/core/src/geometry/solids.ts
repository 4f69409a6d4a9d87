import type { TriangleMesh } from './mesh.js';

/**
 * A box with one corner at the origin.
 *
 * @param xMm extents along the axes, mm
 * @example
 * massProperties(boxMesh(10, 20, 30)).volumeMm3 // -> 6000
 */
export function boxMesh(xMm: number, yMm: number, zMm: number): TriangleMesh {
  const positionsMm = new Float64Array(24);
  for (let corner = 0; corner < 8; corner++) {
    positionsMm[3 * corner] = corner & 1 ? xMm : 0;
    positionsMm[3 * corner + 1] = corner & 2 ? yMm : 0;
    positionsMm[3 * corner + 2] = corner & 4 ? zMm : 0;
  }
  // two triangles a side: bottom, top, front, back, left, right
  const triangles = Uint32Array.of(
    ...[0, 2, 1, 1, 2, 3],
    ...[4, 5, 6, 5, 7, 6],
    ...[0, 1, 4, 1, 5, 4],
    ...[2, 6, 3, 3, 6, 7],
    ...[0, 4, 2, 2, 4, 6],
    ...[1, 3, 5, 3, 7, 5],
  );
  return { positionsMm, triangles };
}
