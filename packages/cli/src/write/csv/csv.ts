import { formatFixed } from '@offplate/core';
import { stringify } from 'csv-stringify/sync';

/** A number stays a number; undefined is an empty cell. */
export type CsvCell = string | number | undefined;

/** RFC 4180 text with LF line ends, without a byte order mark. */
export function csvText(header: readonly string[], rows: readonly (readonly CsvCell[])[]): string {
  return stringify([header, ...rows].map((row) => row.map(safe)));
}

/**
 * A spreadsheet takes a cell that begins with one of these for a formula and may run it; an
 * apostrophe before it makes it text.
 */
const startsFormula = /^[=+\-@\t\r\n＝＋－＠]/;

function safe(cell: CsvCell): string | number {
  if (cell === undefined) return '';
  return typeof cell === 'string' && startsFormula.test(cell) ? `'${cell}` : cell;
}

/** A computed number without the dust of binary arithmetic. */
export function rounded(value: number, decimals: number): number {
  return Number(formatFixed(value, decimals));
}
