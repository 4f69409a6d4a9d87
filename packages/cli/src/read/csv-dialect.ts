/** How a CSV text is written. */
export interface CsvDialect {
  readonly delimiter: ';' | ',' | '\t';
  /** Numbers are written `12,5`. Never true when the delimiter is a comma. */
  readonly decimalComma: boolean;
  /** Lines before the header: the `sep=;` that some spreadsheets write. */
  readonly skipLines: number;
}

const delimiters = [';', '\t', ','] as const;
/** Columns in which a comma between digits is no number. */
const textColumn = /^["\s]*(id|name|notes?)\b/i;

/**
 * Decides delimiter and decimal mark together: the delimiter is what splits the header into most
 * cells; a comma can then be the decimal mark only if it is not the delimiter, and is when a cell
 * outside the text columns has one between two digits.
 */
export function detectDialect(text: string): CsvDialect {
  const lines = text.split('\n');
  const given = /^sep=([;,\t])\s*$/i.exec(lines[0] ?? '');
  const skipLines = given === null ? 0 : 1;
  const at = lines.findIndex((line, index) => index >= skipLines && line.trim() !== '');
  const header = lines[at] ?? '';
  let delimiter: CsvDialect['delimiter'] = ',';
  let most = 0;
  for (const candidate of delimiters) {
    const count = splitOutsideQuotes(header, candidate).length - 1;
    if (count > most) {
      delimiter = candidate;
      most = count;
    }
  }
  const named = delimiters.find((candidate) => candidate === given?.[1]);
  if (named !== undefined) delimiter = named;
  const decimalComma = delimiter !== ',' && hasDecimalComma(lines.slice(at + 1), header, delimiter);
  return { delimiter, decimalComma, skipLines };
}

function hasDecimalComma(lines: readonly string[], header: string, delimiter: string): boolean {
  const names = splitOutsideQuotes(header, delimiter);
  return lines.some((line) =>
    splitOutsideQuotes(line, delimiter).some(
      (cell, index) => /\d,\d/.test(cell) && !textColumn.test(names[index] ?? ''),
    ),
  );
}

function splitOutsideQuotes(line: string, delimiter: string): readonly string[] {
  const cells = [''];
  let quoted = false;
  for (const character of line) {
    if (character === '"') quoted = !quoted;
    if (character === delimiter && !quoted) cells.push('');
    else cells[cells.length - 1] += character;
  }
  return cells;
}
