import type { TriangleMesh } from './mesh.js';

export interface MassProperties {
  /** Volume by signed tetrahedra, mm3; negative when the triangles face inwards. */
  readonly volumeMm3: number;
  /** Area of all triangles, mm2. */
  readonly surfaceAreaMm2: number;
  readonly lowMm: readonly [number, number, number];
  readonly highMm: readonly [number, number, number];
  /** Extents along x, y and the build direction z, mm. */
  readonly boxMm: readonly [number, number, number];
  /** Centre of mass of the volume, mm; middle of the box when there is no volume. */
  readonly centreMm: readonly [number, number, number];
  /** Triangles whose area is nothing beside the square of their longest side (1e-12). */
  readonly slivers: number;
}

/**
 * Volume, area, box and centre of mass of a closed mesh by the divergence theorem, exact for the
 * polyhedron up to rounding: tetrahedra are taken from the middle of the box and summed in blocks, so
 * that the error does not grow with the distance from the origin or with the number of triangles.
 * Source: Mirtich, "Fast and accurate computation of polyhedral mass properties", J. Graphics Tools
 * 1 (1996) 31, doi 10.1080/10867651.1996.10487458 (same integrals, in closed form for a triangle).
 *
 * @example
 * massProperties(boxMesh(10, 20, 30)).centreMm // -> [5, 10, 15]
 */
export function massProperties(mesh: TriangleMesh): MassProperties {
  const { positionsMm: p, triangles } = mesh;
  const { low, high } = bounds(mesh);
  const ox = (low[0] + high[0]) / 2;
  const oy = (low[1] + high[1]) / 2;
  const oz = (low[2] + high[2]) / 2;
  let volume6 = 0;
  let area2 = 0;
  let mx = 0;
  let my = 0;
  let mz = 0;
  let slivers = 0;
  const block = 3 * 4096;
  for (let begin = 0; begin < triangles.length; begin += block) {
    const end = Math.min(triangles.length, begin + block);
    let volumeHere = 0;
    let areaHere = 0;
    let xHere = 0;
    let yHere = 0;
    let zHere = 0;
    for (let h = begin; h < end; h += 3) {
      const a = 3 * (triangles[h] as number);
      const b = 3 * (triangles[h + 1] as number);
      const c = 3 * (triangles[h + 2] as number);
      const ax = (p[a] as number) - ox;
      const ay = (p[a + 1] as number) - oy;
      const az = (p[a + 2] as number) - oz;
      const bx = (p[b] as number) - ox;
      const by = (p[b + 1] as number) - oy;
      const bz = (p[b + 2] as number) - oz;
      const cx = (p[c] as number) - ox;
      const cy = (p[c + 1] as number) - oy;
      const cz = (p[c + 2] as number) - oz;
      const ux = bx - ax;
      const uy = by - ay;
      const uz = bz - az;
      const vx = cx - ax;
      const vy = cy - ay;
      const vz = cz - az;
      const nx = uy * vz - uz * vy;
      const ny = uz * vx - ux * vz;
      const nz = ux * vy - uy * vx;
      const doubleArea = Math.sqrt(nx * nx + ny * ny + nz * nz);
      const longest = Math.max(ux * ux + uy * uy + uz * uz, vx * vx + vy * vy + vz * vz);
      if (doubleArea <= 1e-12 * longest) slivers++;
      areaHere += doubleArea;
      const six = ax * nx + ay * ny + az * nz;
      volumeHere += six;
      xHere += six * (ax + bx + cx);
      yHere += six * (ay + by + cy);
      zHere += six * (az + bz + cz);
    }
    volume6 += volumeHere;
    area2 += areaHere;
    mx += xHere;
    my += yHere;
    mz += zHere;
  }
  const moment = 4 * volume6;
  return {
    volumeMm3: volume6 / 6,
    surfaceAreaMm2: area2 / 2,
    lowMm: low,
    highMm: high,
    boxMm: [high[0] - low[0], high[1] - low[1], high[2] - low[2]],
    centreMm: volume6 === 0 ? [ox, oy, oz] : [ox + mx / moment, oy + my / moment, oz + mz / moment],
    slivers,
  };
}

type Triple = readonly [number, number, number];

/** Box of the vertices that triangles use. */
export function bounds(mesh: TriangleMesh): { readonly low: Triple; readonly high: Triple } {
  const p = mesh.positionsMm;
  let x0 = Number.POSITIVE_INFINITY;
  let y0 = x0;
  let z0 = x0;
  let x1 = -x0;
  let y1 = -x0;
  let z1 = -x0;
  for (const vertex of mesh.triangles) {
    const x = p[3 * vertex] as number;
    const y = p[3 * vertex + 1] as number;
    const z = p[3 * vertex + 2] as number;
    if (x < x0) x0 = x;
    if (x > x1) x1 = x;
    if (y < y0) y0 = y;
    if (y > y1) y1 = y;
    if (z < z0) z0 = z;
    if (z > z1) z1 = z;
  }
  return { low: [x0, y0, z0], high: [x1, y1, z1] };
}
