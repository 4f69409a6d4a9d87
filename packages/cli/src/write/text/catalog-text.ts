import {
  type Catalog,
  type Cell,
  propertyName,
  provenance,
  type Row,
  rowKey,
  type TableName,
  tableRows,
  tableSchemas,
} from '@offplate/core';
import { counted } from './numbers.js';
import { unsourced } from './plan-remarks.js';
import type { Style } from './style.js';
import { type TextColumn, textTable } from './table.js';
import { displayWidth } from './width.js';

/** The tables of the catalogue. */
export function tableListText(
  catalog: Catalog,
  tables: readonly TableName[],
  style: Style,
): string {
  const rows = tables.map((table) => {
    const { file, doc } = tableSchemas[table];
    return { cells: [table, String(tableRows(catalog, table).length), file, doc] };
  });
  const columns: readonly TextColumn[] = [
    { title: ['table'], align: 'left' },
    { title: ['rows'], align: 'decimal' },
    { title: ['file in a shop folder'], align: 'left' },
    { title: ['what'], align: 'left', wraps: true },
  ];
  return `${textTable(columns, rows, style).join('\n')}\n`;
}

/** A cell as the data files write it. */
export function cellText(cell: Cell): string {
  if (cell === undefined) return '';
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no';
  return typeof cell === 'object' ? cell.join('|') : String(cell);
}

const isProvenance = (column: string): boolean => /(^|_)(source|confidence)$/.test(column);
const widestCell = 30;

/** The rows of a table with as many of its columns as fit; a row by itself shows all of them. */
export function tableText(catalog: Catalog, table: TableName, style: Style): string {
  const rows = tableRows(catalog, table);
  const { columns, key, doc } = tableSchemas[table];
  const names = Object.keys(columns).filter((name) => !isProvenance(name));
  const shown = fitting(names, rows, style.width);
  const left = names.length - shown.length;
  const cells = rows.map((row) => ({ cells: shown.map((name) => short(row, name)) }));
  const textColumns = shown.map((name): TextColumn => {
    const isNumber = columns[name]?.type === 'number' || columns[name]?.type === 'integer';
    return { title: [name], align: isNumber ? 'decimal' : 'left' };
  });
  const more = left === 0 ? '' : `${counted(left, 'more column')} and the sources: `;
  const keyText = key.length === 1 ? `<${key[0] ?? ''}>` : `"<${key.join(' / ')}>"`;
  return [
    `${style.bold(table)}: ${doc}`,
    ...textTable(textColumns, cells, style),
    `${counted(rows.length, 'row')}; ${more}offplate catalog ${table} ${keyText}, or --csv`,
    '',
  ].join('\n');
}

function short(row: Row, name: string): string {
  const text = cellText(row[propertyName(name)]);
  return displayWidth(text) <= widestCell
    ? text
    : `${[...text].slice(0, widestCell - 1).join('')}…`;
}

/** The first columns that fit into the width and are not empty all the way down. */
function fitting(names: readonly string[], rows: readonly Row[], width: number): readonly string[] {
  const shown: string[] = [];
  let filled = -2;
  for (const name of names) {
    const texts = rows.map((row) => short(row, name));
    if (texts.every((text) => text === '')) continue;
    filled += 2 + Math.max(...[name, ...texts].map(displayWidth));
    if (filled > width) break;
    shown.push(name);
  }
  return shown;
}

/** Every value of one row with its meaning, confidence and source. */
export function rowText(catalog: Catalog, table: TableName, row: Row, style: Style): string {
  const key = rowKey(table, row);
  const { columns, key: keyColumns } = tableSchemas[table];
  const cells = Object.entries(columns)
    .filter(([name]) => !isProvenance(name) && row[propertyName(name)] !== undefined)
    .map(([name, column]) => {
      const { value, source, confidence } = provenance(catalog, table, key, name);
      const what = column.doc ?? name;
      if (keyColumns.includes(name)) return { cells: [what, cellText(value)] };
      return { cells: [what, cellText(value), confidence, source === unsourced ? '' : source] };
    });
  return [
    style.bold(`${table}: ${key}`),
    ...textTable(
      [
        { title: ['what'], align: 'left', wraps: true },
        { title: ['value'], align: 'left', wraps: true },
        { title: ['confidence'], align: 'left' },
        { title: ['source'], align: 'left', wraps: true },
      ],
      cells,
      style,
    ),
    '',
  ].join('\n');
}
