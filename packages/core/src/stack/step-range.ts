import {
  absRange,
  addRanges,
  atan2Range,
  cosRange,
  divideRanges,
  everything,
  isPoint,
  maxRanges,
  minRanges,
  multiplyRanges,
  negateRange,
  overlap,
  type Range,
  risingRange,
  sinRange,
  sqrtRange,
  subtractRanges,
  tanRange,
  wholePowerRange,
} from '../numeric/interval.js';
import type { Step } from './tree-program.js';

/** Whether a function has a value all over a box. `partly` may be overcautious, the others are not. */
export type Defined = 'everywhere' | 'partly' | 'nowhere';

const rank: Readonly<Record<Defined, number>> = { everywhere: 0, partly: 1, nowhere: 2 };

export function worseOf(a: Defined, b: Defined): Defined {
  return rank[a] >= rank[b] ? a : b;
}

/** Is `a` inside [low, high]? */
function within(a: Range, low: number, high: number): Defined {
  if (a.lower >= low && a.upper <= high) return 'everywhere';
  return a.upper < low || a.lower > high ? 'nowhere' : 'partly';
}

/** Does the step have a result for every pair of operands in `a` and `b`? */
export function stepDefined(step: Step, a: Range, b: Range): Defined {
  const infinity = Number.POSITIVE_INFINITY;
  switch (step.operation) {
    case 'sqrt':
      return within(a, 0, infinity);
    case 'log':
      return within(a, Number.MIN_VALUE, infinity);
    case 'asin':
    case 'acos':
      return within(a, -1, 1);
    case 'divide':
      return withoutZero(b);
    case 'whole-power':
      return step.exponent < 0 ? withoutZero(a) : 'everywhere';
    case 'power':
      return within(a, Number.MIN_VALUE, infinity);
    case 'tan':
      return tanRange(a) === everything ? 'partly' : 'everywhere';
    default:
      return 'everywhere';
  }
}

function withoutZero(a: Range): Defined {
  if (a.lower > 0 || a.upper < 0) return 'everywhere';
  return a.lower === 0 && a.upper === 0 ? 'nowhere' : 'partly';
}

export const unit: Range = { lower: -1, upper: 1 };
export const notNegative: Range = { lower: 0, upper: Number.POSITIVE_INFINITY };

/** Range of the step's results for operands in `a` and `b`; of those that exist. */
export function stepRange(step: Step, a: Range, b: Range): Range {
  switch (step.operation) {
    case 'add':
      return addRanges(a, b);
    case 'subtract':
      return subtractRanges(a, b);
    case 'multiply':
      return multiplyRanges(a, b);
    case 'divide':
      return divideRanges(a, b);
    case 'whole-power':
      return wholePowerRange(a, step.exponent);
    case 'power':
      return powerRange(a, b);
    case 'negate':
      return negateRange(a);
    case 'sqrt':
      return sqrtRange(a);
    case 'abs':
      return absRange(a);
    case 'sin':
      return sinRange(a);
    case 'cos':
      return cosRange(a);
    case 'tan':
      return tanRange(a);
    case 'asin':
      return risingRange(overlap(a, unit), Math.asin);
    case 'acos':
      return negateRange(risingRange(overlap(a, unit), (x) => -Math.acos(x)));
    case 'atan':
      return risingRange(a, Math.atan);
    case 'atan2':
      return atan2Range(a, b);
    case 'exp':
      return expRange(a);
    case 'log':
      return logRange(a);
    case 'min':
      return minRanges(a, b);
    case 'max':
      return maxRanges(a, b);
  }
}

function expRange(a: Range): Range {
  const image = risingRange(a, Math.exp);
  return { lower: Math.max(0, image.lower), upper: image.upper };
}

export const logRange = (a: Range): Range => risingRange(overlap(a, notNegative), Math.log);

/** a ^ b for a > 0. A fixed exponent rises or falls with a; else through exp(b log a). */
export function powerRange(a: Range, b: Range): Range {
  const base = overlap(a, notNegative);
  if (!isPoint(b)) return expRange(multiplyRanges(b, logRange(base)));
  const power = (x: number) => x ** b.lower;
  if (b.lower >= 0) return overlap(risingRange(base, power), notNegative);
  return overlap(negateRange(risingRange(base, (x) => -power(x))), notNegative);
}
