import {
  type GeneralCharacteristic,
  type GeneralClass,
  generalTolerance2768,
  roughnessGradeRaUm,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { cell, readTable } from './read-table.js';

const rows = readTable('iso2768');

/** Ends of a row: a row without a lower end begins at 0, one without an upper end goes on. */
function sizesOf(row: Readonly<Record<string, string>>): readonly number[] {
  const over = Number(cell(row, 'over_mm'));
  const upTo = cell(row, 'up_to_mm') === '' ? over + 500 : Number(cell(row, 'up_to_mm'));
  const inside = [over + 0.001, (over + upTo) / 2, upTo];
  return over === 0.5 ? [0.5, ...inside] : inside;
}

describe('ISO 2768-1 and -2 (1989)', () => {
  test('every row of tables 1 to 3 of part 1 and 1 to 4 of part 2', () => {
    for (const row of rows)
      for (const size of sizesOf(row)) {
        const found = generalTolerance2768(
          cell(row, 'characteristic') as GeneralCharacteristic,
          cell(row, 'class') as GeneralClass,
          size,
        );
        const value = cell(row, 'value');
        expect(found, `${JSON.stringify(row)} at ${size} mm`).toEqual(
          value === ''
            ? undefined
            : { value: Number(value), unit: cell(row, 'unit'), form: cell(row, 'form') },
        );
      }
    expect(rows).toHaveLength(109);
  });

  test.each([
    ['part 1, linear m, 10 mm', 'linear', 'm', 10, 0.2],
    ['part 1, linear f, 50 mm', 'linear', 'f', 50, 0.15],
    ['part 1, linear v, 200 mm', 'linear', 'v', 200, 2.5],
    ['part 1, angular m, shorter side 60 mm, arcmin', 'angular', 'm', 60, 20],
    ['part 2, flatness K, 100 mm', 'straightness-flatness', 'K', 100, 0.2],
    ['part 2, flatness K, 101 mm', 'straightness-flatness', 'K', 101, 0.4],
    ['part 2, perpendicularity H, 250 mm', 'perpendicularity', 'H', 250, 0.3],
    ['part 2, symmetry L, 150 mm', 'symmetry', 'L', 150, 1],
    ['part 2, circular run-out K', 'circular-runout', 'K', 150, 0.2],
  ] as const)('%s', (_what, characteristic, toleranceClass, size, value) => {
    expect(generalTolerance2768(characteristic, toleranceClass, size)?.value).toBe(value);
  });

  test.each([
    ['below the first step', 'linear', 'm', 0.4],
    ['above 4000 mm', 'linear', 'm', 4001],
    ['class v below 3 mm', 'linear', 'v', 2],
    ['a class of the other part', 'linear', 'K', 10],
    ['size that is no number', 'linear', 'm', Number.NaN],
  ] as const)('no value %s', (_what, characteristic, toleranceClass, size) => {
    expect(generalTolerance2768(characteristic, toleranceClass, size)).toBeUndefined();
  });
});

describe('roughness grades (ISO 1302:1978, read in an open table)', () => {
  test.each([
    [1, 0.025],
    [2, 0.05],
    [3, 0.1],
    [4, 0.2],
    [5, 0.4],
    [6, 0.8],
    [7, 1.6],
    [8, 3.2],
    [9, 6.3],
    [10, 12.5],
    [11, 25],
    [12, 50],
    [13, undefined],
    [0, undefined],
  ])('N%s', (grade, raUm) => {
    expect(roughnessGradeRaUm(grade)).toBe(raUm);
  });
});
