import type { FeatureTable } from '../job/feature-table.js';
import type { ReadingLog } from '../job/reading-log.js';
import type { PathStep } from '../job/text-position.js';
import { nearMatch } from '../problems/near-match.js';
import type { Place } from '../problems/problem.js';
import { parseNumber } from '../quantity/parse-quantity.js';

/** A table of contributors as text cells; what any reader of CSV gives. */
export type StackTable = FeatureTable;

/** The first name of each is the one that messages use. */
const columnNames = {
  id: ['id', 'contributor'],
  size: ['size'],
  nominal: ['nominal'],
  tolerance: ['tolerance', '±'],
  plus: ['plus'],
  minus: ['minus'],
  lower: ['lower'],
  upper: ['upper'],
  coefficient: ['coefficient', 'sensitivity'],
  distribution: ['distribution'],
  sigma: ['sigma'],
  cp: ['cp'],
  cpk: ['cpk'],
  mode: ['mode'],
  topFraction: ['top fraction'],
  alpha: ['alpha'],
  beta: ['beta'],
  degreesOfFreedom: ['degrees of freedom', 'dof'],
  meanShift: ['mean shift'],
  shiftFactor: ['shift factor'],
  source: ['source', 'note', 'notes'],
} as const;

type Column = keyof typeof columnNames;

const columns = Object.keys(columnNames) as Column[];
const texts: ReadonlySet<Column> = new Set(['id', 'size', 'source', 'distribution']);
const ofDistribution: ReadonlySet<Column> = new Set([
  'sigma',
  'cp',
  'cpk',
  'mode',
  'topFraction',
  'alpha',
  'beta',
  'degreesOfFreedom',
]);
const accept = columns.map((column) => columnNames[column][0]).join(', ');
const bare = (text: string): string => text.toLowerCase().replace(/[\s_.-]/g, '');

/** Contributors of a table in the form of a stack file, and where each value stands. */
export interface ContributorRows {
  readonly contributors: readonly Readonly<Record<string, unknown>>[];
  placeAt(path: readonly PathStep[]): Place;
}

/** Turns rows into contributors; only the form is changed, the schema judges the values. */
export function readStackTable(table: StackTable, log: ReadingLog): ContributorRows {
  const { file, headerLine } = table;
  log.problems.push(...table.problems);
  log.findings.push(...table.findings);
  const header = table.problems.length > 0 ? [] : readHeader(table, log);
  const headerOf = new Map(header.map((column, index) => [column, table.header[index] ?? '']));
  const at = (line: number, column: Column): Place => {
    const name = headerOf.get(column);
    return { file, line, ...(name === undefined ? {} : { column: name }) };
  };
  const rows =
    header.includes('id') && log.problems.length === 0
      ? table.rows.filter(({ cells }) => cells.some((cell) => cell.trim() !== ''))
      : [];
  const contributors = rows.map(({ line, cells }) => {
    const surplus = cells.slice(header.length).filter((cell) => cell.trim() !== '');
    if (surplus.length > 0) {
      const message = 'the row has more cells than the header';
      log.problem('csv-width', { file, line }, message, surplus.join(' | '), 'one a column');
    }
    const row: Record<string, unknown> = {};
    const distribution: Record<string, unknown> = {};
    header.forEach((column, index) => {
      const text = (cells[index] ?? '').trim();
      // a dash says that there is nothing to say
      if (column === undefined || text === '' || /^[-–—]$/.test(text)) return;
      const value = texts.has(column) ? text : numberOf(text, table, at(line, column), log);
      if (value === undefined) return;
      if (column === 'distribution') distribution.kind = bareKind(text);
      else if (ofDistribution.has(column)) distribution[column] = value;
      else row[column] = value;
    });
    if (Object.keys(distribution).length > 0)
      row.distribution = { kind: 'normal', ...distribution };
    return row;
  });
  return {
    contributors,
    placeAt: ([list, index, field, inner]) => {
      if (list !== 'contributors') return { file };
      const line = rows[Number(index)]?.line ?? headerLine;
      const name = inner === undefined || inner === 'kind' ? field : inner;
      const column = columns.find((one) => one === name);
      return column === undefined ? { file, line } : at(line, column);
    },
  };
}

function bareKind(text: string): string {
  return text.toLowerCase().replace(/[\s_]+/g, '-');
}

function numberOf(
  text: string,
  { decimalComma }: StackTable,
  place: Place,
  log: ReadingLog,
): number | undefined {
  // the mark with which spreadsheets keep a cell that begins with a sign a text
  const reading = parseNumber(text.replace(/^'(?=[+-])/, ''), { decimalComma });
  if (reading.ok) return reading.value;
  const message = `${reading.message} (character ${reading.column})`;
  log.problem('bad-number', place, message, text, reading.accept);
  return undefined;
}

function readHeader(table: StackTable, log: ReadingLog): readonly (Column | undefined)[] {
  const { file, headerLine: line } = table;
  const seen = new Set<Column>();
  const header = table.header.map((text) => {
    const column = columns.find((one) =>
      columnNames[one].some((name) => bare(name) === bare(text)),
    );
    if (column === undefined) return undefined;
    if (seen.has(column))
      log.problem('csv-header', { file, line, column: text }, 'a second such column', text, accept);
    seen.add(column);
    return column;
  });
  table.header.forEach((text, index) => {
    if (header[index] !== undefined || text.trim() === '') return;
    const near = nearMatch(
      text,
      columns.filter((column) => !seen.has(column)).map((column) => columnNames[column][0]),
    );
    // four letters or fewer are too easily near to something: "note", "side"
    if (near !== undefined && near.length > 4) {
      const place = { file, line, column: text };
      log.problem('csv-header', place, `unknown column; did you mean ${near}?`, text, accept);
      return;
    }
    log.findings.push({
      id: 'spare-column',
      severity: 'warning',
      message: `column ${JSON.stringify(text)} is not used`,
      about: `${file}:${line}`,
    });
  });
  if (!seen.has('id'))
    log.problem('csv-header', { file, line }, 'no column id', table.header.join(' | '), accept);
  return header;
}
