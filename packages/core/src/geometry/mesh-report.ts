import type { Finding } from '../problems/finding.js';
import { type CandidateFeature, candidateFeatures } from './candidate-features.js';
import { type MeasureOptions, measurePart, type PartMeasures } from './measure-part.js';
import type { MeshReading } from './mesh.js';

/** A mesh file, measured. */
export interface MeshReport {
  readonly schema: 'mesh-report/1';
  readonly file: string;
  readonly format: MeshReading['format'];
  readonly title: string;
  readonly part: Omit<PartMeasures, 'findings'>;
  readonly candidates: readonly CandidateFeature[];
  /** Of the file and of the part. */
  readonly findings: readonly Finding[];
}

/**
 * Measures what a mesh file holds and lists the features that it suggests.
 *
 * @param file its name
 * @example
 * meshReport(readMesh(writeStl(boxMesh(40, 20, 10))), 'box.stl').part.boxMm // -> [40, 20, 10]
 */
export function meshReport(
  reading: MeshReading,
  file: string,
  options: MeasureOptions = {},
): MeshReport {
  const { findings, ...part } = measurePart(reading.mesh, options);
  return {
    schema: 'mesh-report/1',
    file,
    format: reading.format,
    title: reading.title,
    part,
    candidates: candidateFeatures(part),
    findings: [...reading.findings, ...findings],
  };
}
