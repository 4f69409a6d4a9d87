import { addDoubleDouble, type DoubleDouble, twoProduct, twoSum } from './sum.js';

/** Location and spread of a sample. */
export interface SampleStatistics {
  readonly count: number;
  readonly mean: number;
  /** Standard deviation with n - 1; 0 for a single value. */
  readonly sd: number;
  readonly minimum: number;
  readonly maximum: number;
  /** Third and fourth standardised central moments with n (not corrected for bias); 0 without spread. */
  readonly skewness: number;
  readonly excessKurtosis: number;
  /** Lag-1 autocorrelation. */
  readonly autocorrelation: number;
}

const zero: DoubleDouble = { hi: 0, lo: 0 };

/** Mean as an unevaluated sum, exact to about 30 digits. */
function preciseMean(values: ArrayLike<number>): DoubleDouble {
  let sum = zero;
  for (let i = 0; i < values.length; i++) sum = addDoubleDouble(sum, { hi: values[i] ?? 0, lo: 0 });
  const hi = sum.hi / values.length;
  const back = twoProduct(hi, values.length);
  const rest = addDoubleDouble(sum, { hi: -back.hi, lo: -back.lo });
  return twoSum(hi, rest.hi / values.length);
}

/**
 * Statistics of a sample in double-double arithmetic: what is lost is only what the doubles
 * themselves do not hold (13 digits or more on the NIST StRD sets that doubles can represent).
 *
 * @example
 * sampleStatistics([10000001, 10000003, 10000002]).sd // -> 1
 */
export function sampleStatistics(values: ArrayLike<number>): SampleStatistics {
  const count = values.length;
  const mean = preciseMean(values);
  let squares = zero;
  let products = zero;
  let third = 0;
  let fourth = 0;
  let minimum = Number.POSITIVE_INFINITY;
  let maximum = Number.NEGATIVE_INFINITY;
  let before = 0;
  for (let i = 0; i < count; i++) {
    const value = values[i] ?? 0;
    minimum = Math.min(minimum, value);
    maximum = Math.max(maximum, value);
    const off = twoSum(value, -mean.hi);
    const deviation = off.hi + (off.lo - mean.lo);
    squares = addDoubleDouble(squares, twoProduct(deviation, deviation));
    if (i > 0) products = addDoubleDouble(products, twoProduct(before, deviation));
    third += deviation ** 3;
    fourth += deviation ** 4;
    before = deviation;
  }
  const square = squares.hi;
  const variance = square / count;
  const flat = !(square > 0);
  return {
    count,
    mean: mean.hi,
    sd: count > 1 ? Math.sqrt(square / (count - 1)) : 0,
    minimum,
    maximum,
    skewness: flat ? 0 : third / count / variance ** 1.5,
    excessKurtosis: flat ? 0 : fourth / count / (variance * variance) - 3,
    autocorrelation: flat ? 0 : products.hi / square,
  };
}
