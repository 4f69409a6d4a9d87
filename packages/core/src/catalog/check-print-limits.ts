import type { Problem } from '../problems/problem.js';
import { type Catalog, rowKey, rowPlace } from './catalog.js';
import type { PrintLimitsRow } from './generated/print-limits.js';

/** Rows of print-limits without the pair of limits that their check compares with. */
export function checkPrintLimits(catalog: Catalog): Problem[] {
  return catalog.printLimits.flatMap((row) => {
    const [unit, firm, wanted] = pairOf(row);
    return [
      { column: `firm_${unit}`, value: firm },
      { column: `wanted_${unit}`, value: wanted },
    ]
      .filter(({ value }) => value === undefined)
      .map(({ column }) => ({
        code: 'missing-field' as const,
        place: rowPlace(catalog, 'print-limits', { ...row }, column),
        message: `${rowKey('print-limits', { ...row })}: ${column} is missing`,
        accept: `firm_${unit} and wanted_${unit}`,
      }));
  });
}

/** The pair of limits in the unit of the row's check. */
export function pairOf(
  row: PrintLimitsRow,
): readonly [unit: 'mm' | 'deg' | 'ratio', firm: number | undefined, wanted: number | undefined] {
  switch (row.check) {
    case 'overhang':
      return ['deg', row.firmDeg, row.wantedDeg];
    case 'channel-length':
    case 'slenderness':
    case 'free-standing':
      return ['ratio', row.firmRatio, row.wantedRatio];
    default:
      return ['mm', row.firmMm, row.wantedMm];
  }
}
