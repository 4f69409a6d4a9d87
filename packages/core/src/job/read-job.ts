import type { Catalog } from '../catalog/catalog.js';
import { parseGeneralTolerance } from '../limits/parse-general.js';
import type { GeneralTolerance } from '../limits/types.js';
import type { Finding } from '../problems/finding.js';
import type { Place, Problem } from '../problems/problem.js';
import { checkFeatures, type ReadFeature } from './check-features.js';
import { checkSchema, type Loose, type SchemaFault } from './check-schema.js';
import type { FeatureTable } from './feature-table.js';
import type { JobInput } from './input.js';
import { readJsonText } from './json-text.js';
import { readChains } from './read-chains.js';
import { readFeature, type WrittenFeature } from './read-feature.js';
import {
  type JobVocabulary,
  type PlaceAt,
  readGeometry,
  readOrder,
  readPart,
  readPolicy,
} from './read-part.js';
import { inReadingOrder, type ReadingLog, readingLog } from './reading-log.js';
import { featureTablePattern, jobSchema, maxJobTextLength } from './schema.js';
import { pathText } from './text-position.js';
import type { Job } from './types.js';
import { inlineFeatures, tableFeatures } from './written-features.js';

/** A job as text. */
export interface JobSource {
  /** Text of the job, JSON. */
  readonly json: string;
  /** Name of its file, for the places of problems. */
  readonly file?: string;
  /** Cells of the table that the job names as its features. */
  readonly featureTable?: FeatureTable;
}

export interface JobReading {
  /** Present when there are no problems. */
  readonly job?: Job;
  /** Everything that is wrong, in the order of the input. */
  readonly problems: readonly Problem[];
  readonly findings: readonly Finding[];
}

/**
 * Reads and checks a job: JSON, schema, units, sizes, tolerances, and what must agree between them.
 * Every problem is found in one go; nothing is thrown whatever the text is. At most 10 MB of text
 * and 5,000 features.
 *
 * @returns lengths in mm, areas in mm2, volumes in mm3, roughness in um; features sorted by id
 * @example
 * readJob({ json: '{ "part": }' }, jobVocabulary(defaultCatalog())).problems[0].place.column // -> 11
 */
export function readJob(source: JobSource, vocabulary: JobVocabulary): JobReading {
  const log = readingLog();
  const { json, file } = source;
  if (json.length > maxJobTextLength) {
    const place = file === undefined ? {} : { file };
    const accept = `at most ${maxJobTextLength} characters`;
    log.problem('too-large', place, 'the job text is too long', json.length, accept);
    return { problems: log.problems, findings: [] };
  }
  const text = readJsonText(json, file);
  log.problems.push(...text.problems);
  if (text.value === undefined) return { problems: log.problems, findings: [] };
  const placeAt: PlaceAt = (path) => ({
    ...(file === undefined ? {} : { file }),
    ...text.positionOf(path),
    ...(path.length === 0 ? {} : { path: pathText(path) }),
  });
  const { faults, sound } = checkSchema(jobSchema, text.value);
  for (const { path, code, message, value, accept } of faults)
    log.problem(code, placeAt(path), message, value, accept);
  const job = assemble(sound ?? {}, faults, source, vocabulary, placeAt, log);
  return {
    ...(job === undefined || log.problems.length > 0 ? {} : { job }),
    problems: inReadingOrder(log.problems),
    findings: log.findings,
  };
}

function assemble(
  input: Loose<JobInput>,
  faults: readonly SchemaFault[],
  source: JobSource,
  vocabulary: JobVocabulary,
  placeAt: PlaceAt,
  log: ReadingLog,
): Job | undefined {
  const units = input.units ?? 'mm';
  const part = readPart(input.part ?? {}, vocabulary, placeAt, log);
  const geometry = readGeometry(input.geometry ?? {}, units, vocabulary, placeAt, log);
  const order = readOrder(input.order ?? {}, vocabulary, placeAt, log);
  const general = readGeneral(input.generalTolerance, placeAt(['generalTolerance']), log);
  const context = {
    units,
    decimalComma: source.featureTable?.decimalComma === true && typeof input.features === 'string',
    ...(general === undefined ? {} : { general }),
  };
  const features: ReadFeature[] = [];
  const lost: WrittenFeature[] = [];
  for (const written of writtenFeatures(input, faults, source, placeAt, log)) {
    const feature = readFeature(written, context, log);
    if (feature === undefined) lost.push(written);
    else features.push({ feature, written });
  }
  checkFeatures(features, lost, geometry, vocabulary.operations, log);
  const chains = readChains(input.chains ?? [], features, lost, units, placeAt, log);
  const policy = readPolicy(input.policy ?? {}, vocabulary, placeAt, log);
  if (part === undefined || order === undefined) return undefined;
  noteUntoleranced(features, log);
  return {
    schemaVersion: 'job/1',
    part,
    geometry,
    order,
    features: features.map(({ feature }) => feature).sort((a, b) => (a.id < b.id ? -1 : 1)),
    ...(general === undefined ? {} : { generalTolerance: general }),
    chains,
    policy,
  };
}

function readGeneral(
  text: string | undefined,
  place: Place,
  log: ReadingLog,
): GeneralTolerance | undefined {
  if (text === undefined) return undefined;
  const reading = parseGeneralTolerance(text);
  if (reading.ok) {
    log.findings.push(...reading.findings);
    return reading.value;
  }
  const message = `${reading.message} (character ${reading.column})`;
  log.problem('bad-tolerance', place, message, text, reading.accept);
  return undefined;
}

function writtenFeatures(
  input: Loose<JobInput>,
  faults: readonly SchemaFault[],
  { featureTable }: JobSource,
  placeAt: PlaceAt,
  log: ReadingLog,
): readonly WrittenFeature[] {
  const { features } = input;
  if (features === undefined) return [];
  if (typeof features !== 'string') return inlineFeatures(features, faults, placeAt);
  if (featureTable !== undefined) return tableFeatures(featureTable, placeAt(['features']), log);
  const accept = 'the cells of the table, or features inline';
  log.problem(
    'file-missing',
    placeAt(['features']),
    'the features table is not at hand',
    features,
    accept,
  );
  return [];
}

function noteUntoleranced(features: readonly ReadFeature[], log: ReadingLog): void {
  for (const { feature } of features) {
    if (feature.size?.origin !== 'untoleranced') continue;
    log.findings.push({
      id: 'size-without-limits',
      severity: 'note',
      message: `${feature.size.text} has no limits and no general tolerance gives it any: as printed`,
      about: feature.id,
    });
  }
}

/**
 * Name of the table in which a job keeps its features, relative to the job's folder; undefined when
 * they stand in the job or the name is not allowed.
 *
 * @example
 * featureTableName('{ "features": "features.csv" }') // -> "features.csv"
 */
export function featureTableName(json: string): string | undefined {
  if (json.length > maxJobTextLength) return undefined;
  const { value } = readJsonText(json);
  if (typeof value !== 'object' || value === null || !('features' in value)) return undefined;
  const { features } = value;
  return typeof features === 'string' && featureTablePattern.test(features) ? features : undefined;
}

/**
 * The ids that a job may name when it is planned with a catalogue.
 *
 * @example
 * jobVocabulary(defaultCatalog()).materials.includes('s17400') // -> true
 */
export function jobVocabulary(catalog: Catalog): JobVocabulary {
  const operations = [
    ...catalog.processes.map(({ id }) => id),
    ...catalog.treatments.flatMap(({ id, treatment }) => [id, treatment]),
    ...catalog.workCentres.map(({ id }) => id),
    ...catalog.thermalRoutes.map(({ id }) => id),
  ];
  return {
    materials: catalog.materials.map(({ id }) => id),
    currencies: catalog.currencies.map(({ code }) => code),
    operations: [...new Set(operations)].sort(),
  };
}
