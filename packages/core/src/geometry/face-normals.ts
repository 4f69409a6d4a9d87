import { type TriangleMesh, triangleCount } from './mesh.js';

export interface FaceNormals {
  /** Unit normal of each triangle, zero for one without area. */
  readonly normals: Float64Array;
  /** Area of each triangle, mm2. */
  readonly areasMm2: Float64Array;
}

export function faceNormals(mesh: TriangleMesh): FaceNormals {
  const { positionsMm: p, triangles } = mesh;
  const count = triangleCount(mesh);
  const normals = new Float64Array(3 * count);
  const areasMm2 = new Float64Array(count);
  for (let triangle = 0; triangle < count; triangle++) {
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
    const double = Math.sqrt(x * x + y * y + z * z);
    areasMm2[triangle] = double / 2;
    if (double === 0) continue;
    normals[3 * triangle] = x / double;
    normals[3 * triangle + 1] = y / double;
    normals[3 * triangle + 2] = z / double;
  }
  return { normals, areasMm2 };
}
