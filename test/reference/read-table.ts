import { readFileSync } from 'node:fs';
import { parse } from 'csv-parse/sync';

/** Rows of a reference table beside the tests, by header. */
export function readTable(name: string): readonly Readonly<Record<string, string>>[] {
  const text = readFileSync(new URL(`./${name}.csv`, import.meta.url), 'utf8');
  return parse(text, { columns: true }) as Record<string, string>[];
}

/** The cell of a column that the table must have. */
export function cell(row: Readonly<Record<string, string>>, column: string): string {
  const value = row[column];
  if (value === undefined) throw new Error(`the reference table has no column ${column}`);
  return value;
}
