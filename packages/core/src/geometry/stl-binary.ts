import type { Place } from '../problems/problem.js';
import { maxCoordinateMm, maxTriangles, meshError, type TriangleMesh } from './mesh.js';
import { VertexTable } from './vertex-table.js';

const headerBytes = 84;
const facetBytes = 50;

/** Triangles that a binary STL says it holds; undefined when the bytes are too few for a header. */
export function declaredFacets(bytes: Uint8Array): number | undefined {
  if (bytes.length < headerBytes) return undefined;
  return view(bytes).getUint32(80, true);
}

/** Length of a binary STL with so many facets, bytes: 84 + 50 n. */
export function binaryStlBytes(facets: number): number {
  return headerBytes + facetBytes * facets;
}

/**
 * Reads a binary STL: a header of 80 bytes, the number of facets, then for each a normal (not used:
 * the order of the corners says where outside is) and three corners as 32-bit floats, little-endian,
 * and two spare bytes.
 *
 * @param scale mm in the unit of the file
 */
export function readBinaryStl(
  bytes: Uint8Array,
  facets: number,
  scale: number,
  file: Place,
): { readonly mesh: TriangleMesh; readonly dropped: number; readonly title: string } {
  if (facets > maxTriangles)
    throw meshError('too-large', file, 'too many triangles', facets, `at most ${maxTriangles}`);
  const data = view(bytes);
  const table = new VertexTable(Math.ceil(facets * 0.52));
  const triangles = new Uint32Array(3 * facets);
  let kept = 0;
  for (let facet = 0; facet < facets; facet++) {
    const start = headerBytes + facetBytes * facet + 12;
    for (let corner = 0; corner < 3; corner++) {
      const at = start + 12 * corner;
      const x = data.getFloat32(at, true) * scale;
      const y = data.getFloat32(at + 4, true) * scale;
      const z = data.getFloat32(at + 8, true) * scale;
      // one comparison also catches NaN
      if (!(Math.abs(x) + Math.abs(y) + Math.abs(z) <= maxCoordinateMm)) {
        const place = { ...file, path: `facet ${facet + 1} corner ${corner + 1} (byte ${at})` };
        throw meshError(
          Number.isFinite(x) && Number.isFinite(y) && Number.isFinite(z)
            ? 'out-of-range'
            : 'bad-number',
          place,
          'the corner has no usable coordinates',
          `${x}, ${y}, ${z}`,
          `finite numbers within ${maxCoordinateMm} mm of the origin`,
        );
      }
      triangles[kept + corner] = table.add(x, y, z);
    }
    const a = triangles[kept] as number;
    const b = triangles[kept + 1] as number;
    const c = triangles[kept + 2] as number;
    if (a !== b && b !== c && c !== a) kept += 3;
  }
  return {
    mesh: {
      positionsMm: table.positions(),
      triangles: kept === triangles.length ? triangles : triangles.slice(0, kept),
    },
    dropped: facets - kept / 3,
    title: headerTitle(bytes),
  };
}

function view(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

/** The printable beginning of the header. */
function headerTitle(bytes: Uint8Array): string {
  let title = '';
  for (let at = 0; at < 80; at++) {
    const code = bytes[at] ?? 0;
    if (code < 32 || code > 126) break;
    title += String.fromCharCode(code);
  }
  return title.replace(/^solid\b/, '').trim();
}
