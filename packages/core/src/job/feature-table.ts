import type { Finding } from '../problems/finding.js';
import { nearMatch } from '../problems/near-match.js';
import type { Place, Problem } from '../problems/problem.js';
import {
  angleUnits,
  areaUnits,
  findUnit,
  lengthUnits,
  roughnessUnits,
  type UnitTable,
} from '../quantity/units.js';
import type { FeatureInput } from './input.js';
import type { ReadingLog } from './reading-log.js';

/** A features table as text cells, before anything in it is understood. */
export interface FeatureTable {
  readonly file: string;
  readonly header: readonly string[];
  readonly headerLine: number;
  readonly rows: readonly { readonly line: number; readonly cells: readonly string[] }[];
  /** Numbers in the table are written `12,5`. */
  readonly decimalComma: boolean;
  /** What was already wrong or remarkable when the file was split into cells. */
  readonly problems: readonly Problem[];
  readonly findings: readonly Finding[];
}

export type FeatureField = keyof FeatureInput;

/** A column that the reader knows. */
export interface FeatureColumn {
  readonly field: FeatureField;
  /** As the user wrote it. */
  readonly header: string;
  /** Unit in the header, for bare numbers in the column. */
  readonly unit?: string;
}

/** A row with the text of each known column; empty cells are left out. */
export interface FeatureRow {
  readonly line: number;
  readonly cells: ReadonlyMap<FeatureField, string>;
  readonly extra: Readonly<Record<string, string>>;
}

const names: Readonly<Record<FeatureField, readonly string[]>> = {
  id: ['id'],
  kind: ['kind'],
  name: ['name'],
  count: ['count'],
  size: ['size'],
  ra: ['Ra'],
  rz: ['Rz'],
  length: ['length'],
  width: ['width'],
  depth: ['depth'],
  area: ['area'],
  facing: ['facing'],
  angle: ['angle'],
  supported: ['supported'],
  onAxis: ['on axis', 'axis'],
  concave: ['concave'],
  access: ['access'],
  datum: ['datum'],
  tolerances: ['tolerances', 'tolerance'],
  location: ['location'],
  finishes: ['finishes', 'finish'],
  note: ['note', 'notes'],
};
const fields = Object.keys(names) as FeatureField[];
const columnNames: readonly string[] = fields.map((field) => names[field][0] ?? field);

/** Sizes are written in the units of drawings. */
const sizeUnits: UnitTable<'mm' | 'in'> = {
  what: 'length',
  accept: 'mm or in',
  factors: { mm: lengthUnits.factors.mm, in: lengthUnits.factors.in },
  aliases: { inch: 'in', '"': 'in' },
};

const unitTables: Partial<Record<FeatureField, UnitTable<string>>> = {
  size: sizeUnits,
  length: lengthUnits,
  width: lengthUnits,
  depth: lengthUnits,
  location: lengthUnits,
  area: areaUnits,
  ra: roughnessUnits,
  rz: roughnessUnits,
  angle: angleUnits,
};

const bare = (text: string): string => text.toLowerCase().replace(/[\s_.-]/g, '');

function fieldNamed(text: string): FeatureField | undefined {
  return fields.find((field) => names[field].some((name) => bare(name) === bare(text)));
}

interface ParsedHeader {
  readonly field: FeatureField;
  readonly unit?: string;
  readonly badUnit?: string;
}

/** `Length`, `length_mm`, `Ra [um]`, `depth (in)`: the field and the unit. */
function parseHeader(header: string): ParsedHeader | undefined {
  const plain = fieldNamed(header);
  if (plain !== undefined) return { field: plain };
  const inBrackets = /^(.*?)[\s_-]*[[(]\s*([^\])]*?)\s*[\])]\s*$/.exec(header);
  const afterName = /^(.*\S)[\s_-]+(\S+)\s*$/.exec(header);
  const [, name = '', unitText = ''] = inBrackets ?? afterName ?? [];
  const field = fieldNamed(name);
  if (field === undefined) return undefined;
  const table = unitTables[field];
  const unit = table === undefined ? undefined : findUnit(table, unitText.replaceAll('μ', 'µ'));
  if (unit !== undefined) return { field, unit };
  return inBrackets === null ? undefined : { field, badUnit: unitText };
}

export interface TableColumns {
  /** By position in the header; undefined for spare columns. */
  readonly columns: readonly (FeatureColumn | undefined)[];
  readonly usable: boolean;
}

/** Understands the header row; spare columns are kept and warned of, doubtful ones are problems. */
export function readHeader(table: FeatureTable, log: ReadingLog): TableColumns {
  const { file, headerLine: line, header } = table;
  const before = log.problems.length;
  const taken = new Map<string, string>();
  const spare: { name: string; place: Place }[] = [];
  const columns = header.map((text, index): FeatureColumn | undefined => {
    const name = text.trim();
    const place: Place = { file, line, column: name === '' ? index + 1 : name };
    if (name === '') {
      if (table.rows.some(({ cells }) => (cells[index] ?? '').trim() !== ''))
        log.problem(
          'csv-header',
          place,
          'a column with values has no name',
          '',
          columnNames.join(', '),
        );
      return undefined;
    }
    const parsed = parseHeader(name);
    const key = parsed?.field ?? `spare ${bare(name)}`;
    const earlier = taken.get(key);
    if (earlier !== undefined) {
      log.problem(
        'csv-header',
        place,
        `the same column as ${JSON.stringify(earlier)}`,
        name,
        'each column once',
      );
      return undefined;
    }
    taken.set(key, name);
    if (parsed === undefined) {
      spare.push({ name, place });
      return undefined;
    }
    if (parsed.badUnit !== undefined)
      log.problem(
        'csv-header',
        place,
        'the unit in the column name is not understood',
        parsed.badUnit,
        unitTables[parsed.field]?.accept ?? 'no unit',
      );
    return {
      field: parsed.field,
      header: name,
      ...(parsed.unit === undefined ? {} : { unit: parsed.unit }),
    };
  });
  for (const { name, place } of spare) judgeSpare(name, place, taken, log);
  for (const field of ['id', 'kind'] as const)
    if (!taken.has(field))
      log.problem(
        'csv-header',
        { file, line, column: field },
        `the column ${field} is missing`,
        header.join(' | '),
        columnNames.join(', '),
      );
  return { columns, usable: log.problems.length === before };
}

/** A spare column is kept, unless its name looks like a slip for a column that is missing. */
function judgeSpare(
  name: string,
  place: Place,
  taken: ReadonlyMap<string, string>,
  log: ReadingLog,
): void {
  if (['__proto__', 'constructor', 'prototype'].includes(name)) {
    log.problem('csv-header', place, 'this column name is not allowed', name, 'another name');
    return;
  }
  const missing = fields
    .filter((field) => !taken.has(field))
    .map((field) => names[field][0] ?? field);
  const near = nearMatch(name, missing);
  // four letters or fewer are too easily near to something: "side", "zone"
  if (near !== undefined && near.length > 4) {
    log.problem(
      'csv-header',
      place,
      `unknown column; did you mean ${near}?`,
      name,
      columnNames.join(', '),
    );
    return;
  }
  log.findings.push({
    id: 'spare-column',
    severity: 'warning',
    message: `column ${JSON.stringify(name)} is kept but not used${near === undefined ? '' : `; did you mean ${near}?`}`,
    about: `${place.file ?? ''}:${place.line ?? 1}`,
  });
}

/** Rows with something in them, cells by field. */
export function readRowsOfTable(
  table: FeatureTable,
  { columns }: TableColumns,
  log: ReadingLog,
): readonly FeatureRow[] {
  const width = table.header.length;
  return table.rows.flatMap(({ line, cells }) => {
    if (cells.every((cell) => cell.trim() === '')) return [];
    if (cells.slice(width).some((cell) => cell.trim() !== ''))
      log.problem(
        'csv-width',
        { file: table.file, line },
        'the row has more cells than the header',
        cells.slice(width, width + 3).join(' | '),
        `${width} cells; quote a cell that holds the delimiter`,
      );
    else if (cells.length < width)
      log.findings.push({
        id: 'short-row',
        severity: 'warning',
        message: `the row has ${cells.length} of ${width} cells; the rest is taken as empty`,
        about: `${table.file}:${line}`,
      });
    const known = new Map<FeatureField, string>();
    const extra: Record<string, string> = {};
    cells.slice(0, width).forEach((cell, index) => {
      const text = cell.trim();
      const column = columns[index];
      const header = (table.header[index] ?? '').trim();
      if (column !== undefined) {
        // a dash says that there is nothing to say
        if (text !== '' && !/^[-–—]$/.test(text)) known.set(column.field, text);
      } else if (header !== '') extra[header] = cell;
    });
    return [{ line, cells: known, extra }];
  });
}
