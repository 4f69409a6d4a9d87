import {
  equivalentGrade,
  fitLimits,
  fundamentalDeviationUm,
  InputError,
  type ToleranceGrade,
  toleranceGradeUm,
  toleranceOfGradeUm,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { cell, readTable } from './read-table.js';

const allGrades: readonly ToleranceGrade[] = ['01', ...Array.from({ length: 19 }, (_, n) => n)];
const gradeRows = readTable('iso286-grades');
const deviationRows = readTable('iso286-deviations');

/** Sizes that must fall in the step: just over the lower limit, inside, and the upper limit. */
function sizesOf(row: Readonly<Record<string, string>>): readonly number[] {
  const over = Number(cell(row, 'over_mm'));
  const upTo = Number(cell(row, 'up_to_mm'));
  return [over + 0.001, (over + upTo) / 2, upTo];
}

describe('ISO 286-1 table 1: standard tolerance grades', () => {
  test('every cell of the table, at both ends of its step and inside', () => {
    let cells = 0;
    for (const row of gradeRows)
      for (const grade of allGrades) {
        const text = cell(row, `IT${grade}_um`);
        for (const size of sizesOf(row)) {
          if (text === '') expect(() => toleranceGradeUm(size, grade)).toThrow(InputError);
          else expect(toleranceGradeUm(size, grade), `IT${grade} at ${size} mm`).toBe(Number(text));
        }
        if (text !== '') cells++;
      }
    // 21 steps x 18 grades, and IT01 and IT0 (from memory) for the 13 steps up to 500 mm
    expect(cells).toBe(21 * 18 + 13 * 2);
  });

  test.each([0, -1, 3150.001, Number.NaN, Number.POSITIVE_INFINITY])(
    'no grade for a size of %s mm',
    (size) => {
      expect(() => toleranceGradeUm(size, 7)).toThrow(/over 0 mm up to 3150 mm/);
    },
  );

  test.each([-1, 19, 7.5, Number.NaN])('no grade %s', (grade) => {
    expect(() => toleranceGradeUm(25, grade)).toThrow(/a grade 01, 0 or 1 to 18/);
  });

  test('equivalent grade is exact at every value of IT1 to IT18, and its inverse too', () => {
    for (const row of gradeRows)
      for (let grade = 1; grade <= 18; grade++) {
        const size = Number(cell(row, 'up_to_mm'));
        const um = Number(cell(row, `IT${grade}_um`));
        expect(equivalentGrade(size, um)).toBe(grade);
        expect(toleranceOfGradeUm(size, grade)).toBe(um);
      }
  });
});

/** The grades that a row of the deviation table is about. */
function gradesOf(text: string): readonly ToleranceGrade[] {
  const number = (grade: ToleranceGrade): number => (grade === '01' ? -1 : grade);
  const matches = (grade: ToleranceGrade): boolean =>
    text.split(' or ').some((part) => {
      const [, sign, low, high] = /^(>=|<=)?IT(\d+)(?:-IT(\d+))?$/.exec(part) ?? [];
      if (low === undefined) throw new Error(`unknown grades ${text}`);
      if (sign === '>=') return number(grade) >= Number(low);
      if (sign === '<=') return number(grade) <= Number(low);
      return number(grade) >= Number(low) && number(grade) <= Number(high ?? low);
    });
  return text === 'all' ? allGrades : allGrades.filter(matches);
}

describe('ISO 286-1 fundamental deviations up to 500 mm', () => {
  const classes = [...new Set(deviationRows.map((row) => cell(row, 'letter')))];
  let checked = 0;

  test.each(classes)('every row of %s', (letters) => {
    for (const row of deviationRows.filter((candidate) => cell(candidate, 'letter') === letters)) {
      const side = cell(row, 'deviation');
      const value = cell(row, 'value_um');
      for (const grade of gradesOf(cell(row, 'grades')))
        for (const size of sizesOf(row)) {
          const it = toleranceGradeUm(size, grade);
          const what = `${size} ${letters}${grade}`;
          const { upperDeviationUm, lowerDeviationUm } = fitLimits(size, `${letters}${grade}`);
          expect(upperDeviationUm - lowerDeviationUm, what).toBeCloseTo(it, 9);
          if (value === '+-IT/2') {
            expect([upperDeviationUm, lowerDeviationUm], what).toEqual([it / 2, -it / 2]);
            expect(fundamentalDeviationUm(size, letters, grade)).toBe(it / 2);
          } else {
            const upper = side.toLowerCase() === 'es';
            expect(upper ? upperDeviationUm : lowerDeviationUm, what).toBe(Number(value));
            expect(fundamentalDeviationUm(size, letters, grade), what).toBe(Number(value));
          }
        }
      checked++;
    }
  });

  test('no row was left out', () => {
    expect(checked).toBe(deviationRows.length);
    expect(deviationRows).toHaveLength(1476);
  });
});

describe('check values of fits and grades', () => {
  test.each([
    ['IT7 over 30 up to 50 mm (ISO 286-1 table 1)', toleranceGradeUm(40, 7), 25],
    ['IT14 at 10 mm (ISO 286-1 table 1)', toleranceGradeUm(10, 14), 360],
    ['IT14 at 100 mm (ISO 286-1 table 1)', toleranceGradeUm(100, 14), 870],
    ['IT6 over 80 up to 120 mm (ISO 286-1 table 1)', toleranceGradeUm(100, 6), 22],
    ['IT11 over 3 up to 6 mm, not 10 x IT6 (ISO 286-1 table 1)', toleranceGradeUm(5, 11), 75],
    ['IT8 over 500 up to 630 mm (ISO 286-1 table 1)', toleranceGradeUm(600, 8), 110],
    [
      'IT5 over 2500 up to 3150 mm (one of two readings; the other has 98)',
      toleranceGradeUm(3000, 5),
      96,
    ],
    [
      'P7 over 18 up to 30 mm: ES (ISO 286-1, base -22, delta 8)',
      fundamentalDeviationUm(25, 'P', 7),
      -14,
    ],
    [
      'M6 over 250 up to 315 mm: ES, irregular (ISO 286-1)',
      fundamentalDeviationUm(300, 'M', 6),
      -9,
    ],
    [
      '50 H7: upper limit (worked example, machine-design textbook data)',
      fitLimits(50, 'H7').upperMm,
      50.025,
    ],
    [
      '50 H7: lower limit (worked example, machine-design textbook data)',
      fitLimits(50, 'H7').lowerMm,
      50,
    ],
    [
      '50 s6: upper limit (worked example, machine-design textbook data)',
      fitLimits(50, 's6').upperMm,
      50.059,
    ],
    [
      '50 s6: lower limit (worked example, machine-design textbook data)',
      fitLimits(50, 's6').lowerMm,
      50.043,
    ],
    [
      '132.5 H6: upper limit (worked example, tolerance note)',
      fitLimits(132.5, 'H6').upperMm,
      132.525,
    ],
    ['n shaft over 30 up to 50 mm: ei (ISO 286-1)', fundamentalDeviationUm(40, 'n', 6), 17],
    ['s shaft over 160 up to 180 mm: ei (ISO 286-1)', fundamentalDeviationUm(170, 's', 6), 108],
    ['K7 over 6 up to 10 mm: ES (derived: base -1, delta 6)', fundamentalDeviationUm(8, 'K', 7), 5],
    [
      'N7 over 18 up to 24 mm: ES (derived from base and delta)',
      fundamentalDeviationUm(20, 'N', 7),
      -7,
    ],
  ])('%s', (_what, computed, expected) => {
    expect(computed).toBe(expected);
  });
});

describe('ISO 286-1 tolerance units agree with the table', () => {
  const mean = (over: number, upTo: number): number => Math.sqrt(over * upTo);

  test('i = 0.45 D^(1/3) + 0.001 D: 1.561 um over 30 up to 50 mm, 16 i = 24.98 (IT7 25)', () => {
    const d = mean(30, 50);
    const i = 0.45 * Math.cbrt(d) + 0.001 * d;
    expect(i).toBeCloseTo(1.561, 3);
    expect(16 * i).toBeCloseTo(24.98, 2);
    expect(Math.round(16 * i)).toBe(toleranceGradeUm(40, 7));
  });

  test('I = 0.004 D + 2.1 (from memory): 4.345 um over 500 up to 630 mm; 10 I = 43.4, table 44', () => {
    const unit = 0.004 * mean(500, 630) + 2.1;
    expect(unit).toBeCloseTo(4.345, 3);
    expect(10 * unit).toBeCloseTo(43.4, 1);
    expect(toleranceGradeUm(600, 6)).toBe(44);
  });

  test('IT12 to IT18 are ten times IT7 to IT13 in every step', () => {
    for (const row of gradeRows)
      for (let grade = 12; grade <= 18; grade++) {
        const size = Number(cell(row, 'up_to_mm'));
        const fine = Number(cell(row, `IT${grade - 5}_um`));
        expect(toleranceGradeUm(size, grade)).toBe(10 * fine);
      }
  });

  test('16 i and 25 i lie within 1.5 um of IT7 and IT8 from 3 to 500 mm', () => {
    for (const row of gradeRows.slice(1, 13)) {
      const d = mean(Number(cell(row, 'over_mm')), Number(cell(row, 'up_to_mm')));
      const i = 0.45 * Math.cbrt(d) + 0.001 * d;
      expect(Math.abs(16 * i - Number(cell(row, 'IT7_um')))).toBeLessThan(1.5);
      expect(Math.abs(25 * i - Number(cell(row, 'IT8_um')))).toBeLessThan(1.5);
    }
  });
});

describe('fits that the standard or the table does not have', () => {
  test.each([
    [25, 'K9', /K3 to K8/],
    [25, 'K2', /delta/],
    [600, 'g6', /up to 500 mm/],
    [25, 'Js7', /JS for a hole or js for a shaft/],
    [25, 'x8', /not in the table of this library/],
    [25, 'i7', /not a fundamental deviation/],
    [25, 'H19', /tolerance class/],
    [25, '7H', /tolerance class/],
    [0, 'H7', /over 0 mm/],
  ])('%s %s', (size, fit, message) => {
    expect(() => fitLimits(size, fit)).toThrow(message);
  });

  test.each([
    [2000, 'H7', 150, 0],
    [2000, 'h7', 0, -150],
    [2000, 'JS7', 75, -75],
  ])('%s %s follows from the grade alone', (size, fit, upperUm, lowerUm) => {
    expect(fitLimits(size, fit)).toMatchObject({
      upperDeviationUm: upperUm,
      lowerDeviationUm: lowerUm,
    });
  });
});
