import type { Problem } from '../problems/problem.js';
import {
  type Catalog,
  rowId,
  rowKey,
  type ShopRow,
  tableProperties,
  tableRows,
} from './catalog.js';
import { type TableName, tableSchemas } from './generated/table-schemas.js';
import { sourceColumns } from './provenance.js';
import {
  type ColumnSchema,
  propertyName,
  type Row,
  readRows,
  type TableSchema,
} from './read-rows.js';

/** A table of the shop as its file holds it: header row first, all cells as text. */
export interface ShopTable {
  readonly table: TableName;
  readonly file: string;
  readonly cells: readonly (readonly string[])[];
  /** Line in the file of each row of `cells`, from 1; left out when rows are lines. */
  readonly lines?: readonly number[];
}

/**
 * Lays a shop's tables over a catalogue. A row whose key columns match a row of the catalogue
 * changes it, another row is added. Columns that a file leaves out keep the catalogue's value, so a
 * file with `id` and `rate_per_h` is enough to bring own rates; a new row needs every column that is
 * not optional. Without source and confidence columns, what the file gives is tagged `given`.
 *
 * @returns the merged catalogue and every problem found; a table with a problem is left out whole
 * @example
 * mergeShop(defaultCatalog(), [{ table: 'work-centres', file: 'rates.csv', cells: [['id', 'rate_per_h'], ['saw', '61']] }]).catalog.workCentres.find((row) => row.id === 'saw')?.ratePerH // -> 61
 */
export function mergeShop(
  catalog: Catalog,
  tables: readonly ShopTable[],
): { readonly catalog: Catalog; readonly problems: readonly Problem[] } {
  const problems: Problem[] = [];
  let merged = catalog;
  for (const shop of tables) {
    const found: Problem[] = [];
    const next = mergeTable(merged, shop, found);
    if (found.length === 0) merged = next;
    problems.push(...found);
  }
  return { catalog: merged, problems };
}

function mergeTable(catalog: Catalog, shop: ShopTable, problems: Problem[]): Catalog {
  const { table, file } = shop;
  const schema = tableSchemas[table];
  const header = (shop.cells[0] ?? []).map((name) => name.trim());
  if (header.every((name) => name === '')) {
    problems.push({
      code: 'csv-header',
      place: { file, line: 1 },
      message: 'the table has no header row',
      accept: Object.keys(schema.columns).join(', '),
    });
    return catalog;
  }
  // readRows skips blank rows, so they go first to keep rows and lines in step
  const filled = shop.cells
    .map((cells, index) => ({ cells, line: shop.lines?.[index] ?? index + 1 }))
    .filter(({ cells }, index) => index === 0 || cells.some((text) => text.trim() !== ''));
  const lineOf = (row: number): number => filled[row]?.line ?? row + 1;
  const given = readRows(
    partialSchema(schema, header),
    [header, ...filled.slice(1).map(({ cells }) => cells)],
    file,
    lineOf,
  );
  problems.push(...given.problems);

  const rows = [...tableRows(catalog, table)];
  const positions = new Map(rows.map((row, index) => [rowKey(table, row), index]));
  const shopRows: Record<string, ShopRow> = { ...catalog.shopRows };
  given.rows.forEach((row, index) => {
    const line = lineOf(index + 1);
    const key = rowKey(table, row);
    const position = positions.get(key);
    const base = position === undefined ? undefined : rows[position];
    const full = withSources(table, header, { ...without(base ?? {}, header), ...row }, base, file);
    if (base === undefined && isKeyed(schema, row))
      problems.push(...missingColumns(schema, header, full, { file, line }, key));
    rows[position ?? rows.length] = full;
    shopRows[rowId(table, key)] = {
      file,
      line,
      columns: header,
      ...(base === undefined ? {} : { base }),
    };
  });
  // the rows have passed the schema that the row types are generated from
  return { ...catalog, [tableProperties[table]]: rows, shopRows };
}

/** Only the key and the columns present must be filled. */
function partialSchema(schema: TableSchema, header: readonly string[]): TableSchema {
  const columns: Record<string, ColumnSchema> = {};
  for (const [name, column] of Object.entries(schema.columns)) {
    const must = header.includes(name) || schema.key.includes(name);
    columns[name] = must ? column : { ...column, optional: true };
  }
  return { ...schema, columns };
}

/** A row without its key is reported as such; what else it lacks nobody can say. */
function isKeyed(schema: TableSchema, row: Row): boolean {
  return schema.key.every(
    (name) => schema.columns[name]?.optional === true || row[propertyName(name)] !== undefined,
  );
}

/** An empty cell of an optional column clears the catalogue's value. */
function without(row: Row, header: readonly string[]): Row {
  const cleared = new Set(header.map(propertyName));
  return Object.fromEntries(Object.entries(row).filter(([name]) => !cleared.has(name)));
}

/** Tags the values that the file gives without saying where they come from. */
function withSources(
  table: TableName,
  header: readonly string[],
  row: Row,
  base: Row | undefined,
  file: string,
): Row {
  const { columns, key } = tableSchemas[table];
  const names = Object.keys(columns).filter((name) => !key.includes(name));
  const tags = new Set(
    names.flatMap((name) => {
      const { source, confidence } = sourceColumns(table, name);
      return [source, ...confidence];
    }),
  );
  const added: Record<string, string> = {};
  for (const name of names.filter((name) => header.includes(name) && !tags.has(name))) {
    const { source, confidence } = sourceColumns(table, name);
    for (const tag of confidence) if (!header.includes(tag)) added[propertyName(tag)] = 'given';
    if (source === undefined || header.includes(source)) continue;
    const alike = names.filter((other) => sourceColumns(table, other).source === source);
    const inherited = alike.filter(
      (other) => !header.includes(other) && typeof base?.[propertyName(other)] === 'number',
    );
    const given = alike.filter((other) => header.includes(other));
    added[propertyName(source)] =
      inherited.length === 0
        ? `shop table ${file}`
        : `shop table ${file} (${given.join(', ')}); rest: ${String(base?.[propertyName(source)])}`;
  }
  return { ...row, ...added };
}

function missingColumns(
  schema: TableSchema,
  header: readonly string[],
  row: Row,
  place: { file: string; line: number },
  key: string,
): Problem[] {
  return Object.entries(schema.columns)
    .filter(([name, column]) => column.optional !== true && !header.includes(name))
    .filter(([name]) => row[propertyName(name)] === undefined)
    .map(([name, column]) => ({
      code: 'missing-field',
      place: { ...place, column: name },
      message: `${key} is new to the catalogue and needs the column ${name}`,
      accept: column.doc ?? column.type,
    }));
}
