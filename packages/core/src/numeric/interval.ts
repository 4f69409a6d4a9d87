/** A closed interval; either end may be infinite. Results are rounded outward. */
export interface Range {
  readonly lower: number;
  readonly upper: number;
}

/** Interval that says nothing. */
export const everything: Range = {
  lower: Number.NEGATIVE_INFINITY,
  upper: Number.POSITIVE_INFINITY,
};

// One rounding of + - * / sqrt is within half of 2^-52; library functions within a few.
const oneRounding = 2 ** -52;
const libraryError = 2 ** -50;
const tiny = 2 ** -1060;

/** The interval widened by `relative` of its ends; NaN ends (0 * infinity and the like) open up. */
function widen(lower: number, upper: number, relative: number): Range {
  const below = lower - Math.abs(lower) * relative - tiny;
  const above = upper + Math.abs(upper) * relative + tiny;
  return {
    lower: Number.isNaN(below) ? Number.NEGATIVE_INFINITY : below,
    upper: Number.isNaN(above) ? Number.POSITIVE_INFINITY : above,
  };
}

export function exactly(value: number): Range {
  return Number.isNaN(value) ? everything : { lower: value, upper: value };
}

export function isPoint(a: Range): boolean {
  return a.lower === a.upper;
}

export function middleOf(a: Range): number {
  if (a.lower === Number.NEGATIVE_INFINITY) return Math.min(0, a.upper);
  if (a.upper === Number.POSITIVE_INFINITY) return Math.max(0, a.lower);
  return a.lower + (a.upper - a.lower) / 2;
}

export function magnitude(a: Range): number {
  return Math.max(Math.abs(a.lower), Math.abs(a.upper));
}

export function hull(a: Range, b: Range): Range {
  return { lower: Math.min(a.lower, b.lower), upper: Math.max(a.upper, b.upper) };
}

/** Overlap of two intervals that are known to share a point; rounding may not part them. */
export function overlap(a: Range, b: Range): Range {
  const lower = Math.max(a.lower, b.lower);
  const upper = Math.min(a.upper, b.upper);
  return lower <= upper ? { lower, upper } : { lower: upper, upper: lower };
}

const isZero = (a: Range): boolean => a.lower === 0 && a.upper === 0;

export function addRanges(a: Range, b: Range): Range {
  if (isZero(a)) return b;
  if (isZero(b)) return a;
  return widen(a.lower + b.lower, a.upper + b.upper, oneRounding);
}

export function subtractRanges(a: Range, b: Range): Range {
  return addRanges(a, negateRange(b));
}

export function negateRange(a: Range): Range {
  return { lower: -a.upper, upper: -a.lower };
}

/** 0 times an infinite end is 0: the infinity stands for a bound that is not known, not a value. */
const product = (a: number, b: number): number => (a === 0 || b === 0 ? 0 : a * b);

export function multiplyRanges(a: Range, b: Range): Range {
  if (isZero(a) || isZero(b)) return { lower: 0, upper: 0 };
  const p = product(a.lower, b.lower);
  const q = product(a.lower, b.upper);
  const r = product(a.upper, b.lower);
  const s = product(a.upper, b.upper);
  return widen(Math.min(p, q, r, s), Math.max(p, q, r, s), oneRounding);
}

export function scaleRange(a: Range, factor: number): Range {
  return multiplyRanges(a, exactly(factor));
}

/** a / b; everything when b holds 0 inside. */
export function divideRanges(a: Range, b: Range): Range {
  if (b.lower <= 0 && b.upper >= 0) {
    if (b.lower === 0 && b.upper > 0) {
      return multiplyRanges(a, {
        lower: (1 / b.upper) * (1 - oneRounding),
        upper: Number.POSITIVE_INFINITY,
      });
    }
    if (b.upper === 0 && b.lower < 0) {
      return multiplyRanges(a, {
        lower: Number.NEGATIVE_INFINITY,
        upper: (1 / b.lower) * (1 - oneRounding),
      });
    }
    return everything;
  }
  const p = a.lower / b.lower;
  const q = a.lower / b.upper;
  const r = a.upper / b.lower;
  const s = a.upper / b.upper;
  return widen(Math.min(p, q, r, s), Math.max(p, q, r, s), oneRounding);
}

/** a to a whole power of any sign. */
export function wholePowerRange(a: Range, exponent: number): Range {
  if (exponent === 0) return exactly(1);
  if (exponent < 0) return divideRanges(exactly(1), wholePowerRange(a, -exponent));
  // one rounding for each multiplication, at most two a bit of the exponent
  const error = (2 * Math.log2(exponent) + 2) * oneRounding;
  const low = a.lower ** exponent;
  const high = a.upper ** exponent;
  if (exponent % 2 === 1) return widen(low, high, error + libraryError);
  const top = widen(0, Math.max(low, high), error + libraryError).upper;
  const bottom =
    a.lower <= 0 && a.upper >= 0 ? 0 : Math.min(low, high) * (1 - error - libraryError);
  return { lower: bottom, upper: top };
}

/** Image of a function that rises over the whole interval. */
export function risingRange(a: Range, f: (x: number) => number): Range {
  return widen(f(a.lower), f(a.upper), libraryError);
}

/** sqrt of the part of `a` that is not negative. */
export function sqrtRange(a: Range): Range {
  const image = widen(
    Math.sqrt(Math.max(0, a.lower)),
    Math.sqrt(Math.max(0, a.upper)),
    oneRounding,
  );
  return { lower: Math.max(0, image.lower), upper: image.upper };
}

export function absRange(a: Range): Range {
  if (a.lower >= 0) return a;
  if (a.upper <= 0) return negateRange(a);
  return { lower: 0, upper: magnitude(a) };
}

const turn = 2 * Math.PI;

/** Does a + k turns lie within the interval for some whole k? Errs on the side of yes. */
function reaches(range: Range, angle: number): boolean {
  const slack = 1e-15 * (1 + magnitude(range));
  const first = Math.ceil((range.lower - angle - slack) / turn);
  return angle + first * turn <= range.upper + slack;
}

export function cosRange(a: Range): Range {
  if (!(a.upper - a.lower < turn) || magnitude(a) > 1e9) return { lower: -1, upper: 1 };
  const atLower = Math.cos(a.lower);
  const atUpper = Math.cos(a.upper);
  const image = widen(Math.min(atLower, atUpper), Math.max(atLower, atUpper), libraryError);
  return {
    lower: reaches(a, Math.PI) ? -1 : Math.max(-1, image.lower),
    upper: reaches(a, 0) ? 1 : Math.min(1, image.upper),
  };
}

export function sinRange(a: Range): Range {
  if (!(a.upper - a.lower < turn) || magnitude(a) > 1e9) return { lower: -1, upper: 1 };
  const atLower = Math.sin(a.lower);
  const atUpper = Math.sin(a.upper);
  const image = widen(Math.min(atLower, atUpper), Math.max(atLower, atUpper), libraryError);
  return {
    lower: reaches(a, -Math.PI / 2) ? -1 : Math.max(-1, image.lower),
    upper: reaches(a, Math.PI / 2) ? 1 : Math.min(1, image.upper),
  };
}

/** tan, or everything when the interval reaches a pole. */
export function tanRange(a: Range): Range {
  if (!(a.upper - a.lower < Math.PI) || magnitude(a) > 1e9) return everything;
  if (reaches(a, Math.PI / 2) || reaches(a, -Math.PI / 2)) return everything;
  return risingRange(a, Math.tan);
}

/** Angle of the box (x, y), y = `a`, x = `b`; the whole turn when it meets the cut x < 0, y = 0. */
export function atan2Range(a: Range, b: Range): Range {
  if (b.lower <= 0 && a.lower <= 0 && a.upper >= 0) return { lower: -Math.PI, upper: Math.PI };
  const corners = [
    Math.atan2(a.lower, b.lower),
    Math.atan2(a.lower, b.upper),
    Math.atan2(a.upper, b.lower),
    Math.atan2(a.upper, b.upper),
  ];
  return widen(Math.min(...corners), Math.max(...corners), libraryError);
}

export function minRanges(a: Range, b: Range): Range {
  return { lower: Math.min(a.lower, b.lower), upper: Math.min(a.upper, b.upper) };
}

export function maxRanges(a: Range, b: Range): Range {
  return { lower: Math.max(a.lower, b.lower), upper: Math.max(a.upper, b.upper) };
}
