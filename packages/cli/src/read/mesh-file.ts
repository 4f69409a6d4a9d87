import { readFileSync, realpathSync, statSync } from 'node:fs';
import { sep } from 'node:path';
import { InputError, maxMeshBytes, type Problem } from '@offplate/core';
import type { MeshOptions, MeshReading } from '@offplate/core/mesh-file';
import { fileProblem } from './read-file.js';

export type MeshFileReading =
  | { readonly reading: MeshReading }
  | { readonly problems: readonly Problem[] };

const accept = 'an STL or 3MF file';

/**
 * Reads a mesh file. Its size is looked at before it is read.
 *
 * @param folder the file must lie in it, links followed; anywhere if absent
 */
export async function readMeshFile(
  path: string,
  units: 'mm' | 'in',
  folder?: string,
): Promise<MeshFileReading> {
  const place = { file: path };
  let bytes: Uint8Array;
  try {
    if (folder !== undefined && !isInside(path, folder)) {
      const message = 'the file lies outside the folder';
      const within = 'a mesh in the folder of the job';
      return { problems: [{ code: 'file-missing', place, message, value: path, accept: within }] };
    }
    const stat = statSync(path);
    if (!stat.isFile()) {
      const message = 'this is not a file';
      return { problems: [{ code: 'file-missing', place, message, value: path, accept }] };
    }
    if (stat.size > maxMeshBytes) {
      const message = 'the file is too large';
      const most = `at most ${maxMeshBytes} bytes`;
      const value = `${stat.size} bytes`;
      return { problems: [{ code: 'too-large', place, message, value, accept: most }] };
    }
    bytes = readFileSync(path);
  } catch (error) {
    return { problems: [fileProblem(error, path, accept)] };
  }
  const { readMesh } = await import('@offplate/core/mesh-file');
  const options: MeshOptions = { stlUnit: units, file: path };
  try {
    return { reading: readMesh(bytes, options) };
  } catch (error) {
    if (error instanceof InputError) return { problems: error.problems };
    throw error;
  }
}

function isInside(path: string, folder: string): boolean {
  const root = realpathSync(folder);
  return realpathSync(path).startsWith(root.endsWith(sep) ? root : `${root}${sep}`);
}
