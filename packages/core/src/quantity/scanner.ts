import { type Decimal, scanDecimal } from './decimal.js';
import { type Fault, fault, type NumberOptions } from './reading.js';
import { plainText, skipSpaces } from './text.js';

/** A position in a text that moves forward as parts of it are understood. */
export interface Scanner {
  readonly text: string;
  at: number;
}

export function scannerOf(text: string): Scanner {
  const plain = plainText(text);
  return { text: plain, at: skipSpaces(plain, 0) };
}

/** The match of a pattern with the sticky flag at the position, which moves behind it and spaces. */
export function take(scanner: Scanner, pattern: RegExp): RegExpExecArray | undefined {
  const found = peek(scanner, pattern);
  if (found !== undefined) scanner.at = skipSpaces(scanner.text, scanner.at + found[0].length);
  return found;
}

/** As `take`, without moving. */
export function peek(scanner: Scanner, pattern: RegExp): RegExpExecArray | undefined {
  pattern.lastIndex = scanner.at;
  return pattern.exec(scanner.text) ?? undefined;
}

/** The unsigned number at the position, which moves behind it and the spaces after it. */
export function takeDecimal(scanner: Scanner, options: NumberOptions): Decimal | Fault {
  const decimal = scanDecimal(scanner.text, scanner.at, options);
  if (!('ok' in decimal)) scanner.at = skipSpaces(scanner.text, decimal.end);
  return decimal;
}

export function atNumber(scanner: Scanner): boolean {
  return peek(scanner, /[\d.,]/y) !== undefined;
}

export function atEnd({ text, at }: Scanner): boolean {
  return at >= text.length;
}

/** A fault at the position. */
export function faultHere({ at }: Scanner, message: string, accept: string): Fault {
  return fault(at + 1, message, accept);
}
