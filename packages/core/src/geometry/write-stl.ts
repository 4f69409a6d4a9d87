import { type TriangleMesh, triangleCount } from './mesh.js';

/**
 * A mesh as a binary STL in mm. Coordinates are rounded to 32-bit floats, normals are computed.
 *
 * @example
 * writeStl(boxMesh(10, 20, 30)).length // -> 684
 */
export function writeStl(mesh: TriangleMesh): Uint8Array {
  const count = triangleCount(mesh);
  const bytes = new Uint8Array(84 + 50 * count);
  const view = new DataView(bytes.buffer);
  view.setUint32(80, count, true);
  const corner = new Float64Array(9);
  for (let triangle = 0; triangle < count; triangle++) {
    for (let k = 0; k < 9; k++) {
      const vertex = mesh.triangles[3 * triangle + Math.floor(k / 3)] ?? 0;
      corner[k] = mesh.positionsMm[3 * vertex + (k % 3)] ?? 0;
    }
    const at = 84 + 50 * triangle;
    const normal = normalOf(corner);
    for (let axis = 0; axis < 3; axis++) view.setFloat32(at + 4 * axis, normal[axis] ?? 0, true);
    for (let k = 0; k < 9; k++) view.setFloat32(at + 12 + 4 * k, corner[k] ?? 0, true);
  }
  return bytes;
}

function normalOf(corner: Float64Array): readonly [number, number, number] {
  const [ax = 0, ay = 0, az = 0, bx = 0, by = 0, bz = 0, cx = 0, cy = 0, cz = 0] = corner;
  const x = (by - ay) * (cz - az) - (bz - az) * (cy - ay);
  const y = (bz - az) * (cx - ax) - (bx - ax) * (cz - az);
  const z = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
  const length = Math.hypot(x, y, z);
  return length === 0 ? [0, 0, 0] : [x / length, y / length, z / length];
}
