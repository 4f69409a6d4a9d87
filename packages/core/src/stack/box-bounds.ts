import {
  everything,
  exactly,
  isPoint,
  magnitude,
  middleOf,
  multiplyRanges,
  negateRange,
  type Range,
  scaleRange,
  subtractRanges,
} from '../numeric/interval.js';
import { choleskySemidefinite } from '../numeric/linear-algebra.js';
import type { EnclosedFunction } from './tree-function.js';

const smallestShare = 1e-12;

export const signed = (range: Range, sign: 1 | -1): Range =>
  sign === 1 ? range : negateRange(range);

/** The end of the range to which a function of this slope falls, or the range itself. */
export function endBySlope(range: Range, slope: Range): Range {
  if (isPoint(range)) return range;
  if (slope.lower >= 0) return exactly(range.lower);
  if (slope.upper <= 0) return exactly(range.upper);
  return range;
}

/** f(middle) + slopes * (box - middle). */
export function meanValueBound(
  fn: EnclosedFunction,
  sign: 1 | -1,
  box: readonly Range[],
  slopes: readonly Range[],
): number {
  const middle = box.map((range) => exactly(middleOf(range)));
  let bound = signed(fn.enclose(middle).value, sign).lower;
  box.forEach((range, i) => {
    if (isPoint(range)) return;
    bound += multiplyRanges(
      slopes[i] ?? everything,
      subtractRanges(range, middle[i] ?? range),
    ).lower;
  });
  return Number.isNaN(bound) ? Number.NEGATIVE_INFINITY : bound;
}

/** Lowest value over the box of the tangent plane at `at`: a lower bound of a convex function. */
export function tangentBound(
  fn: EnclosedFunction,
  sign: 1 | -1,
  box: readonly Range[],
  at: readonly number[],
): number {
  const enclosure = fn.enclose(at.map(exactly));
  const slopes = enclosure.gradient();
  let bound = signed(enclosure.value, sign).lower;
  box.forEach((range, i) => {
    if (isPoint(range)) return;
    const slope = signed(slopes[i] ?? everything, sign);
    bound += multiplyRanges(slope, subtractRanges(range, exactly(at[i] ?? 0))).lower;
  });
  return Number.isNaN(bound) ? Number.NEGATIVE_INFINITY : bound;
}

/**
 * Is every matrix within the interval Hessian positive definite in the free variables? With middle M
 * and radius R, scaled by the widths of the box: M - (largest row sum of R) I must have a Cholesky
 * factor.
 */
export function isConvex(
  hessian: readonly Range[],
  box: readonly Range[],
  free: readonly number[],
): boolean {
  const width = (i: number) => (box[i]?.upper ?? 0) - (box[i]?.lower ?? 0);
  const scaled = free.map((i) =>
    free.map((j) => scaleRange(hessian[i * box.length + j] ?? everything, width(i) * width(j))),
  );
  const entries = scaled.flat();
  if (entries.some((entry) => !Number.isFinite(magnitude(entry)))) return false;
  const size = entries.reduce((most, entry) => Math.max(most, magnitude(entry)), 0);
  const radius = scaled.reduce((most, row) => {
    const sum = row.reduce((all, entry) => all + (entry.upper - entry.lower) / 2, 0);
    return Math.max(most, sum);
  }, 0);
  // the last term covers the rounding of the factorisation
  const shift = radius + 4 * free.length * 1e-12 * size;
  const middle = scaled.map((row, i) =>
    row.map((entry, j) => middleOf(entry) - (i === j ? shift : 0)),
  );
  return size > 0 && choleskySemidefinite(middle) !== undefined;
}

function replaceRange(box: readonly Range[], index: number, range: Range): readonly Range[] {
  return box.map((old, i) => (i === index ? range : old));
}

export function facesOf(box: readonly Range[], index: number): readonly (readonly Range[])[] {
  const range = box[index] ?? everything;
  return [exactly(range.lower), exactly(range.upper)].map((end) => replaceRange(box, index, end));
}

/**
 * Halves the range over which the function changes most (by slope where known, else the widest as a
 * share of the whole box); none when the box is as small as rounding lets it be.
 */
export function halveBox(
  box: readonly Range[],
  whole: readonly Range[],
  slopes: readonly Range[] | undefined,
): readonly (readonly Range[])[] {
  let index = -1;
  let most = 0;
  box.forEach((range, i) => {
    const width = range.upper - range.lower;
    const all = (whole[i]?.upper ?? 0) - (whole[i]?.lower ?? 0);
    if (isPoint(range) || width <= smallestShare * all) return;
    const slope = slopes === undefined ? 1 / all : magnitude(slopes[i] ?? everything);
    const change = width * Math.min(slope, Number.MAX_VALUE / 4);
    if (change > most) {
      most = change;
      index = i;
    }
  });
  const range = box[index];
  if (range === undefined) return [];
  const middle = middleOf(range);
  if (middle <= range.lower || middle >= range.upper) return [];
  return [
    replaceRange(box, index, { lower: range.lower, upper: middle }),
    replaceRange(box, index, { lower: middle, upper: range.upper }),
  ];
}
