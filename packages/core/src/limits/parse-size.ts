import { fault, type NumberOptions, type Reading, read } from '../quantity/reading.js';
import { atEnd, faultHere, type Scanner, scannerOf, take } from '../quantity/scanner.js';
import { checkLength } from '../quantity/text.js';
import { otherThread, readThread, startsThread } from './parse-thread.js';
import { meaningOfSize } from './size-meaning.js';
import { readSizeSyntax, sizeAccept } from './size-syntax.js';
import type { DrawingSize, GeneralTolerance } from './types.js';

export interface SizeOptions extends NumberOptions {
  /** Unit of numbers without a unit; mm when absent. */
  readonly defaultUnit?: 'mm' | 'in';
  /** General tolerance that fills a size without a tolerance. */
  readonly general?: Pick<GeneralTolerance, 'linear'>;
  /** A thread without a class is a bolt thread (6g) and not a nut thread (6H). */
  readonly externalThread?: boolean;
}

/** `4x`, `4 x`, `4×`: how many alike. A letter x that belongs to a fit (`25 x8`) is none. */
function takeCount(scanner: Scanner): number | undefined {
  const found = take(scanner, /(\d{1,6})(?:[xX]|\s+[xX](?=[\s⌀□RSM[(]))\s*(?=\S)/y);
  return found === undefined ? undefined : Number(found[1]);
}

/**
 * Reads a size as it stands on a drawing: `25 H7`, `10 js6`, `⌀12 ±0.05`, `40 +0.1/-0`,
 * `19.95-20.05`, `max 5`, `R5`, `4x ⌀8 H7`, `[25]` (theoretical), `(25)` (reference), inches
 * (`0.8 in ±0.002`) and ISO metric threads (`M8-6H`). Letter case decides between hole and shaft.
 * Fits follow ISO 286-1, general tolerances ISO 2768-1:1989. What is read differently from how it
 * is written (swapped deviations, an assumed thread class) is a finding. Any text gives a result or
 * a fault with the column and what was expected; nothing is thrown.
 *
 * @returns lengths in mm, deviations in um
 * @example
 * parseSize('40 +0.1/-0').value.size.upperMm // -> 40.1
 */
export function parseSize(text: string, options: SizeOptions = {}): Reading<DrawingSize> {
  const tooLong = checkLength(text);
  if (tooLong !== undefined) return tooLong;
  const scanner = scannerOf(text);
  if (atEnd(scanner)) return faultHere(scanner, 'the size is empty', sizeAccept);
  const written = takeCount(scanner);
  if (written === 0) return fault(1, 'none is no count', 'a count from 1, such as 4x ⌀8 H7');
  const count = written ?? 1;
  const other = otherThread(scanner);
  if (other !== undefined) return other;
  if (startsThread(scanner)) {
    const reading = readThread(scanner, options);
    return 'ok' in reading
      ? reading
      : read({ form: 'thread', thread: reading.thread, count }, reading.findings);
  }
  const syntax = readSizeSyntax(scanner, options);
  if ('ok' in syntax) return syntax;
  const meaning = meaningOfSize(syntax, {
    defaultUnit: options.defaultUnit ?? 'mm',
    ...(options.general === undefined ? {} : { general: options.general }),
  });
  if (!meaning.ok) return meaning;
  const size = {
    ...meaning.value,
    text: text.trim(),
    ...(written === undefined ? {} : { count: written }),
  };
  return read({ form: 'size', size, count }, meaning.findings);
}
