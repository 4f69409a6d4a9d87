import type { Problem } from '@offplate/core';
import { parse } from 'csv-parse/sync';
import { type CsvDialect, detectDialect } from './csv-dialect.js';

/** Most lines of a table, those inside quoted cells included. */
export const maxCsvLines = 100_000;

/** A CSV text split into cells; nothing in them is understood yet. */
export interface CsvCells {
  readonly dialect: CsvDialect;
  readonly header: readonly string[];
  readonly headerLine: number;
  readonly rows: readonly { readonly line: number; readonly cells: readonly string[] }[];
  readonly problems: readonly Problem[];
}

/** What csv-parse adds to its errors: records read before, and the index of the cell. */
interface CsvFailure extends Error {
  readonly code?: string;
  readonly records?: number;
  readonly column?: number;
}

interface RawRecord {
  readonly info: { readonly lines: number };
  readonly record: readonly string[];
}

/**
 * Splits a CSV text (RFC 4180, any line end, `;` `,` or tab) into trimmed cells with the line on
 * which each row starts. Blank lines are left out. Cells stay text.
 */
export function readCsvCells(text: string, file: string): CsvCells {
  // quoted line ends included: a row's line number must count the same for LF, CRLF and CR
  const lines = text.replace(/\r\n?/g, '\n');
  const lineCount = lines.split('\n', maxCsvLines + 2).length;
  const dialect = detectDialect(lineCount > maxCsvLines + 1 ? '' : lines);
  const empty = { dialect, header: [], headerLine: 1, rows: [] };
  if (lineCount > maxCsvLines + 1) {
    const place = { file, line: maxCsvLines + 1 };
    const accept = `at most ${maxCsvLines} lines`;
    return {
      ...empty,
      problems: [{ code: 'too-large', place, message: 'the table has too many lines', accept }],
    };
  }
  try {
    const rows = recordsOf(lines, dialect)
      .filter(({ cells }) => cells.some((cell) => cell !== ''))
      .filter(({ line }) => line > dialect.skipLines);
    const [first, ...rest] = rows;
    if (first === undefined) {
      const place = { file, line: 1 };
      const message = 'the table is empty';
      return {
        ...empty,
        problems: [{ code: 'csv-header', place, message, accept: 'a row of column names' }],
      };
    }
    return { dialect, header: first.cells, headerLine: first.line, rows: rest, problems: [] };
  } catch (error) {
    if (!(error instanceof Error)) throw error;
    return { ...empty, problems: [syntaxProblem(error, lines, dialect, file)] };
  }
}

interface Row {
  readonly line: number;
  readonly cells: readonly string[];
}

/**
 * Strict quoting first. A quote inside an unquoted cell (`0.8"`, inches) is then let through, but a
 * cell that still begins with a quote was quoted wrongly and may have swallowed others.
 */
function recordsOf(text: string, dialect: CsvDialect): readonly Row[] {
  try {
    return numbered(split(text, dialect, false));
  } catch (error) {
    if (!(error instanceof Error) || !('code' in error) || error.code !== 'INVALID_OPENING_QUOTE')
      throw error;
  }
  const rows = numbered(split(text, dialect, true));
  for (const { line, cells } of rows) {
    const column = cells.findIndex((cell) => cell.startsWith('"'));
    if (column >= 0) throw new QuoteFault(line, column, cells[column] ?? '');
  }
  return rows;
}

class QuoteFault extends Error {
  readonly line: number;
  readonly cell: number;
  readonly seen: string;
  constructor(line: number, cell: number, seen: string) {
    super('a quoted cell goes on after its closing quote');
    this.line = line;
    this.cell = cell;
    this.seen = seen;
  }
}

function split(text: string, dialect: CsvDialect, relaxQuotes: boolean, to = -1): RawRecord[] {
  return parse(text, {
    bom: true,
    delimiter: dialect.delimiter,
    record_delimiter: '\n',
    info: true,
    relax_column_count: true,
    relax_quotes: relaxQuotes,
    trim: true,
    ...(to < 0 ? {} : { to }),
  }) as unknown as RawRecord[];
}

/** The reader tells the last line of a record; the first is the one after the record before. */
function numbered(records: readonly RawRecord[]): readonly Row[] {
  return records.map(({ record }, index) => ({
    line: (records[index - 1]?.info.lines ?? 0) + 1,
    cells: record,
  }));
}

function syntaxProblem(error: Error, text: string, dialect: CsvDialect, file: string): Problem {
  const accept = 'cells in "..." with "" for a quote inside';
  if (error instanceof QuoteFault) {
    const place = { file, line: error.line, column: columnName(text, dialect, error.cell) };
    return { code: 'csv-syntax', place, message: error.message, value: error.seen, accept };
  }
  const { code, records = 0, column = 0 }: CsvFailure = error;
  const before = records === 0 ? [] : split(text, dialect, true, records);
  const line = (before.at(-1)?.info.lines ?? 0) + 1;
  const message =
    code === 'CSV_QUOTE_NOT_CLOSED'
      ? 'a quote is opened and never closed'
      : 'a quoted cell goes on after its closing quote';
  const value = (text.split('\n')[line - 1] ?? '').slice(0, 60);
  const place = { file, line, column: columnName(text, dialect, column) };
  return { code: 'csv-syntax', place, message, value, accept };
}

function columnName(text: string, dialect: CsvDialect, cell: number): string | number {
  const header = (text.split('\n')[dialect.skipLines] ?? '').split(dialect.delimiter);
  return header[cell]?.trim() || cell + 1;
}
