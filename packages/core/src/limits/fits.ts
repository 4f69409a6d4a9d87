import {
  type Iso286DeviationsRow,
  iso286Deviations,
} from '../catalog/generated/iso286-deviations.js';
import type { Finding } from '../problems/finding.js';
import { fault, type Reading, read } from '../quantity/reading.js';
import { valueOrThrow } from './fault-error.js';
import { readGrade, type ToleranceGrade } from './grades.js';
import { limitsFromDeviations } from './size-limits.js';
import type { Deviations, SizeLimits } from './types.js';

/** A tolerance class such as `H7`: letters of the fundamental deviation and grade. */
export interface FitCode {
  readonly letters: string;
  readonly grade: ToleranceGrade;
}

const shaftLetters = ['c', 'd', 'e', 'f', 'g', 'h', 'js', 'k', 'm', 'n', 'p', 'r', 's'];
const otherStandardLetters =
  'a b cd ef fg j t u v x y z za zb zc A B CD EF FG J T U V X Y Z ZA ZB ZC'.split(' ');
const lettersAccept =
  'C D E F G H JS K M N P R S for a hole, c d e f g h js k m n p r s for a shaft';

/** Splits `H7` or `js6`; undefined when the text is no tolerance class. Letter case counts. */
export function parseFitCode(text: string): FitCode | undefined {
  const [, letters, grade] = /^([A-Za-z]{1,2})(01|0|1[0-8]|[1-9])$/.exec(text) ?? [];
  if (letters === undefined || grade === undefined) return undefined;
  return { letters, grade: grade === '01' ? grade : Number(grade) };
}

const shaftColumns: Readonly<
  Record<string, (row: Iso286DeviationsRow, grade: ToleranceGrade) => number | undefined>
> = {
  c: (row) => row.cEsUm,
  d: (row) => row.dEsUm,
  e: (row) => row.eEsUm,
  f: (row) => row.fEsUm,
  g: (row) => row.gEsUm,
  k: (row, grade) =>
    typeof grade === 'number' && grade >= 4 && grade <= 7 ? row.k4K7EiUm : row.kEiUm,
  m: (row) => row.mEiUm,
  n: (row) => row.nEiUm,
  p: (row) => row.pEiUm,
  r: (row) => row.rEiUm,
  s: (row) => row.sEiUm,
};

/** Fundamental deviation of the shaft letter from the table, um: es for a to h, ei for k to zc. */
function shaftDeviation(nominalMm: number, letter: string, grade: ToleranceGrade): Reading<number> {
  if (letter === 'h') return read(0);
  const row = iso286Deviations.find(
    ({ overMm, upToMm }) => nominalMm > overMm && nominalMm <= upToMm,
  );
  const value = row === undefined ? undefined : shaftColumns[letter]?.(row, grade);
  return value === undefined
    ? fault(
        1,
        `the table has no deviation ${letter} for a size of ${nominalMm} mm`,
        'a size up to 500 mm, or H, h, JS, js up to 3150 mm, or the deviations in figures',
      )
    : read(value);
}

/**
 * Holes K to ZC sit on the mirrored shaft deviation, raised by delta = IT(n) - IT(n-1) for fine
 * grades so that hole and shaft basis fits agree (ISO 286-1:1988, 8.4).
 */
function holeDeviation(nominalMm: number, letter: string, grade: ToleranceGrade): Reading<number> {
  const shaft = letter.toLowerCase();
  if (shaft <= 'h') {
    const mirrored = shaftDeviation(nominalMm, shaft, grade);
    return mirrored.ok ? read(0 - mirrored.value) : mirrored;
  }
  const transition = letter === 'K' || letter === 'M' || letter === 'N';
  const number = grade === '01' ? 0 : grade;
  const coarse = number > (transition ? 8 : 7);
  if (nominalMm <= 3 || coarse) {
    if (letter === 'K' && nominalMm > 3)
      return fault(1, 'K is not defined above grade 8 over 3 mm', 'K3 to K8');
    if (letter === 'N' && coarse && nominalMm > 3 && nominalMm <= 500) return read(0);
    // Above grade 7 the shaft deviation k is 0, as is the hole's.
    const mirrored = shaftDeviation(nominalMm, shaft, grade);
    return mirrored.ok ? read(0 - mirrored.value) : mirrored;
  }
  if (number < 3)
    return fault(1, `the table has no delta for ${letter}${grade}`, `${letter}3 or coarser`);
  // The one irregular cell: -9, where the rule gives -11 (ISO 286-1:1988, table 3).
  if (letter === 'M' && grade === 6 && nominalMm > 250 && nominalMm <= 315) return read(-9);
  // The mirrored value is the one of k4 to k7 whatever the hole's grade.
  const mirrored = shaftDeviation(nominalMm, shaft, shaft === 'k' ? 5 : grade);
  const own = readGrade(nominalMm, number);
  const finer = readGrade(nominalMm, number - 1);
  if (!mirrored.ok) return mirrored;
  if (!own.ok) return own;
  if (!finer.ok) return finer;
  return read(own.value - finer.value - mirrored.value);
}

const upper = (text: string): string => text.toUpperCase();

function checkLetters(letters: string): Reading<string> {
  if (shaftLetters.includes(letters) || shaftLetters.map(upper).includes(letters))
    return read(letters);
  if (otherStandardLetters.includes(letters))
    return fault(
      1,
      `the deviation ${letters} is not in the table of this library`,
      `${lettersAccept}; or the deviations in figures, such as 25 +0.021/0`,
    );
  const both = shaftLetters.find((letter) => letter === letters.toLowerCase());
  return fault(
    1,
    `${letters} is not a fundamental deviation of ISO 286-1`,
    both === undefined ? lettersAccept : `${upper(both)} for a hole or ${both} for a shaft`,
  );
}

/** The fundamental deviation: the limit of the tolerance zone that lies nearest to the nominal. */
export function readFundamentalDeviation(
  nominalMm: number,
  { letters, grade }: FitCode,
): Reading<number> {
  const known = checkLetters(letters);
  if (!known.ok) return known;
  const width = readGrade(nominalMm, grade);
  if (!width.ok) return width;
  if (upper(letters) === 'JS') return read(width.value / 2);
  return letters === upper(letters)
    ? holeDeviation(nominalMm, letters, grade)
    : shaftDeviation(nominalMm, letters, grade);
}

/** Both deviations of a tolerance class at a size. */
export function readFit(nominalMm: number, code: FitCode): Reading<Deviations> {
  const fundamental = readFundamentalDeviation(nominalMm, code);
  if (!fundamental.ok) return fundamental;
  const width = readGrade(nominalMm, code.grade);
  if (!width.ok) return width;
  const { letters, grade } = code;
  const findings: Finding[] = [...width.findings];
  if (letters === 'N' && grade !== '01' && grade >= 9 && nominalMm <= 1)
    findings.push({
      id: 'grade-not-for-small-size',
      severity: 'warning',
      message: `N${grade} is not used for sizes up to 1 mm`,
      source: 'ISO 286-1',
    });
  const value = fundamental.value;
  const letter = letters.toLowerCase();
  if (letter === 'js') return read({ upperDeviationUm: value, lowerDeviationUm: -value }, findings);
  // A to H lie above zero, a to h below; from k on the holes lie below and the shafts above.
  const fromBelow = (letters === letter) === letter > 'h';
  return read(
    fromBelow
      ? { upperDeviationUm: value + width.value, lowerDeviationUm: value }
      : { upperDeviationUm: value, lowerDeviationUm: value - width.value },
    findings,
  );
}

const describe = (nominalMm: number, letters: string, grade: ToleranceGrade): string =>
  `${nominalMm} ${letters}${grade}`;

/**
 * Fundamental deviation of ISO 286-1, um: EI for the holes A to H, ES for the holes K to ZC, es for
 * the shafts a to h, ei for the shafts k to zc, and half the tolerance for JS and js. Holes follow
 * from the shaft table by the standard's rule.
 *
 * @param nominalMm nominal size, over 0 up to 500 mm (H, h, JS, js up to 3150 mm)
 * @param letters C to H, JS, K, M, N, P, R, S for a hole; lower case for a shaft
 * @param grade '01', 0 or 1 to 18
 * @throws InputError when the class is not in the table at this size
 * @example
 * fundamentalDeviationUm(20, 'P', 7) // -> -14
 */
export function fundamentalDeviationUm(
  nominalMm: number,
  letters: string,
  grade: ToleranceGrade,
): number {
  return valueOrThrow(
    readFundamentalDeviation(nominalMm, { letters, grade }),
    'out-of-range',
    describe(nominalMm, letters, grade),
  );
}

/**
 * Limits of a size with an ISO 286-1 tolerance class.
 *
 * @param nominalMm nominal size, mm
 * @param fit tolerance class such as `H7` or `js6`; letter case decides hole or shaft
 * @throws InputError when the text is no tolerance class or not in the table at this size
 * @example
 * fitLimits(50, 's6').upperMm // -> 50.059
 */
export function fitLimits(nominalMm: number, fit: string): SizeLimits {
  const code = parseFitCode(fit);
  const reading: Reading<Deviations> =
    code === undefined
      ? fault(1, 'this is not a tolerance class', 'letters and a grade, such as H7 or js6')
      : readFit(nominalMm, code);
  const deviations = valueOrThrow(reading, 'bad-size', `${nominalMm} ${fit}`);
  return limitsFromDeviations(nominalMm, deviations, {
    origin: 'fit',
    fit,
    text: `${nominalMm} ${fit}`,
    diametral: false,
  });
}
