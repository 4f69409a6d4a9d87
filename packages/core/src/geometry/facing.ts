import type { TriangleMesh } from './mesh.js';

/** How the skin of a part lies to the build direction, mm2. The five add up to the whole skin. */
export interface FacingAreas {
  /** Within 10 deg of level, facing up. */
  readonly upMm2: number;
  /** Within 10 deg of level, facing down, plate included. */
  readonly downMm2: number;
  /** Within 10 deg of upright. */
  readonly sideMm2: number;
  readonly angledUpMm2: number;
  readonly angledDownMm2: number;
  /** Down-facing skin on the plate: level and at the lowest height. */
  readonly onPlateMm2: number;
  /** Down-facing skin off the plate, flatter than the overhang angle: what needs supports. */
  readonly overhangMm2: number;
  /** The same, seen from below: what the supports must cover. */
  readonly overhangShadowMm2: number;
  /** Area by whole degrees of angle to the plate, 0 (level) to 89, of down-facing skin off the plate. */
  readonly downskinByDegreeMm2: readonly number[];
}

const levelDeg = 10;

/**
 * Areas by their angle to the plate.
 *
 * @param overhangDeg down-facing skin flatter than this angle to the plate counts as overhang; 45 if
 * absent (common practice for beam powder beds, no source)
 * @example
 * facingAreas(boxMesh(10, 20, 30)).sideMm2 // -> 1800
 */
export function facingAreas(mesh: TriangleMesh, overhangDeg = 45): FacingAreas {
  const { positionsMm: p, triangles } = mesh;
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const vertex of triangles) {
    const z = p[3 * vertex + 2] as number;
    if (z < low) low = z;
    if (z > high) high = z;
  }
  // rounding of 32-bit coordinates does not lift skin off the plate
  const plate = low + Math.min(0.001, 1e-3 * (high - low));
  // an angle that is meant to be the limit must not fall below it by rounding
  const level = Math.cos(((levelDeg + 1e-4) * Math.PI) / 180);
  const upright = Math.sin(((levelDeg + 1e-4) * Math.PI) / 180);
  const overhang = Math.cos(((overhangDeg - 1e-4) * Math.PI) / 180);
  const areas = {
    up: 0,
    down: 0,
    side: 0,
    angledUp: 0,
    angledDown: 0,
    plate: 0,
    over: 0,
    shadow: 0,
  };
  const byDegree = new Float64Array(90);
  for (let h = 0; h < triangles.length; h += 3) {
    const a = 3 * (triangles[h] as number);
    const b = 3 * (triangles[h + 1] as number);
    const c = 3 * (triangles[h + 2] as number);
    const ux = (p[b] as number) - (p[a] as number);
    const uy = (p[b + 1] as number) - (p[a + 1] as number);
    const uz = (p[b + 2] as number) - (p[a + 2] as number);
    const vx = (p[c] as number) - (p[a] as number);
    const vy = (p[c + 1] as number) - (p[a + 1] as number);
    const vz = (p[c + 2] as number) - (p[a + 2] as number);
    const nx = uy * vz - uz * vy;
    const ny = uz * vx - ux * vz;
    const nz = ux * vy - uy * vx;
    const double = Math.sqrt(nx * nx + ny * ny + nz * nz);
    if (double === 0) continue;
    const cosine = nz / double;
    const area = double / 2;
    if (cosine >= level) areas.up += area;
    else if (cosine > upright) areas.angledUp += area;
    else if (cosine >= -upright) areas.side += area;
    else if (cosine > -level) areas.angledDown += area;
    else areas.down += area;
    if (cosine >= -1e-9) continue;
    const onPlate =
      cosine <= -level &&
      (p[a + 2] as number) <= plate &&
      (p[b + 2] as number) <= plate &&
      (p[c + 2] as number) <= plate;
    if (onPlate) {
      areas.plate += area;
      continue;
    }
    const degree = Math.min(
      89,
      Math.floor((Math.acos(Math.min(1, -cosine)) * 180) / Math.PI + 1e-4),
    );
    byDegree[degree] = (byDegree[degree] as number) + area;
    if (-cosine > overhang) {
      areas.over += area;
      areas.shadow += -nz / 2;
    }
  }
  return {
    upMm2: areas.up,
    downMm2: areas.down,
    sideMm2: areas.side,
    angledUpMm2: areas.angledUp,
    angledDownMm2: areas.angledDown,
    onPlateMm2: areas.plate,
    overhangMm2: areas.over,
    overhangShadowMm2: areas.shadow,
    downskinByDegreeMm2: [...byDegree],
  };
}
