import type { Place } from '../problems/problem.js';
import { parseAngleDeg, parseNumber } from '../quantity/parse-quantity.js';
import type { Reading } from '../quantity/reading.js';
import type { AngleUnit } from '../quantity/units.js';
import type { FeatureField, FeatureRow } from './feature-table.js';
import type { ReadingLog } from './reading-log.js';

const yesWords: ReadonlySet<string> = new Set(['yes', 'y', 'true', '1', 'x']);
const noWords: ReadonlySet<string> = new Set(['no', 'n', 'false', '0']);

/**
 * Turns the text cells of a row into the values that the feature schema wants. Only the form is
 * changed; whether a value is allowed is the schema's business. Cells that cannot be turned are
 * reported and left out; their fields are returned in `faulty`.
 */
export function featureFromCells(
  row: FeatureRow,
  decimalComma: boolean,
  angleUnit: AngleUnit,
  placeOf: (field: FeatureField) => Place,
  log: ReadingLog,
): { readonly input: Readonly<Record<string, unknown>>; readonly faulty: ReadonlySet<string> } {
  const input: Record<string, unknown> = {};
  const faulty = new Set<string>();
  for (const [field, cell] of row.cells) {
    const value = valueOfCell(field, cell, decimalComma, angleUnit);
    if (value instanceof Unreadable) {
      log.problem(value.code, placeOf(field), value.message, cell, value.accept);
      faulty.add(field);
    } else if (value !== undefined) input[field] = value;
  }
  return { input, faulty };
}

class Unreadable {
  readonly code: 'bad-number' | 'not-one-of';
  readonly message: string;
  readonly accept: string;
  constructor(code: 'bad-number' | 'not-one-of', message: string, accept: string) {
    this.code = code;
    this.message = message;
    this.accept = accept;
  }
}

function valueOfCell(
  field: FeatureField,
  cell: string,
  decimalComma: boolean,
  angleUnit: AngleUnit,
): unknown {
  switch (field) {
    case 'kind':
    case 'facing':
      return cell.toLowerCase();
    case 'datum':
      return cell.toUpperCase();
    case 'count':
      return numberOf(parseNumber(cell, { decimalComma }));
    case 'angle':
      return numberOf(parseAngleDeg(cell, { decimalComma, defaultUnit: angleUnit }));
    case 'onAxis':
    case 'concave':
    case 'supported': {
      const word = cell.toLowerCase();
      if (yesWords.has(word)) return true;
      return noWords.has(word) ? false : new Unreadable('not-one-of', 'not yes or no', 'yes | no');
    }
    case 'access':
      return items(cell, /[\s,;|/]+/).map(accessWord);
    case 'tolerances':
      return items(cell, /;|\||\n|\s\/\s/);
    case 'finishes':
      return cell.toLowerCase() === 'none'
        ? []
        : items(cell, /[;,|/\n]/).map((item) => item.toLowerCase());
    default:
      return cell;
  }
}

function items(cell: string, separator: RegExp): string[] {
  return cell
    .split(separator)
    .map((item) => item.trim())
    .filter((item) => item !== '');
}

/**
 * `Z+` for `+z`: spreadsheets take a cell that begins with a sign for a formula. The apostrophe is
 * the mark with which they, and our own tables, keep such a cell a text.
 */
function accessWord(item: string): string {
  const word = item
    .toLowerCase()
    .replace(/^'(?=[+-])/, '')
    .replaceAll('−', '-');
  return /^[xyz][+-]$/.test(word) ? `${word.charAt(1)}${word.charAt(0)}` : word;
}

function numberOf(reading: Reading<number>): number | Unreadable {
  if (reading.ok) return reading.value;
  const message = `${reading.message} (character ${reading.column})`;
  return new Unreadable('bad-number', message, reading.accept);
}
