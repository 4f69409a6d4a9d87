import {
  type Catalog,
  checkCatalog,
  nearMatch,
  type Row,
  rowKey,
  type TableName,
  tableRows,
  tableSchemas,
} from '@offplate/core';
import { type ExitCode, exitCodes } from '../exit-codes.js';
import { InvalidInput, UsageError } from '../failure.js';
import type { Io } from '../io.js';
import { rowText, tableListText, tableText } from '../write/text/catalog-text.js';
import type { Arguments } from './command.js';
import { deliver, formatOf, jsonText, resultStyle, tellFindings } from './deliver.js';
import { loadCatalog } from './load-job.js';

const tableNames = Object.keys(tableSchemas) as TableName[];

/** The verb `catalog`: checks the catalogue, or shows its tables, a table, or a row. */
export async function showCatalog(args: Arguments, io: Io): Promise<ExitCode> {
  formatOf(args);
  const { catalog, findings } = loadCatalog(args);
  await tellFindings(findings, args, io);
  const [name, key] = args.operands;
  if (args.flags.has('check')) {
    if (name !== undefined) throw new UsageError('--check looks at all tables, not at one');
    await io.stdout.write(checked(catalog));
  } else if (name === undefined) await deliver(tableList(catalog, args, io), args, io);
  else {
    const table = tableNamed(name);
    const row = key === undefined ? undefined : rowNamed(key, table, catalog);
    await deliver(await tableResult(catalog, table, row, args, io), args, io);
  }
  return exitCodes.ok;
}

function checked(catalog: Catalog): string {
  const problems = checkCatalog(catalog);
  if (problems.length > 0) throw new InvalidInput(problems);
  const rows = tableNames.reduce((sum, table) => sum + tableRows(catalog, table).length, 0);
  const own = Object.keys(catalog.shopRows).length;
  const shop = own === 0 ? '' : `, ${own} of them from the shop folder`;
  return `sound: ${tableNames.length} tables, ${rows} rows${shop}\n`;
}

function tableList(catalog: Catalog, args: Arguments, io: Io): string {
  switch (formatOf(args)) {
    case 'text':
      return tableListText(catalog, tableNames, resultStyle(args, io));
    case 'json':
      return jsonText({
        schema: 'catalog/1',
        tables: tableNames.map((table) => ({
          table,
          doc: tableSchemas[table].doc,
          rows: tableRows(catalog, table).length,
        })),
      });
    case 'csv':
      throw new UsageError('catalog --csv needs a table');
  }
}

async function tableResult(
  catalog: Catalog,
  table: TableName,
  row: Row | undefined,
  args: Arguments,
  io: Io,
): Promise<string> {
  const rows = row === undefined ? tableRows(catalog, table) : [row];
  const style = resultStyle(args, io);
  switch (formatOf(args)) {
    case 'text':
      return row === undefined
        ? tableText(catalog, table, style)
        : rowText(catalog, table, row, style);
    case 'json':
      return jsonText({ schema: 'catalog/1', table, rows });
    case 'csv':
      return (await import('../write/csv/catalog-csv.js')).tableCsv(table, rows);
  }
}

function tableNamed(name: string): TableName {
  const found = tableNames.find((table) => table === name.toLowerCase());
  if (found === undefined) throw unknown('table', name, tableNames);
  return found;
}

function rowNamed(key: string, table: TableName, catalog: Catalog): Row {
  const rows = tableRows(catalog, table);
  const found = rows.find((row) => rowKey(table, row).toLowerCase() === key.toLowerCase());
  if (found !== undefined) return found;
  const keys = rows.map((row) => rowKey(table, row));
  throw unknown(`row of ${table}`, key, keys);
}

function unknown(what: string, name: string, known: readonly string[]): UsageError {
  const near = nearMatch(name, known);
  const some = known.slice(0, 40).join(', ');
  const hint = near === undefined ? `accepted: ${some}` : `did you mean ${near}?`;
  return new UsageError(`there is no ${what} ${JSON.stringify(name)}; ${hint}`);
}
