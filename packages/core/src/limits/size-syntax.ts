import type { Decimal } from '../quantity/decimal.js';
import { type Fault, fault, type NumberOptions } from '../quantity/reading.js';
import {
  atEnd,
  atNumber,
  faultHere,
  peek,
  type Scanner,
  take,
  takeDecimal,
} from '../quantity/scanner.js';
import { findUnit, type LengthUnit, lengthUnits } from '../quantity/units.js';
import { type FitCode, parseFitCode } from './fits.js';

/** An unsigned number with the unit written behind it, if any. */
export interface Measure {
  readonly decimal: Decimal;
  readonly unit?: LengthUnit;
  /** Counted from 1. */
  readonly column: number;
}

export interface SignedMeasure extends Measure {
  readonly sign: '+' | '-' | '';
}

export type ToleranceSyntax =
  | { readonly form: 'plus-minus'; readonly value: Measure }
  /** A lone `-` number is a deviation or the second limit: `25 -0.02`, `19.95-20.05`. */
  | { readonly form: 'signed'; readonly first: SignedMeasure; readonly second?: SignedMeasure }
  | { readonly form: 'limits'; readonly second: Measure; readonly slash: boolean }
  | {
      readonly form: 'fit';
      readonly code: FitCode;
      readonly text: string;
      readonly column: number;
    };

/** The parts of a size text, before they mean anything. */
export interface SizeSyntax {
  readonly shape?: 'diameter' | 'radius' | 'spherical-diameter' | 'spherical-radius' | 'square';
  readonly status?: 'theoretical' | 'reference';
  readonly bound?: 'max' | 'min';
  readonly nominal: Measure;
  readonly tolerance?: ToleranceSyntax;
  /** Deviations in figures behind a fit: `25 H7 (+0.021/0)`. */
  readonly fitFigures?: { readonly first: SignedMeasure; readonly second: SignedMeasure };
  /** Unit that stands at the end, behind a fit. */
  readonly trailingUnit?: LengthUnit;
  readonly modifiers: readonly string[];
}

/** What a size may look like, for every fault about its tolerance. */
export const sizeAccept =
  'a size such as 25 H7, 12 ±0.05, 40 +0.1/-0, 19.95-20.05, max 5, R5 or M8-6H';

const patterns = {
  max: /(?:max\b\.?|maximum\b|≤|<=)/iy,
  min: /(?:min\b\.?|minimum\b|≥|>=)/iy,
  sphericalDiameter: /S\s?⌀/y,
  sphericalRadius: /SR(?![A-Za-z])/y,
  radius: /R(?![A-Za-z])/y,
  diameter: /⌀|dia(?:meter)?(?![A-Za-z])\.?/iy,
  square: /□|SQ(?![A-Za-z])/y,
  theoretical: /(?:TED|BASIC|BSC)(?![A-Za-z])/y,
  reference: /REF(?![A-Za-z])\.?/y,
  plusMinus: /±|\+\s?\/?\s?-|-\s?\/\s?\+/y,
  limitMark: /\.{2,3}|to(?![A-Za-z])|\//y,
  fit: /[A-Za-z]{1,2}\d{1,2}(?![\w.])/y,
  fitPair: /[A-Za-z]{1,2}\d{1,2}\s*\/\s*[A-Za-z]{1,2}\d/y,
  modifier:
    /([ⒺⒻ])|\(\s*(E|F|LP|LS|GG|GX|GN|CC|CA|CV|SX|SN|SA|SM|SD|SQ|CT)\s*\)|(LP|LS|GG|GX|GN|CC|CA|CV|SX|SN|SA|SM|SD|SQ|CT)(?![A-Za-z0-9])/y,
  word: /[A-Za-zµ]+(?![\w])\.?|"/y,
  signed: /[+-]\s*[\d.,]|0(?:[.,]0*)?(?=\s*[/\s+-])/y,
} as const;

const isFault = (value: object): value is Fault => 'ok' in value;

function takeUnit(scanner: Scanner): LengthUnit | undefined {
  const word = peek(scanner, patterns.word)?.[0];
  if (word === undefined) return undefined;
  const unit = findUnit(lengthUnits, word) ?? findUnit(lengthUnits, word.replace('.', ''));
  if (unit !== undefined) take(scanner, patterns.word);
  return unit;
}

/** Reads an unsigned number and the unit behind it. */
export function takeMeasure(scanner: Scanner, options: NumberOptions): Measure | Fault {
  const column = scanner.at + 1;
  const decimal = takeDecimal(scanner, options);
  if (isFault(decimal)) return decimal;
  const unit = takeUnit(scanner);
  return { decimal, column, ...(unit === undefined ? {} : { unit }) };
}

function takeSigned(scanner: Scanner, options: NumberOptions): SignedMeasure | Fault {
  const column = scanner.at + 1;
  const mark = take(scanner, /[+-]/y)?.[0];
  const measure = takeMeasure(scanner, options);
  if (isFault(measure)) return measure;
  if (mark === '+' || mark === '-') return { ...measure, column, sign: mark };
  return measure.decimal.value === 0
    ? { ...measure, sign: '' }
    : fault(column, 'a deviation other than 0 needs its sign', '+ or - before the number');
}

interface SignedPair {
  readonly first: SignedMeasure;
  readonly second?: SignedMeasure;
}

/** One or two signed numbers: `+0.1/-0`, `-0.02 -0.041`, `0/-0.1`, `-20.05`. */
function takeSignedPair(scanner: Scanner, options: NumberOptions): SignedPair | Fault {
  const first = takeSigned(scanner, options);
  if (isFault(first)) return first;
  const slash = take(scanner, /[/;]/y) !== undefined;
  if (!slash && peek(scanner, /[+\-\d.]/y) === undefined) return { first };
  const second = takeSigned(scanner, options);
  return isFault(second) ? second : { first, second };
}

function takeShape(scanner: Scanner): SizeSyntax['shape'] {
  if (take(scanner, patterns.sphericalDiameter)) return 'spherical-diameter';
  if (take(scanner, patterns.diameter)) return 'diameter';
  if (take(scanner, patterns.sphericalRadius)) return 'spherical-radius';
  if (take(scanner, patterns.square)) return 'square';
  return take(scanner, patterns.radius) ? 'radius' : undefined;
}

function takeBound(scanner: Scanner): SizeSyntax['bound'] {
  if (take(scanner, patterns.max)) return 'max';
  return take(scanner, patterns.min) ? 'min' : undefined;
}

function takeTolerance(
  scanner: Scanner,
  options: NumberOptions,
): ToleranceSyntax | Fault | undefined {
  if (take(scanner, patterns.plusMinus)) {
    const value = takeMeasure(scanner, options);
    return isFault(value) ? value : { form: 'plus-minus', value };
  }
  if (peek(scanner, patterns.signed)) {
    const pair = takeSignedPair(scanner, options);
    return isFault(pair) ? pair : { form: 'signed', ...pair };
  }
  const mark = take(scanner, patterns.limitMark);
  if (mark !== undefined) {
    const second = takeMeasure(scanner, options);
    return isFault(second) ? second : { form: 'limits', second, slash: mark[0] === '/' };
  }
  if (peek(scanner, patterns.fitPair))
    return faultHere(
      scanner,
      'a pair of fits is about two parts',
      'the fit of this part alone: H7 for the hole or g6 for the shaft',
    );
  const fit = peek(scanner, patterns.fit);
  if (fit === undefined) return undefined;
  const code = parseFitCode(fit[0]);
  if (code === undefined)
    return faultHere(
      scanner,
      'this is not a tolerance class',
      'letters and a grade 01, 0 or 1 to 18, such as H7 or js6',
    );
  const column = scanner.at + 1;
  take(scanner, patterns.fit);
  return { form: 'fit', code, text: fit[0], column };
}

function takeFitFigures(
  scanner: Scanner,
  options: NumberOptions,
): SizeSyntax['fitFigures'] | Fault {
  const opened = take(scanner, /\((?=\s*(?:[+-]|0\b))/y) !== undefined;
  if (peek(scanner, patterns.signed) === undefined) return undefined;
  const pair = takeSignedPair(scanner, options);
  if (isFault(pair)) return pair;
  const { first, second } = pair;
  if (second === undefined)
    return faultHere(scanner, 'the second deviation is missing', 'both, such as +0.021/0');
  if (opened && !take(scanner, /\)/y))
    return faultHere(scanner, 'the parenthesis is not closed', ')');
  return { first, second };
}

/** Reads a size text (not a thread) to its end. */
export function readSizeSyntax(scanner: Scanner, options: NumberOptions): SizeSyntax | Fault {
  const opener = take(scanner, /[[(]/y)?.[0];
  let status: SizeSyntax['status'];
  if (opener !== undefined) status = opener === '[' ? 'theoretical' : 'reference';
  let bound = takeBound(scanner);
  let shape = takeShape(scanner);
  bound ??= takeBound(scanner);
  if (atEnd(scanner)) return faultHere(scanner, 'the size is missing', sizeAccept);
  if (!atNumber(scanner)) return faultHere(scanner, 'a number is expected here', sizeAccept);
  const nominal = takeMeasure(scanner, options);
  if (isFault(nominal)) return nominal;
  if (opener !== undefined && !take(scanner, opener === '[' ? /\]/y : /\)/y))
    return faultHere(
      scanner,
      `the ${status} size is not closed`,
      opener === '[' ? 'a number and ]' : 'a number and )',
    );
  let tolerance: ToleranceSyntax | undefined;
  let fitFigures: SizeSyntax['fitFigures'];
  let trailingUnit: LengthUnit | undefined;
  const modifiers: string[] = [];
  while (!atEnd(scanner)) {
    const start = scanner.at;
    const modifier = take(scanner, patterns.modifier);
    if (modifier !== undefined) {
      const [, circled, bracketed, bare] = modifier;
      modifiers.push(circled === undefined ? (bracketed ?? bare ?? '') : plainModifier(circled));
      continue;
    }
    if (bound === undefined && tolerance === undefined) bound = takeBound(scanner);
    if (shape === undefined && take(scanner, patterns.diameter)) shape = 'diameter';
    if (status === undefined && take(scanner, patterns.theoretical)) status = 'theoretical';
    if (status === undefined && take(scanner, patterns.reference)) status = 'reference';
    if (scanner.at > start) continue;
    if (tolerance === undefined) {
      const found = takeTolerance(scanner, options);
      if (found !== undefined && isFault(found)) return found;
      tolerance = found;
      if (found?.form === 'fit') {
        const figures = takeFitFigures(scanner, options);
        if (figures !== undefined && isFault(figures)) return figures;
        fitFigures = figures;
      }
    }
    trailingUnit ??= takeUnit(scanner);
    if (scanner.at === start) return surplus(scanner, tolerance !== undefined);
  }
  return {
    ...(shape === undefined ? {} : { shape }),
    ...(status === undefined ? {} : { status }),
    ...(bound === undefined ? {} : { bound }),
    nominal,
    ...(tolerance === undefined ? {} : { tolerance }),
    ...(fitFigures === undefined ? {} : { fitFigures }),
    ...(trailingUnit === undefined ? {} : { trailingUnit }),
    modifiers,
  };
}

const plainModifier = (circled: string): string => (circled === 'Ⓔ' ? 'E' : 'F');

function surplus(scanner: Scanner, toleranced: boolean): Fault {
  return toleranced
    ? faultHere(scanner, 'something stands after the tolerance', 'one size with one tolerance')
    : faultHere(scanner, 'this is not a tolerance', sizeAccept);
}
