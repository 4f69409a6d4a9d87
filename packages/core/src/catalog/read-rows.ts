import type { Problem, ProblemCode } from '../problems/problem.js';

/** Type of a table column. A list separates its items with `|`. */
export interface ColumnSchema {
  readonly type: 'id' | 'text' | 'number' | 'integer' | 'yes-no' | 'enum' | 'list';
  readonly optional?: boolean;
  readonly values?: readonly string[];
  readonly min?: number;
  readonly max?: number;
  readonly doc?: string;
}

export interface TableSchema {
  readonly file: string;
  readonly doc: string;
  readonly key: readonly string[];
  readonly columns: Readonly<Record<string, ColumnSchema>>;
}

export type Cell = string | number | boolean | readonly string[] | undefined;
export type Row = Readonly<Record<string, Cell>>;

/** `density_kg_m3` -> `densityKgM3`: the property name of a column. */
export function propertyName(column: string): string {
  return column.replace(/_+([a-zA-Z0-9])/g, (_match, letter: string) => letter.toUpperCase());
}

/**
 * Reads the cells of one data table. Every bad cell is reported, none stops the others.
 *
 * @param cells header row first; all cells as text
 * @param lineOf file line of each row of `cells`, counted from 1
 */
export function readRows(
  schema: TableSchema,
  cells: readonly (readonly string[])[],
  file: string,
  lineOf: (row: number) => number = (row) => row + 1,
): { rows: Row[]; problems: Problem[] } {
  const problems: Problem[] = [];
  const report = (
    code: ProblemCode,
    row: number,
    column: string | undefined,
    message: string,
    value?: string,
    accept?: string,
  ): void => {
    problems.push({
      code,
      place: { file, line: lineOf(row), ...(column === undefined ? {} : { column }) },
      message,
      ...(value === undefined ? {} : { value }),
      ...(accept === undefined ? {} : { accept }),
    });
  };
  const header = cells[0] ?? [];
  const known = Object.keys(schema.columns);
  const seen = new Set<string>();
  for (const name of header) {
    if (seen.has(name)) report('csv-header', 0, name, 'column named twice');
    else if (!known.includes(name))
      report('unknown-field', 0, name, 'unknown column', name, known.join(', '));
    seen.add(name);
  }
  for (const name of known) {
    if (!seen.has(name) && schema.columns[name]?.optional !== true)
      report('missing-field', 0, name, 'column is missing', undefined, name);
  }
  const rows: Row[] = [];
  const keys = new Map<string, number>();
  for (let index = 1; index < cells.length; index++) {
    const line = cells[index] ?? [];
    if (line.every((text) => text.trim() === '')) continue;
    if (line.length !== header.length)
      report(
        'csv-width',
        index,
        undefined,
        'wrong number of cells',
        String(line.length),
        `${header.length} cells`,
      );
    const row: Record<string, Cell> = {};
    for (const name of known) {
      const column = schema.columns[name];
      if (column === undefined) continue;
      const at = header.indexOf(name);
      const text = at < 0 ? '' : (line[at] ?? '').trim();
      if (text === '') {
        if (column.optional !== true && at >= 0)
          report('missing-field', index, name, 'cell is empty', '', describe(column));
        continue;
      }
      const value = readCell(column, text);
      if (value instanceof CellFault)
        report(value.code, index, name, value.message, text, describe(column));
      else row[propertyName(name)] = value;
    }
    const key = schema.key.map((name) => String(row[propertyName(name)] ?? '')).join(' / ');
    const earlier = keys.get(key);
    if (earlier !== undefined)
      report(
        'duplicate-id',
        index,
        schema.key[0],
        `same ${schema.key.join(' + ')} as line ${lineOf(earlier)}`,
        key,
      );
    keys.set(key, index);
    rows.push(row);
  }
  return { rows, problems };
}

class CellFault {
  readonly code: ProblemCode;
  readonly message: string;
  constructor(code: ProblemCode, message: string) {
    this.code = code;
    this.message = message;
  }
}

function readCell(column: ColumnSchema, text: string): Cell | CellFault {
  switch (column.type) {
    case 'text':
      return text;
    case 'id':
      return /^[a-z0-9][a-z0-9.+_-]*$/.test(text) ? text : new CellFault('wrong-type', 'not an id');
    case 'number':
    case 'integer': {
      if (!/^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/.test(text))
        return new CellFault('bad-number', 'not a number');
      const value = Number(text);
      if (column.type === 'integer' && !Number.isInteger(value))
        return new CellFault('wrong-type', 'not a whole number');
      if (
        !Number.isFinite(value) ||
        (column.min !== undefined && value < column.min) ||
        (column.max !== undefined && value > column.max)
      )
        return new CellFault('out-of-range', 'number out of range');
      return value;
    }
    case 'yes-no':
      if (text === 'yes') return true;
      if (text === 'no') return false;
      return new CellFault('not-one-of', 'not yes or no');
    case 'enum':
      return column.values?.includes(text) === true
        ? text
        : new CellFault('not-one-of', 'not one of the allowed words');
    case 'list': {
      const items = text.split('|').map((item) => item.trim());
      const bad = items.find(
        (item) => column.values !== undefined && !column.values.includes(item),
      );
      return bad === undefined
        ? items
        : new CellFault('not-one-of', `list item ${JSON.stringify(bad)} is not known`);
    }
  }
}

function describe(column: ColumnSchema): string {
  switch (column.type) {
    case 'enum':
      return (column.values ?? []).join(' | ');
    case 'list':
      return column.values === undefined
        ? 'items separated by |'
        : `items of ${column.values.join(', ')} separated by |`;
    case 'yes-no':
      return 'yes | no';
    case 'id':
      return 'lower-case letters, digits, . + _ -';
    case 'text':
      return 'text';
    default: {
      const low = column.min === undefined ? '' : ` from ${column.min}`;
      const high = column.max === undefined ? '' : ` to ${column.max}`;
      return `${column.type === 'integer' ? 'a whole number' : 'a number'}${low}${high}`;
    }
  }
}
