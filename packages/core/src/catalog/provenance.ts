import type { Confidence } from '../problems/finding.js';
import { type Catalog, rowId, rowKey, tableRows } from './catalog.js';
import { type TableName, tableSchemas } from './generated/table-schemas.js';
import { rowMissing } from './lookup.js';
import { type Cell, propertyName, type Row } from './read-rows.js';

/** A value of the catalogue with where it comes from and how far it may be trusted. */
export interface Provenance {
  readonly value: Cell;
  readonly source: string;
  readonly confidence: Confidence;
}

/** The columns that tell where a value comes from. */
export interface SourceColumns {
  readonly source?: string;
  /** The weakest of them counts. */
  readonly confidence: readonly string[];
}

const unsourced = { source: 'common practice, no source', confidence: 'practice' } as const;

const weakestFirst: readonly Confidence[] = [
  'invented',
  'practice',
  'memory',
  'computed',
  'read',
  'given',
];

/** Source columns of value columns, in tables that tag groups of columns. */
const groups: Partial<Record<TableName, Readonly<Record<string, SourceColumns>>>> = {
  materials: {
    density_kg_m3: group('density'),
    youngs_modulus_gpa: group('elastic'),
    poisson: group('elastic'),
    expansion_um_m_k: group('expansion'),
    conductivity_w_m_k: group('thermal', 'conductivity'),
    heat_capacity_j_kg_k: group('thermal', 'heat_capacity'),
    solidus_c: group('melt'),
    liquidus_c: group('melt'),
    as_built_yield_mpa: group('as_built', 'as_built_yield'),
    as_built_uts_mpa: group('as_built', 'as_built_uts'),
    treated_yield_mpa: group('treated', 'treated_yield'),
    treated_uts_mpa: group('treated', 'treated_uts'),
    machinability_percent: group('machinability'),
  },
  treatments: {
    temperature_c: schedule('temperature'),
    step2_temperature_c: schedule('temperature'),
    soak_min_min: schedule('soak'),
    soak_max_min: schedule('soak'),
    step2_soak_min: schedule('soak'),
    total_soak_min: schedule('soak'),
    tolerance_c: schedule('tolerance'),
    minimum_c: schedule('temperature', 'tolerance'),
    maximum_c: schedule('temperature', 'tolerance'),
    pressure_mpa_min: schedule('temperature', 'soak'),
  },
  processes: {
    it_best: group('it'),
    it_economic: group('it'),
    it_coarse: group('it'),
    ra_low_um: group('ra'),
    ra_high_um: group('ra'),
    stock_min_mm: group('stock'),
    stock_max_mm: group('stock'),
    effect_typical_um: group('effect'),
    effect_low_um: group('effect'),
    effect_high_um: group('effect'),
    stress: group('stress'),
    lead_days_low: group('lead'),
    lead_days_high: group('lead'),
  },
  'process-needs': {
    rate_low: group('rate'),
    rate_high: group('rate'),
  },
};

function group(source: string, confidence: string = source): SourceColumns {
  return { source: `${source}_source`, confidence: [`${confidence}_confidence`] };
}

function schedule(...confidence: readonly string[]): SourceColumns {
  return { source: 'source', confidence: confidence.map((name) => `${name}_confidence`) };
}

/** Which columns of the table say where this column's value comes from. */
export function sourceColumns(table: TableName, column: string): SourceColumns {
  const own = groups[table]?.[column];
  if (own !== undefined) return own;
  const { columns } = tableSchemas[table];
  return {
    ...(columns.source === undefined ? {} : { source: 'source' }),
    confidence: columns.confidence === undefined ? [] : ['confidence'],
  };
}

/**
 * Value, source and confidence of one cell of the catalogue. A column without a tag of its own, such
 * as the atmosphere of a schedule, counts as common practice. In a row that a shop changed in part,
 * the columns that the shop left alone keep the provenance of the catalogue.
 *
 * @param key values of the key columns, ` / ` between them
 * @param column as the CSV header names it, e.g. `density_kg_m3`
 * @throws InputError when the table has no such row or column
 * @example
 * provenance(defaultCatalog(), 'materials', 'n07718', 'solidus_c').confidence // -> "read"
 */
export function provenance(
  catalog: Catalog,
  table: TableName,
  key: string,
  column: string,
): Provenance {
  const rows = tableRows(catalog, table);
  const found = rows.find((row) => rowKey(table, row) === key);
  if (found === undefined)
    throw rowMissing(
      table,
      key,
      rows.map((row) => rowKey(table, row)),
    );
  const known = Object.keys(tableSchemas[table].columns);
  if (!known.includes(column)) throw rowMissing(`${table} column`, column, known);
  const shop = catalog.shopRows[rowId(table, key)];
  const row = shop?.base !== undefined && !shop.columns.includes(column) ? shop.base : found;
  return { value: row[propertyName(column)], ...sourceOf(table, row, column) };
}

function sourceOf(
  table: TableName,
  row: Row,
  column: string,
): { source: string; confidence: Confidence } {
  const columns = sourceColumns(table, column);
  const source = columns.source === undefined ? undefined : row[propertyName(columns.source)];
  if (typeof source !== 'string') return unsourced;
  const tags = columns.confidence.map((name) => row[propertyName(name)]);
  const weakest = weakestFirst.find((tag) => tags.includes(tag)) ?? unsourced.confidence;
  return { source, confidence: weakest };
}
