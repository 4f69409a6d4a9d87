import { type Iso286GradesRow, iso286Grades } from '../catalog/generated/iso286-grades.js';
import type { Finding } from '../problems/finding.js';
import { fault, type Reading, read } from '../quantity/reading.js';
import { valueOrThrow } from './fault-error.js';

/** An ISO 286-1 standard tolerance grade: 7 is IT7, '01' the finest. */
export type ToleranceGrade = '01' | number;

/** Largest size of the ISO 286-1 grade table, mm. */
export const largestGradedSizeMm = 3150;

function gradeValues(row: Iso286GradesRow): readonly number[] {
  return [
    row.it1Um,
    row.it2Um,
    row.it3Um,
    row.it4Um,
    row.it5Um,
    row.it6Um,
    row.it7Um,
    row.it8Um,
    row.it9Um,
    row.it10Um,
    row.it11Um,
    row.it12Um,
    row.it13Um,
    row.it14Um,
    row.it15Um,
    row.it16Um,
    row.it17Um,
    row.it18Um,
  ];
}

/** IT1 to IT18 of each size step, um. */
const steps: readonly { readonly row: Iso286GradesRow; readonly itUm: readonly number[] }[] =
  iso286Grades.map((row) => ({ row, itUm: gradeValues(row) }));

function findStep(nominalMm: number): Reading<(typeof steps)[number]> {
  // Steps are "over the lower, up to and including the upper size".
  const step = steps.find(({ row }) => nominalMm > row.overMm && nominalMm <= row.upToMm);
  return step === undefined
    ? fault(
        1,
        `ISO 286-1 has no tolerance grades for a size of ${nominalMm} mm`,
        `a size over 0 mm up to ${largestGradedSizeMm} mm`,
      )
    : read(step);
}

const gradeAccept = 'a grade 01, 0 or 1 to 18';

/** The table cell with what the standard says about its use. */
export function readGrade(nominalMm: number, grade: ToleranceGrade): Reading<number> {
  const step = findStep(nominalMm);
  if (!step.ok) return step;
  const { row, itUm } = step.value;
  if (grade === '01' || grade === 0) {
    const value = grade === 0 ? row.it0Um : row.it01Um;
    return value === undefined
      ? fault(1, `ISO 286-1 has no IT${grade} over 500 mm`, 'a grade 1 to 18, or a smaller size')
      : read(value);
  }
  const value = Number.isInteger(grade) ? itUm[grade - 1] : undefined;
  if (value === undefined) return fault(1, `there is no tolerance grade IT${grade}`, gradeAccept);
  const findings: Finding[] = [];
  if (grade >= 14 && nominalMm <= 1)
    findings.push({
      id: 'grade-not-for-small-size',
      severity: 'warning',
      message: `IT${grade} is not used for sizes up to 1 mm`,
      source: 'ISO 286-1',
    });
  return read(value, findings);
}

/**
 * Standard tolerance of a size, um, from the ISO 286-1 table (sizes over 0 up to 3150 mm; 01 and 0
 * up to 500 mm). The table counts, not the formula behind it: rounding differs in some cells.
 *
 * @param nominalMm nominal size, mm
 * @param grade '01', 0 or 1 to 18
 * @throws InputError when the size or the grade lies outside the table
 * @example
 * toleranceGradeUm(40, 7) // -> 25
 */
export function toleranceGradeUm(nominalMm: number, grade: ToleranceGrade): number {
  return valueOrThrow(readGrade(nominalMm, grade), 'out-of-range', `IT${grade} at ${nominalMm} mm`);
}

const at = (values: readonly number[], index: number): number => values[index] ?? Number.NaN;

/**
 * Grade, in general fractional, whose tolerance at this size is `toleranceUm`: log(IT) is
 * interpolated linearly between the grades IT1 to IT18 of the size step, and continued at the slope
 * of the first or last interval outside them (so the result may be below 1 or above 18). Exact at
 * the table's values; rises with the tolerance.
 *
 * @param nominalMm nominal size, over 0 up to 3150 mm
 * @param toleranceUm whole width of the tolerance, um, over 0
 * @throws InputError when the size lies outside the table or the tolerance is not over 0
 * @example
 * equivalentGrade(40, 25) // -> 7
 */
export function equivalentGrade(nominalMm: number, toleranceUm: number): number {
  const { itUm } = valueOrThrow(findStep(nominalMm), 'out-of-range', `${nominalMm} mm`);
  if (!(toleranceUm > 0 && Number.isFinite(toleranceUm)))
    valueOrThrow(
      fault(1, 'the tolerance has no width', 'a tolerance over 0 um'),
      'out-of-range',
      `${toleranceUm} um`,
    );
  let lower = 0;
  while (lower < itUm.length - 2 && toleranceUm >= at(itUm, lower + 1)) lower++;
  const low = at(itUm, lower);
  const ratio = at(itUm, lower + 1) / low;
  return lower + 1 + Math.log(toleranceUm / low) / Math.log(ratio);
}

/**
 * Tolerance of a fractional grade, um: the inverse of `equivalentGrade`.
 *
 * @param nominalMm nominal size, over 0 up to 3150 mm
 * @param grade fractional grade, -20 to 40
 * @throws InputError when the size lies outside the table or the grade outside -20 to 40
 * @example
 * toleranceOfGradeUm(40, 7.5) // -> ~31.225
 */
export function toleranceOfGradeUm(nominalMm: number, grade: number): number {
  const { itUm } = valueOrThrow(findStep(nominalMm), 'out-of-range', `${nominalMm} mm`);
  if (!(grade >= -20 && grade <= 40))
    valueOrThrow(
      fault(1, 'the grade is out of range', 'a grade from -20 to 40'),
      'out-of-range',
      `${grade}`,
    );
  if (grade === itUm.length) return at(itUm, itUm.length - 1);
  const lower = Math.min(Math.max(Math.floor(grade) - 1, 0), itUm.length - 2);
  const low = at(itUm, lower);
  return low * (at(itUm, lower + 1) / low) ** (grade - lower - 1);
}
