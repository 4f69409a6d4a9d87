import { chiSquaredQuantile, chiSquaredUpperTail } from '../numeric/chi-squared.js';
import { noncentralQuantile } from '../numeric/noncentral-t.js';
import {
  normalBetween,
  normalPdf,
  normalQuantile,
  normalUpperQuantile,
} from '../numeric/normal.js';
import { integrate } from '../numeric/quadrature.js';
import { brentRoot } from '../numeric/roots.js';

/** What a statistical tolerance interval promises. */
export interface ToleranceIntervalOptions {
  /** Sample size, 2 or more. */
  readonly count: number;
  /** Share of the population to be covered, between 0 and 1. */
  readonly coverage: number;
  /** Confidence that it is covered, between 0 and 1. */
  readonly confidence: number;
}

const isShare = (value: number): boolean => value > 0 && value < 1;

const isGood = ({ count, coverage, confidence }: ToleranceIntervalOptions): boolean =>
  Number.isInteger(count) && count >= 2 && isShare(coverage) && isShare(confidence);

/** Half-width r of the interval about `centre` that holds `coverage` of a standard normal. */
function halfWidthAbout(centre: number, coverage: number): number {
  const miss = (r: number): number => normalBetween(centre - r, centre + r) - coverage;
  // at 0 the interval is shortest; |centre| further off it cannot need more than this
  const shortest = normalUpperQuantile(0.5 * (1 - coverage));
  return brentRoot(miss, 0, Math.abs(centre) + shortest + 1e-9, 1e-14);
}

/**
 * Factor k of the two-sided normal tolerance interval mean ± k s, exact by quadrature over the
 * sample mean (ISO 16269-6:2014, clause 6 and annex; Odeh & Owen 1980). Relative accuracy 1e-9.
 * NaN for options out of range.
 *
 * @example
 * twoSidedToleranceFactor({ count: 10, coverage: 0.95, confidence: 0.95 }) // -> ~3.393429
 */
export function twoSidedToleranceFactor(options: ToleranceIntervalOptions): number {
  if (!isGood(options)) return Number.NaN;
  const { count, coverage, confidence } = options;
  const degrees = count - 1;
  const root = Math.sqrt(count);
  // the half-width does not depend on k: one table for all steps of the root search
  const widths = new Map<number, number>();
  const widthAt = (u: number): number => {
    let width = widths.get(u);
    if (width === undefined) {
      width = halfWidthAbout(u / root, coverage);
      widths.set(u, width);
    }
    return width;
  };
  const reached = (k: number): number =>
    2 *
    integrate(
      (u) => normalPdf(u) * chiSquaredUpperTail(degrees * (widthAt(u) / k) ** 2, degrees),
      0,
      8.5,
      [1, 2, 4],
      1e-11,
    ).value;
  const guess = howeToleranceFactor(options);
  return brentRoot((k) => reached(k) - confidence, 0.5 * guess, 2 * guess, 1e-11 * guess);
}

/**
 * The same factor by W. G. Howe's approximation, J. Amer. Statist. Assoc. 64 (1969) 610: within
 * about 1 % for 5 or more values.
 *
 * @example
 * howeToleranceFactor({ count: 10, coverage: 0.95, confidence: 0.95 }) // -> ~3.381913
 */
export function howeToleranceFactor(options: ToleranceIntervalOptions): number {
  if (!isGood(options)) return Number.NaN;
  const { count, coverage, confidence } = options;
  const z = normalUpperQuantile(0.5 * (1 - coverage));
  const chi2 = chiSquaredQuantile(1 - confidence, count - 1);
  return z * Math.sqrt(((count - 1) * (1 + 1 / count)) / chi2);
}

/**
 * Factor k of the one-sided bound mean + k s (or mean - k s), exact by the noncentral t
 * distribution (ISO 16269-6:2014; Owen 1968).
 *
 * @example
 * oneSidedToleranceFactor({ count: 10, coverage: 0.95, confidence: 0.95 }) // -> ~2.910963
 */
export function oneSidedToleranceFactor(options: ToleranceIntervalOptions): number {
  if (!isGood(options)) return Number.NaN;
  const { count, coverage, confidence } = options;
  const root = Math.sqrt(count);
  return noncentralQuantile(confidence, count - 1, normalQuantile(coverage) * root) / root;
}
