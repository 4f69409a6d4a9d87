import {
  addRanges,
  cosRange,
  divideRanges,
  exactly,
  isPoint,
  multiplyRanges,
  negateRange,
  overlap,
  type Range,
  scaleRange,
  sinRange,
  sqrtRange,
  subtractRanges,
  wholePowerRange,
} from '../numeric/interval.js';
import { logRange, notNegative, powerRange, unit } from './step-range.js';
import type { Step } from './tree-program.js';

const notPositive: Range = { lower: Number.NEGATIVE_INFINITY, upper: 0 };
const zero = exactly(0);
const one = exactly(1);

/** Ranges of a step's first and second partial derivatives. */
export interface PartialRanges {
  readonly byLeft: Range;
  readonly byRight: Range;
  readonly byLeftLeft: Range;
  readonly byLeftRight: Range;
  readonly byRightRight: Range;
}

const flat = (byLeft: Range, byRight: Range): PartialRanges => ({
  byLeft,
  byRight,
  byLeftLeft: zero,
  byLeftRight: zero,
  byRightRight: zero,
});

const ofOne = (byLeft: Range, byLeftLeft: Range): PartialRanges => ({
  byLeft,
  byRight: zero,
  byLeftLeft,
  byLeftRight: zero,
  byRightRight: zero,
});

const square = (a: Range): Range => wholePowerRange(a, 2);

/** The formulas of `stepPartials`, over ranges. A kink spreads its slope over both sides. */
export function stepPartialRanges(step: Step, a: Range, b: Range, r: Range): PartialRanges {
  switch (step.operation) {
    case 'add':
      return flat(one, one);
    case 'subtract':
      return flat(one, exactly(-1));
    case 'negate':
      return flat(exactly(-1), zero);
    case 'multiply':
      return { ...flat(b, a), byLeftRight: one };
    case 'divide':
      return {
        byLeft: divideRanges(one, b),
        byRight: negateRange(divideRanges(r, b)),
        byLeftLeft: zero,
        byLeftRight: negateRange(wholePowerRange(b, -2)),
        byRightRight: scaleRange(divideRanges(r, square(b)), 2),
      };
    case 'whole-power': {
      const n = step.exponent;
      const second = n === 1 ? zero : scaleRange(wholePowerRange(a, n - 2), n * (n - 1));
      return ofOne(scaleRange(wholePowerRange(a, n - 1), n), second);
    }
    case 'power':
      return powerPartialRanges(a, b, r);
    case 'sqrt': {
      const slope = divideRanges(exactly(0.5), r);
      return ofOne(slope, divideRanges(exactly(-0.25), multiplyRanges(r, overlap(a, notNegative))));
    }
    case 'abs':
      if (a.lower >= 0) return flat(one, zero);
      if (a.upper <= 0) return flat(exactly(-1), zero);
      return ofOne(unit, notNegative);
    case 'sin':
      return ofOne(cosRange(a), negateRange(r));
    case 'cos':
      return ofOne(negateRange(sinRange(a)), negateRange(r));
    case 'tan': {
      const slope = addRanges(one, square(r));
      return ofOne(slope, scaleRange(multiplyRanges(r, slope), 2));
    }
    case 'asin':
    case 'acos': {
      const inside = overlap(a, unit);
      const rest = overlap(subtractRanges(one, square(inside)), notNegative);
      const slope = divideRanges(one, sqrtRange(rest));
      const second = divideRanges(multiplyRanges(inside, slope), rest);
      return step.operation === 'asin'
        ? ofOne(slope, second)
        : ofOne(negateRange(slope), negateRange(second));
    }
    case 'atan': {
      const slope = divideRanges(one, addRanges(one, square(a)));
      return ofOne(slope, scaleRange(multiplyRanges(a, square(slope)), -2));
    }
    case 'atan2': {
      const radius = addRanges(square(a), square(b));
      const twist = divideRanges(scaleRange(multiplyRanges(a, b), 2), square(radius));
      return {
        byLeft: divideRanges(b, radius),
        byRight: negateRange(divideRanges(a, radius)),
        byLeftLeft: negateRange(twist),
        byLeftRight: divideRanges(subtractRanges(square(a), square(b)), square(radius)),
        byRightRight: twist,
      };
    }
    case 'exp':
      return ofOne(r, r);
    case 'log': {
      const inverse = divideRanges(one, overlap(a, notNegative));
      return ofOne(inverse, negateRange(square(inverse)));
    }
    case 'min':
    case 'max':
      return pickPartialRanges(step.operation === 'min', a, b);
  }
}

function pickPartialRanges(least: boolean, a: Range, b: Range): PartialRanges {
  const leftOnly = least ? a.upper <= b.lower : a.lower >= b.upper;
  const rightOnly = least ? b.upper <= a.lower : b.lower >= a.upper;
  if (leftOnly) return flat(one, zero);
  if (rightOnly) return flat(zero, one);
  const either: Range = { lower: 0, upper: 1 };
  const [own, cross] = least ? [notPositive, notNegative] : [notNegative, notPositive];
  return {
    byLeft: either,
    byRight: either,
    byLeftLeft: own,
    byLeftRight: cross,
    byRightRight: own,
  };
}

function powerPartialRanges(a: Range, b: Range, r: Range): PartialRanges {
  const lowered = (by: number) =>
    powerRange(a, isPoint(b) ? exactly(b.lower - by) : subtractRanges(b, exactly(by)));
  const bLess = subtractRanges(b, one);
  const byLeft = multiplyRanges(b, lowered(1));
  const byLeftLeft = multiplyRanges(multiplyRanges(b, bLess), lowered(2));
  if (isPoint(b)) return ofOne(byLeft, byLeftLeft);
  const log = logRange(a);
  return {
    byLeft,
    byRight: multiplyRanges(r, log),
    byLeftLeft,
    byLeftRight: multiplyRanges(lowered(1), addRanges(one, multiplyRanges(b, log))),
    byRightRight: multiplyRanges(r, square(log)),
  };
}
