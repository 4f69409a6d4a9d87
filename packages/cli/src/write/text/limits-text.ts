import {
  type DrawingSize,
  equivalentGrade,
  formatShort,
  formatSize,
  type SizeLimits,
  type Thread,
} from '@offplate/core';
import type { Style } from './style.js';
import { textTable } from './table.js';

const withoutLimits: Partial<Record<SizeLimits['origin'], string>> = {
  untoleranced: 'a size without limits; --general gives it a general tolerance',
  theoretical: 'a theoretically exact size: its feature has a geometric tolerance instead',
  reference: 'a reference size: it is not to be checked',
};

/** Limits of a size for a person: mm, inch and deviations. */
export function limitsText(value: DrawingSize, style: Style): string {
  return value.form === 'size' ? sizeText(value.size, style) : threadText(value.thread, style);
}

/** The same as data, schema `limits/1`: lengths in mm, deviations in um. */
export function limitsDocument(
  value: DrawingSize,
): DrawingSize & { readonly schema: 'limits/1'; readonly equivalentGrade?: number } {
  const grade = value.form === 'size' ? gradeOf(value.size) : undefined;
  return {
    schema: 'limits/1',
    ...value,
    ...(grade === undefined ? {} : { equivalentGrade: grade }),
  };
}

function sizeText(size: SizeLimits, style: Style): string {
  const none = withoutLimits[size.origin];
  const rows = [row('nominal', size.nominalMm)];
  if (none === undefined) {
    if (size.open !== 'above')
      rows.push(row('upper limit', size.upperMm, deviation(size, 'upper')));
    if (size.open !== 'below')
      rows.push(row('lower limit', size.lowerMm, deviation(size, 'lower')));
    if (size.open === undefined) {
      rows.push(row('middle', (size.lowerMm + size.upperMm) / 2));
      rows.push(row('tolerance', size.upperMm - size.lowerMm, '', gradeText(size)));
    }
  }
  const table = textTable(
    [
      { title: [''], align: 'left' },
      { title: ['mm'], align: 'decimal' },
      { title: ['in'], align: 'decimal' },
      { title: ['deviation µm'], align: 'decimal' },
      { title: ['grade'], align: 'decimal' },
    ],
    rows,
    style,
  );
  const general = size.origin === 'general' ? 'limits by the general tolerance' : undefined;
  const remarks = [none, general, ...(size.modifiers ?? []).map((each) => `modifier ${each}`)];
  return lines([
    style.bold(formatSize(size)),
    ...table,
    ...remarks.filter((text) => text !== undefined),
  ]);
}

function row(what: string, mm: number, ...more: readonly string[]): { cells: readonly string[] } {
  return { cells: [what, formatShort(mm, 4), formatShort(mm / 25.4, 5), ...more] };
}

function deviation(size: SizeLimits, which: 'upper' | 'lower'): string {
  if (size.open !== undefined) return '';
  const um = which === 'upper' ? size.upperDeviationUm : size.lowerDeviationUm;
  return `${um > 0 ? '+' : ''}${formatShort(um, 2)}`;
}

function gradeText(size: SizeLimits): string {
  const grade = gradeOf(size);
  return grade === undefined ? '' : `IT${formatShort(grade, 2)}`;
}

/** Equivalent grade; undefined where ISO 286 has none. */
function gradeOf({ open, nominalMm, lowerMm, upperMm }: SizeLimits): number | undefined {
  const toleranceUm = Math.round((upperMm - lowerMm) * 1e9) / 1e6;
  if (open !== undefined || !(toleranceUm > 0) || nominalMm > 3150 || nominalMm <= 0)
    return undefined;
  return equivalentGrade(nominalMm, toleranceUm);
}

function threadText(thread: Thread, style: Style): string {
  const kind = thread.internal ? 'internal (nut)' : 'external (bolt)';
  return lines([
    style.bold(thread.designation),
    ...textTable(
      [
        { title: [''], align: 'left' },
        { title: ['mm'], align: 'decimal' },
      ],
      [
        { cells: ['major diameter', formatShort(thread.majorMm, 4)] },
        { cells: ['pitch', formatShort(thread.pitchMm, 4)] },
      ],
      style,
    ),
    `${kind} thread, class ${thread.toleranceClass}`,
  ]);
}

function lines(texts: readonly string[]): string {
  return `${texts.join('\n')}\n`;
}
