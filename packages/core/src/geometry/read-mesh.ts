import type { Finding } from '../problems/finding.js';
import type { Place } from '../problems/problem.js';
import { type MeshReading, maxMeshBytes, meshError, type TriangleMesh } from './mesh.js';
import { looksLikeArchive } from './open-package.js';
import { read3mf } from './read-3mf.js';
import { binaryStlBytes, declaredFacets, readBinaryStl } from './stl-binary.js';
import { looksLikeTextStl, readTextStl } from './stl-text.js';

export interface MeshOptions {
  /** Unit of an STL file, which names none itself; mm if absent. A 3MF file names its own. */
  readonly stlUnit?: 'mm' | 'in';
  /** Name of the file, for the places of problems. */
  readonly file?: string;
}

const formats = 'STL (binary or text) or 3MF';

/**
 * Reads a mesh file: STL, binary when its size is 84 + 50 n bytes for the n it declares and text
 * otherwise, or 3MF (core specification). Equal vertices are merged (all bits of the coordinates
 * equal), triangles with two equal corners dropped; nothing else is changed.
 *
 * @returns the mesh in mm, at least one triangle
 * @throws InputError with the place of what is wrong: byte and facet, line, or element
 * @example
 * readMesh(writeStl(boxMesh(10, 20, 30))).mesh.triangles.length / 3 // -> 12
 */
export function readMesh(bytes: Uint8Array, options: MeshOptions = {}): MeshReading {
  const file: Place = options.file === undefined ? {} : { file: options.file };
  if (bytes.length > maxMeshBytes)
    throw meshError(
      'too-large',
      file,
      'the mesh file is too large',
      `${bytes.length} bytes`,
      `at most ${maxMeshBytes} bytes`,
    );
  const scale = options.stlUnit === 'in' ? 25.4 : 1;
  if (looksLikeArchive(bytes)) {
    const { mesh, dropped, title, findings } = read3mf(bytes, file);
    return finish(mesh, dropped, { format: '3mf', title, findings }, file);
  }
  const facets = declaredFacets(bytes);
  if (facets !== undefined && bytes.length === binaryStlBytes(facets)) {
    const { mesh, dropped, title } = readBinaryStl(bytes, facets, scale, file);
    return finish(mesh, dropped, { format: 'stl-binary', title, findings: [] }, file);
  }
  if (looksLikeTextStl(bytes)) {
    const { mesh, dropped, title } = readTextStl(bytes, scale, file);
    return finish(mesh, dropped, { format: 'stl-text', title, findings: [] }, file);
  }
  if (facets === undefined)
    throw meshError('mesh-format', file, 'not a mesh file', `${bytes.length} bytes`, formats);
  if (bytes.length > binaryStlBytes(facets) && facets > 0) {
    const { mesh, dropped, title } = readBinaryStl(bytes, facets, scale, file);
    const findings: Finding[] = [
      {
        id: 'mesh-spare-bytes',
        severity: 'warning',
        message: `${bytes.length - binaryStlBytes(facets)} bytes follow the ${facets} facets that the file declares`,
      },
    ];
    return finish(mesh, dropped, { format: 'stl-binary', title, findings }, file);
  }
  throw meshError(
    'mesh-format',
    { ...file, path: 'byte 80' },
    'the size of the file does not fit the number of facets that it declares',
    `${facets} facets in ${bytes.length} bytes`,
    `${formats}; a binary STL of that size holds ${Math.floor((bytes.length - 84) / 50)} facets`,
  );
}

function finish(
  mesh: TriangleMesh,
  dropped: number,
  { format, title, findings }: Omit<MeshReading, 'mesh'>,
  file: Place,
): MeshReading {
  if (mesh.triangles.length === 0)
    throw meshError('mesh-format', file, 'the file holds no triangles', undefined, formats);
  return {
    mesh,
    format,
    title,
    findings:
      dropped === 0
        ? findings
        : [
            ...findings,
            {
              id: 'mesh-degenerate',
              severity: 'note',
              message: `${dropped} triangles with two equal corners dropped`,
            },
          ],
  };
}
