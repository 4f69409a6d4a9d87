import type { Place } from '../problems/problem.js';
import type { AngleUnit } from '../quantity/units.js';
import { checkSchema, type Loose, type SchemaFault } from './check-schema.js';
import { featureFromCells } from './feature-cells.js';
import { featureSchema } from './feature-schema.js';
import {
  type FeatureField,
  type FeatureTable,
  readHeader,
  readRowsOfTable,
} from './feature-table.js';
import type { FeatureInput } from './input.js';
import type { WrittenFeature } from './read-feature.js';
import type { ReadingLog } from './reading-log.js';
import { maxFeatures } from './schema.js';
import type { PathStep } from './text-position.js';

/** The features that stand in the job itself; the schema has already been checked. */
export function inlineFeatures(
  features: readonly (Loose<FeatureInput> | undefined)[],
  faults: readonly SchemaFault[],
  placeAt: (path: readonly PathStep[]) => Place,
): readonly WrittenFeature[] {
  const faultyOf = new Map<number, Set<string>>();
  for (const { path } of faults) {
    const [root, index, field] = path;
    if (root !== 'features' || typeof index !== 'number') continue;
    const set = faultyOf.get(index) ?? new Set();
    set.add(String(field));
    faultyOf.set(index, set);
  }
  return features.flatMap((input, index) =>
    input === undefined
      ? []
      : [
          {
            input,
            faulty: faultyOf.get(index) ?? new Set<string>(),
            extra: {},
            unitOf: () => undefined,
            placeOf: (field?: FeatureField, item?: number) =>
              placeAt([
                'features',
                index,
                ...(field === undefined ? [] : [field]),
                ...(item === undefined ? [] : [item]),
              ]),
          },
        ],
  );
}

/**
 * The features of a table: header, cells and schema are checked here, row by row.
 *
 * @param askedAt where the job names the table: the place of a missing file
 */
export function tableFeatures(
  table: FeatureTable,
  askedAt: Place,
  log: ReadingLog,
): readonly WrittenFeature[] {
  for (const problem of table.problems)
    log.problems.push(problem.code === 'file-missing' ? { ...problem, place: askedAt } : problem);
  log.findings.push(...table.findings);
  if (table.problems.length > 0 && table.header.length === 0) return [];
  const columns = readHeader(table, log);
  if (!columns.usable) return [];
  const { file, headerLine } = table;
  const rows = readRowsOfTable(table, columns, log);
  if (rows.length === 0) {
    const place = { file, line: headerLine };
    log.problem('missing-field', place, 'the table has no features', undefined, 'a row a feature');
  }
  if (rows.length > maxFeatures) {
    const accept = `at most ${maxFeatures} features`;
    log.problem('too-large', { file, line: headerLine }, 'too many rows', rows.length, accept);
    return [];
  }
  const columnOf = new Map(
    columns.columns.flatMap((column) => (column === undefined ? [] : [[column.field, column]])),
  );
  const unitOf = (field: FeatureField): string | undefined => columnOf.get(field)?.unit;
  return rows.map((row): WrittenFeature => {
    const placeOf = (field?: FeatureField): Place => ({
      file,
      line: row.line,
      ...(field === undefined ? {} : { column: columnOf.get(field)?.header ?? field }),
    });
    const angleUnit = (unitOf('angle') ?? 'deg') as AngleUnit;
    const cells = featureFromCells(row, table.decimalComma, angleUnit, placeOf, log);
    const faulty = new Set(cells.faulty);
    const { faults, sound } = checkSchema(featureSchema, cells.input);
    for (const { path, code, message, value, accept } of faults) {
      const field = path[0] as FeatureField;
      faulty.add(field);
      // an unreadable cell is wrong, not missing
      if (code === 'missing-field' && cells.faulty.has(field)) continue;
      log.problem(code, placeOf(field), message, value, accept);
    }
    return { input: sound ?? {}, faulty, extra: row.extra, unitOf, placeOf };
  });
}
