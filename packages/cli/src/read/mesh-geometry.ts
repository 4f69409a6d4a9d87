import { statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import {
  type Assumption,
  type Finding,
  geometryFromMesh,
  type Job,
  measurePart,
  type PartMeasures,
  type Problem,
  type TriangleMesh,
} from '@offplate/core';
import { readMeshFile } from './mesh-file.js';
import { stdinName } from './read-job.js';

export interface MeshFilling {
  /** The job as it was read when it names no mesh; absent when its mesh cannot be read. */
  readonly job?: Job;
  readonly assumptions: readonly Assumption[];
  readonly findings: readonly Finding[];
  readonly problems: readonly Problem[];
  /** For the picture of the part. */
  readonly mesh?: TriangleMesh;
  readonly measures?: PartMeasures;
}

/**
 * Fills the geometry of a job from the mesh that it names.
 *
 * @param source what the job was read from: its folder, its file or `-`
 */
export async function fillFromMesh(job: Job, source: string): Promise<MeshFilling> {
  const { mesh } = job.geometry;
  if (mesh === undefined) return { job, assumptions: [], findings: [], problems: [] };
  const nothing = { assumptions: [], findings: [] };
  if (source === '-') {
    const place = { file: stdinName, path: 'geometry.mesh' };
    const message = 'a job from the standard input has no folder in which its mesh could lie';
    const accept = 'figures in place of the mesh, or a job in a folder';
    return {
      ...nothing,
      problems: [{ code: 'file-missing', place, message, value: mesh.file, accept }],
    };
  }
  const folder = statSync(source).isDirectory() ? source : dirname(source);
  const path = join(folder, mesh.file);
  const read = await readMeshFile(path, mesh.units, folder);
  if ('problems' in read) return { ...nothing, problems: read.problems };
  const measures = measurePart(read.reading.mesh);
  const filled = geometryFromMesh(job, measures, mesh.file);
  return {
    ...filled,
    mesh: read.reading.mesh,
    measures,
    findings: [
      ...read.reading.findings.map((finding) => ({ ...finding, about: mesh.file })),
      ...filled.findings,
    ],
    problems: [],
  };
}
