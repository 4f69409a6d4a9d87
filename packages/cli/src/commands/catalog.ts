import type { Catalog, Row, TableName } from '@offplate/core';
import { type ExitCode, exitCodes } from '../exit-codes.js';
import { InvalidInput, UsageError } from '../failure.js';
import type { Io } from '../io.js';
import { type Arguments, type Command, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Shows the tables that the plan is made from: alloys, treatments, processes, work centres and rates, each value with its source and confidence. A shop folder changes or adds rows by their key.',
  operands: [
    { name: 'table', optional: true, about: 'name of a table; without it the tables are listed' },
    { name: 'row', optional: true, about: 'key of a row, to see each value with its source' },
  ],
  options: {
    json: { about: 'print JSON (schema catalog/1)' },
    csv: { about: 'print CSV with the columns that a shop folder takes' },
    check: { about: 'check the whole catalogue and name every bad row' },
    shop: sharedOptions.shop,
    out: sharedOptions.out,
    force: sharedOptions.force,
  },
  examples: [
    ['offplate catalog', 'the tables'],
    ['offplate catalog materials s17400', 'one alloy with its sources'],
    ['offplate catalog work-centres --csv --out our-shop/work-centres.csv', 'rates to edit'],
    ['offplate catalog --check --shop our-shop', 'check your tables'],
  ],
  async run(args, io) {
    const [core, { loadCatalog }, { deliver, resultStyle }] = await Promise.all([
      import('@offplate/core'),
      import('./load-job.js'),
      import('./deliver.js'),
    ]);
    const catalog = await loadCatalog(args, io);
    if (args.flags.has('check')) return await check(catalog, args, io);
    const [name, key] = args.operands;
    const table = name === undefined ? undefined : tableNamed(name, core);
    const rows = table === undefined ? [] : core.tableRows(catalog, table);
    const row =
      key === undefined || table === undefined ? undefined : rowNamed(key, table, rows, core);
    const result = await present(catalog, { table, row }, args, resultStyle(args, io));
    await deliver(result, args, io);
    return exitCodes.ok;
  },
};

type Core = typeof import('@offplate/core');
type TextStyle = import('../write/text/style.js').Style;

async function check(catalog: Catalog, args: Arguments, io: Io): Promise<ExitCode> {
  if (args.operands.length > 0) throw new UsageError('--check looks at all tables, not at one');
  const { checkCatalog, tableProperties } = await import('@offplate/core');
  const problems = checkCatalog(catalog);
  if (problems.length > 0) throw new InvalidInput(problems);
  const tables = Object.values(tableProperties);
  const rows = tables.reduce((sum, property) => sum + catalog[property].length, 0);
  const own = Object.keys(catalog.shopRows).length;
  const shop = own === 0 ? '' : `, ${own} of them from the shop folder`;
  await io.stdout.write(`sound: ${tables.length} tables, ${rows} rows${shop}\n`);
  return exitCodes.ok;
}

function tableNamed(name: string, { nearMatch, tableSchemas }: Core): TableName {
  const names = Object.keys(tableSchemas) as TableName[];
  const found = names.find((table) => table === name.toLowerCase());
  if (found !== undefined) return found;
  throw unknown('table', name, names, nearMatch);
}

function rowNamed(
  key: string,
  table: TableName,
  rows: readonly Row[],
  { nearMatch, rowKey }: Core,
): Row {
  const found = rows.find((row) => rowKey(table, row).toLowerCase() === key.toLowerCase());
  if (found !== undefined) return found;
  const keys = rows.map((row) => rowKey(table, row));
  throw unknown(`row of ${table}`, key, keys, nearMatch);
}

function unknown(
  what: string,
  name: string,
  known: readonly string[],
  nearMatch: Core['nearMatch'],
): UsageError {
  const near = nearMatch(name, known);
  const hint =
    near === undefined ? `accepted: ${known.slice(0, 40).join(', ')}` : `did you mean ${near}?`;
  return new UsageError(`there is no ${what} ${JSON.stringify(name)}; ${hint}`);
}

interface Selection {
  readonly table: TableName | undefined;
  readonly row: Row | undefined;
}

async function present(
  catalog: Catalog,
  { table, row }: Selection,
  args: Arguments,
  style: TextStyle,
): Promise<string> {
  const [{ tableRows, tableSchemas }, texts, { formatOf, jsonText }] = await Promise.all([
    import('@offplate/core'),
    import('../write/text/catalog-text.js'),
    import('./deliver.js'),
  ]);
  const format = formatOf(args);
  const rows = table === undefined ? [] : row === undefined ? tableRows(catalog, table) : [row];
  if (format === 'text') {
    if (table === undefined) {
      const tables = Object.keys(tableSchemas) as TableName[];
      return texts.tableListText(catalog, tables, style);
    }
    return row === undefined
      ? texts.tableText(catalog, table, style)
      : texts.rowText(catalog, table, row, style);
  }
  if (format === 'json') {
    if (table !== undefined) return jsonText({ schema: 'catalog/1', table, rows });
    const tables = Object.keys(tableSchemas) as TableName[];
    const list = tables.map((name) => ({
      table: name,
      doc: tableSchemas[name].doc,
      rows: tableRows(catalog, name).length,
    }));
    return jsonText({ schema: 'catalog/1', tables: list });
  }
  if (table === undefined) throw new UsageError('catalog --csv needs a table');
  const { tableCsv } = await import('../write/csv/catalog-csv.js');
  return tableCsv(table, rows);
}
