import type { Finding } from '../problems/finding.js';
import { scaleDecimal } from '../quantity/decimal.js';
import { type Fault, fault, type NumberOptions, type Reading, read } from '../quantity/reading.js';
import { atEnd, atNumber, faultHere, type Scanner, scannerOf, take } from '../quantity/scanner.js';
import { checkLength } from '../quantity/text.js';
import { lengthUnits } from '../quantity/units.js';
import { takeKind } from './geometric-names.js';
import type { DatumReference, GeometricKind, GeometricTolerance } from './geometric-types.js';
import { tidyMm } from './size-limits.js';
import { takeMeasure } from './size-syntax.js';

const accept =
  'a characteristic, a number and datums, such as position ⌀0.05 A B, flatness 0.02, runout 0.05 A';

export interface GeometricOptions extends NumberOptions {
  /** Unit of a number without a unit; mm when absent. */
  readonly defaultUnit?: 'mm' | 'in';
}

const form: ReadonlySet<GeometricKind> = new Set([
  'flatness',
  'straightness',
  'roundness',
  'cylindricity',
]);
const needsDatum: ReadonlySet<GeometricKind> = new Set([
  'perpendicularity',
  'parallelism',
  'angularity',
  'coaxiality',
  'symmetry',
  'runout',
  'total-runout',
]);

type Condition = 'MMC' | 'LMC' | undefined;

/** `Ⓜ`, `(M)`, `MMC` and their L and S (regardless of size) relatives. */
function takeCondition(scanner: Scanner): { readonly condition: Condition } | undefined {
  const found = take(scanner, /Ⓜ|Ⓛ|Ⓢ|\(\s*[MLS]\s*\)|(?:MMC|LMC|MMR|LMR|RFS)(?![A-Za-z])/y)?.[0];
  if (found === undefined) return undefined;
  if (/Ⓢ|S/.test(found)) return { condition: undefined };
  return { condition: /Ⓜ|^\(\s*M|^MM/.test(found) ? 'MMC' : 'LMC' };
}

/** Modifiers of the zone that do not change what the plan needs: projected, free state, CZ ... */
function takeUnusedModifier(scanner: Scanner): string | undefined {
  return take(
    scanner,
    /[ⓅⒻⓊⓉⒺⓇ]\s*(?:\d+(?:\.\d+)?)?|\(\s*[PFUTER]\s*\)\s*(?:\d+(?:\.\d+)?)?|(?:CZ|SZ|UZ|CZR|OZ)(?![A-Za-z])/y,
  )?.[0].trim();
}

function takeDatums(scanner: Scanner): readonly DatumReference[] | Fault {
  const datums: DatumReference[] = [];
  while (!atEnd(scanner)) {
    const barred = take(scanner, /[|,]/y) !== undefined;
    if (barred && atEnd(scanner)) break;
    const column = scanner.at + 1;
    const letter = take(scanner, /\[?([A-Z]{1,2}(?:\s?-\s?[A-Z]{1,2})*)\]?(?![A-Za-z0-9])/y)?.[1];
    if (letter === undefined)
      return faultHere(
        scanner,
        'a datum letter is expected here',
        'capital letters separated by | or a space, such as A|B|C, a common datum A-B, or (M) behind a letter',
      );
    const plain = letter.replaceAll(' ', '');
    if (datums.some((datum) => datum.letter === plain))
      return fault(column, `datum ${plain} is named twice`, 'each datum once');
    if (datums.length === 3)
      return fault(column, 'more than three datums', 'up to three datums, such as A|B|C');
    const condition = takeCondition(scanner)?.condition;
    datums.push({
      letter: plain,
      ...(condition === undefined ? {} : { materialCondition: condition }),
    });
  }
  return datums;
}

function useFindings(
  kind: GeometricKind,
  diametral: boolean,
  unused: readonly string[],
  datums: readonly DatumReference[],
): Finding[] {
  const findings: Finding[] = unused.map((modifier) => ({
    id: 'geometric-modifier-not-used',
    severity: 'note',
    message: `the modifier ${modifier} does not enter the plan`,
    source: 'ISO 1101',
  }));
  if (needsDatum.has(kind) && datums.length === 0)
    findings.push({
      id: 'geometric-datum-missing',
      severity: 'warning',
      message: `${kind} names no datum`,
      source: 'ISO 1101',
    });
  if (diametral && /^(flatness|roundness|profile|runout|total-runout|symmetry)/.test(kind))
    findings.push({
      id: 'geometric-zone-not-round',
      severity: 'warning',
      message: `a round zone is unusual for ${kind}`,
      source: 'ISO 1101',
    });
  return findings;
}

/**
 * Reads a geometric tolerance: the symbol, the English word or a three-letter code, the zone, and
 * the datums: `position 0.05 A B`, `⌖ ⌀0.05 Ⓜ | A | BⓂ | C`, `position dia 0.05 (M) A B(M) C`.
 * `profile` alone is the profile of a surface. A common datum stays one datum: `A-B`.
 *
 * @returns the zone in mm
 * @example
 * parseGeometricTolerance('flatness 0.02').value.valueMm // -> 0.02
 */
export function parseGeometricTolerance(
  text: string,
  options: GeometricOptions = {},
): Reading<GeometricTolerance> {
  const tooLong = checkLength(text);
  if (tooLong !== undefined) return tooLong;
  const scanner = scannerOf(text);
  if (atEnd(scanner)) return faultHere(scanner, 'the tolerance is empty', accept);
  take(scanner, /\|/y);
  const kind = takeKind(scanner);
  if (kind === undefined)
    return faultHere(scanner, 'this is not a geometric characteristic', accept);
  take(scanner, /[|:=]/y);
  const diametral = take(scanner, /S?\s?⌀|dia(?:meter)?(?![A-Za-z])\.?/iy) !== undefined;
  if (!atNumber(scanner)) return faultHere(scanner, 'the width of the zone is missing', accept);
  const measure = takeMeasure(scanner, options);
  if ('ok' in measure) return measure;
  const unit = measure.unit ?? options.defaultUnit ?? 'mm';
  const valueMm = tidyMm(scaleDecimal(measure.decimal, lengthUnits.factors[unit]));
  if (!(valueMm > 0 && valueMm <= 1000))
    return fault(
      measure.column,
      'the width of the zone is out of range',
      'over 0 mm up to 1000 mm',
    );
  let materialCondition: Condition;
  const unused: string[] = [];
  while (!atEnd(scanner)) {
    const condition = takeCondition(scanner);
    if (condition !== undefined) {
      materialCondition = condition.condition;
      continue;
    }
    const modifier = takeUnusedModifier(scanner);
    if (modifier === undefined) break;
    unused.push(modifier);
  }
  const datumsAt = scanner.at;
  const datums = takeDatums(scanner);
  if ('ok' in datums) return datums;
  if (form.has(kind) && datums.length > 0)
    return fault(datumsAt + 1, `${kind} is a tolerance of form and takes no datum`, `${kind} 0.02`);
  return read(
    {
      kind,
      valueMm,
      diametral,
      ...(materialCondition === undefined ? {} : { materialCondition }),
      datums,
      text: text.trim(),
    },
    useFindings(kind, diametral, unused, datums),
  );
}

/**
 * The single letters of the datums of a tolerance, in order, common datums split.
 *
 * @example
 * datumLetters({ datums: [{ letter: 'A-B' }, { letter: 'C' }] }) // -> ["A","B","C"]
 */
export function datumLetters({ datums }: Pick<GeometricTolerance, 'datums'>): readonly string[] {
  return datums.flatMap(({ letter }) => letter.split('-'));
}
