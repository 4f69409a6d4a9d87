import {
  absRange,
  addRanges,
  atan2Range,
  cosRange,
  divideRanges,
  everything,
  exactly,
  isPoint,
  magnitude,
  maxRanges,
  minRanges,
  multiplyRanges,
  negateRange,
  overlap,
  type Range,
  risingRange,
  scaleRange,
  sinRange,
  sqrtRange,
  subtractRanges,
  tanRange,
  wholePowerRange,
} from '../numeric/interval.js';
import { rightOf } from './tree-derivative.js';
import type { Step, TreeProgram } from './tree-program.js';

/** Whether a function has a value all over a box. `partly` may be overcautious, the others are not. */
export type Defined = 'everywhere' | 'partly' | 'nowhere';

/** What is known of a function over a box: ranges that hold every value it takes there. */
export interface Enclosure {
  readonly value: Range;
  readonly defined: Defined;
  readonly gradient: () => readonly Range[];
  /** Row-major n x n. */
  readonly hessian: () => readonly Range[];
}

/** Encloses the values and, on request, the first and second derivatives of a program over a box. */
export function encloseProgram(program: TreeProgram, box: readonly Range[]): Enclosure {
  const slots: Range[] = [...box, ...program.constants.map(exactly)];
  const firstStep = slots.length;
  let defined: Defined = 'everywhere';
  for (const step of program.steps) {
    const a = slots[step.left] ?? everything;
    const b = slots[rightOf(step)] ?? everything;
    defined = worseOf(defined, stepDefined(step, a, b));
    const range = stepRange(step, a, b);
    // what may overflow may end as infinity less infinity
    if (!Number.isFinite(magnitude(range))) defined = worseOf(defined, 'partly');
    slots.push(range);
  }
  const value = slots[program.result] ?? everything;
  let swept: Sweep | undefined;
  const sweep = (): Sweep => {
    swept ??= sweepAdjoints(program, slots, firstStep);
    return swept;
  };
  return {
    value,
    defined,
    gradient: () => sweep().adjoints.slice(0, program.variables.length),
    hessian: () => hessianRanges(program, sweep(), firstStep),
  };
}

const rank: Readonly<Record<Defined, number>> = { everywhere: 0, partly: 1, nowhere: 2 };

export function worseOf(a: Defined, b: Defined): Defined {
  return rank[a] >= rank[b] ? a : b;
}

/** Is `a` inside [low, high]? */
function within(a: Range, low: number, high: number): Defined {
  if (a.lower >= low && a.upper <= high) return 'everywhere';
  return a.upper < low || a.lower > high ? 'nowhere' : 'partly';
}

function stepDefined(step: Step, a: Range, b: Range): Defined {
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

const unit: Range = { lower: -1, upper: 1 };
const notNegative: Range = { lower: 0, upper: Number.POSITIVE_INFINITY };
const notPositive: Range = { lower: Number.NEGATIVE_INFINITY, upper: 0 };
const zero = exactly(0);
const one = exactly(1);

function stepRange(step: Step, a: Range, b: Range): Range {
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

const logRange = (a: Range): Range => risingRange(overlap(a, notNegative), Math.log);

/** a ^ b for a > 0. A fixed exponent rises or falls with a; else through exp(b log a). */
function powerRange(a: Range, b: Range): Range {
  const base = overlap(a, notNegative);
  if (!isPoint(b)) return expRange(multiplyRanges(b, logRange(base)));
  const power = (x: number) => x ** b.lower;
  if (b.lower >= 0) return overlap(risingRange(base, power), notNegative);
  return overlap(negateRange(risingRange(base, (x) => -power(x))), notNegative);
}

interface PartialRanges {
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
function stepPartialRanges(step: Step, a: Range, b: Range, r: Range): PartialRanges {
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

interface Sweep {
  readonly partials: readonly PartialRanges[];
  readonly adjoints: readonly Range[];
}

function addTo(array: Range[], index: number, amount: Range): void {
  array[index] = addRanges(array[index] ?? zero, amount);
}

function sweepAdjoints(program: TreeProgram, slots: readonly Range[], firstStep: number): Sweep {
  const partials = program.steps.map((step, index) =>
    stepPartialRanges(
      step,
      slots[step.left] ?? everything,
      slots[rightOf(step)] ?? everything,
      slots[firstStep + index] ?? everything,
    ),
  );
  const adjoints: Range[] = slots.map(() => zero);
  adjoints[program.result] = one;
  for (let index = program.steps.length - 1; index >= 0; index--) {
    const step = program.steps[index];
    const partial = partials[index];
    const adjoint = adjoints[firstStep + index];
    if (step === undefined || partial === undefined || adjoint === undefined) continue;
    addTo(adjoints, step.left, multiplyRanges(adjoint, partial.byLeft));
    addTo(adjoints, rightOf(step), multiplyRanges(adjoint, partial.byRight));
  }
  return { partials, adjoints };
}

function hessianRanges(program: TreeProgram, sweep: Sweep, firstStep: number): readonly Range[] {
  const { partials, adjoints } = sweep;
  const n = program.variables.length;
  const hessian: Range[] = new Array<Range>(n * n).fill(zero);
  for (let variable = 0; variable < n; variable++) {
    const tangents: Range[] = adjoints.map(() => zero);
    tangents[variable] = one;
    program.steps.forEach((step, index) => {
      const partial = partials[index];
      if (partial === undefined) return;
      tangents[firstStep + index] = addRanges(
        multiplyRanges(partial.byLeft, tangents[step.left] ?? zero),
        multiplyRanges(partial.byRight, tangents[rightOf(step)] ?? zero),
      );
    });
    const rates: Range[] = adjoints.map(() => zero);
    for (let index = program.steps.length - 1; index >= 0; index--) {
      const step = program.steps[index];
      const partial = partials[index];
      if (step === undefined || partial === undefined) continue;
      const adjoint = adjoints[firstStep + index] ?? zero;
      const rate = rates[firstStep + index] ?? zero;
      const left = tangents[step.left] ?? zero;
      const right = tangents[rightOf(step)] ?? zero;
      const toLeft = addRanges(
        multiplyRanges(partial.byLeftLeft, left),
        multiplyRanges(partial.byLeftRight, right),
      );
      const toRight = addRanges(
        multiplyRanges(partial.byLeftRight, left),
        multiplyRanges(partial.byRightRight, right),
      );
      addTo(
        rates,
        step.left,
        addRanges(multiplyRanges(rate, partial.byLeft), multiplyRanges(adjoint, toLeft)),
      );
      addTo(
        rates,
        rightOf(step),
        addRanges(multiplyRanges(rate, partial.byRight), multiplyRanges(adjoint, toRight)),
      );
    }
    for (let other = 0; other < n; other++) {
      const entry = rates[other] ?? zero;
      // both triangles enclose the same number: keep the tighter end of each
      const mirror = hessian[other * n + variable];
      const best = other < variable && mirror !== undefined ? overlap(entry, mirror) : entry;
      hessian[variable * n + other] = best;
      hessian[other * n + variable] = best;
    }
  }
  return hessian;
}
