import { propertyName, type Row, type TableName, tableSchemas } from '@offplate/core';
import { cellText } from '../text/catalog-text.js';
import { csvText } from './csv.js';

/** Rows of a table with the columns that a shop folder takes. */
export function tableCsv(table: TableName, rows: readonly Row[]): string {
  const names = Object.keys(tableSchemas[table].columns);
  return csvText(
    names,
    rows.map((row) =>
      names.map((name) => {
        const cell = row[propertyName(name)];
        return typeof cell === 'number' ? cell : cellText(cell);
      }),
    ),
  );
}
