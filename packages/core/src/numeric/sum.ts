/**
 * Compensated sum of any magnitudes (Neumaier, Z. angew. Math. Mech. 54 (1974) 39, doi
 * 10.1002/zamm.19740540106): the error does not grow with the number of terms.
 */
export function compensatedSum(values: Iterable<number>): number {
  let sum = 0;
  let lost = 0;
  for (const value of values) {
    const next = sum + value;
    lost += Math.abs(sum) >= Math.abs(value) ? sum - next + value : value - next + sum;
    sum = next;
  }
  return sum + lost;
}

/** An unevaluated sum hi + lo of two doubles: about 32 significant digits. */
export interface DoubleDouble {
  readonly hi: number;
  readonly lo: number;
}

/** a + b without error (Knuth's two-sum). */
export function twoSum(a: number, b: number): DoubleDouble {
  const hi = a + b;
  const back = hi - a;
  return { hi, lo: a - (hi - back) + (b - back) };
}

/** a * b without error (Veltkamp split, Dekker 1971); |a|, |b| below 1e300. */
export function twoProduct(a: number, b: number): DoubleDouble {
  const hi = a * b;
  const splitA = 134217729 * a;
  const highA = splitA - (splitA - a);
  const lowA = a - highA;
  const splitB = 134217729 * b;
  const highB = splitB - (splitB - b);
  const lowB = b - highB;
  return { hi, lo: lowA * lowB - (hi - highA * highB - lowA * highB - highA * lowB) };
}

/** Adds a double-double to another. */
export function addDoubleDouble(a: DoubleDouble, b: DoubleDouble): DoubleDouble {
  const high = twoSum(a.hi, b.hi);
  const low = high.lo + a.lo + b.lo;
  return twoSum(high.hi, low);
}
