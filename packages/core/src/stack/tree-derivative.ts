import { runProgram, type Step, slotCount, type TreeProgram, wholePower } from './tree-program.js';

/** First and second partial derivatives of one step with respect to its operands. */
export interface StepPartials {
  readonly byLeft: number;
  readonly byRight: number;
  readonly byLeftLeft: number;
  readonly byLeftRight: number;
  readonly byRightRight: number;
}

const linear = (byLeft: number, byRight: number): StepPartials => ({
  byLeft,
  byRight,
  byLeftLeft: 0,
  byLeftRight: 0,
  byRightRight: 0,
});

const ofOne = (byLeft: number, byLeftLeft: number): StepPartials => ({
  byLeft,
  byRight: 0,
  byLeftLeft,
  byLeftRight: 0,
  byRightRight: 0,
});

/**
 * Partials of a step at operands `a`, `b` with result `r`. At the kink of abs, min and max the
 * derivative of one side is taken.
 */
export function stepPartials(step: Step, a: number, b: number, r: number): StepPartials {
  switch (step.operation) {
    case 'add':
      return linear(1, 1);
    case 'subtract':
      return linear(1, -1);
    case 'negate':
      return linear(-1, 0);
    case 'multiply':
      return { byLeft: b, byRight: a, byLeftLeft: 0, byLeftRight: 1, byRightRight: 0 };
    case 'divide':
      return {
        byLeft: 1 / b,
        byRight: -r / b,
        byLeftLeft: 0,
        byLeftRight: -1 / (b * b),
        byRightRight: (2 * r) / (b * b),
      };
    case 'whole-power': {
      const n = step.exponent;
      const second = n === 1 ? 0 : n * (n - 1) * wholePower(a, n - 2);
      return ofOne(n * wholePower(a, n - 1), second);
    }
    case 'power':
      return powerPartials(a, b, r);
    case 'sqrt':
      return ofOne(0.5 / r, -0.25 / (r * a));
    case 'abs':
      return ofOne(a < 0 ? -1 : 1, 0);
    case 'sin':
      return ofOne(Math.cos(a), -r);
    case 'cos':
      return ofOne(-Math.sin(a), -r);
    case 'tan':
      return ofOne(1 + r * r, 2 * r * (1 + r * r));
    case 'asin': {
      const inside = 1 - a * a;
      const slope = 1 / Math.sqrt(inside);
      return ofOne(slope, (a * slope) / inside);
    }
    case 'acos': {
      const inside = 1 - a * a;
      const slope = -1 / Math.sqrt(inside);
      return ofOne(slope, (a * slope) / inside);
    }
    case 'atan': {
      const slope = 1 / (1 + a * a);
      return ofOne(slope, -2 * a * slope * slope);
    }
    case 'atan2': {
      const square = a * a + b * b;
      const twist = (2 * a * b) / (square * square);
      return {
        byLeft: b / square,
        byRight: -a / square,
        byLeftLeft: -twist,
        byLeftRight: (a * a - b * b) / (square * square),
        byRightRight: twist,
      };
    }
    case 'exp':
      return ofOne(r, r);
    case 'log':
      return ofOne(1 / a, -1 / (a * a));
    case 'min':
      return a <= b ? linear(1, 0) : linear(0, 1);
    case 'max':
      return a >= b ? linear(1, 0) : linear(0, 1);
  }
}

function powerPartials(a: number, b: number, r: number): StepPartials {
  const log = Math.log(a);
  return {
    byLeft: b * a ** (b - 1),
    byRight: r * log,
    byLeftLeft: b * (b - 1) * a ** (b - 2),
    byLeftRight: a ** (b - 1) * (1 + b * log),
    byRightRight: r * log * log,
  };
}

export const rightOf = (step: Step): number =>
  step.operation === 'whole-power' ? step.left : step.right;

/** Partials of every step at `x`, and the adjoints d result / d slot. */
function sweep(program: TreeProgram, x: ArrayLike<number>) {
  const values = runProgram(program, x);
  const at = (slot: number) => values[slot] ?? Number.NaN;
  const firstStep = program.variables.length + program.constants.length;
  const partials = program.steps.map((step, index) =>
    stepPartials(step, at(step.left), at(rightOf(step)), at(firstStep + index)),
  );
  const adjoints = new Float64Array(slotCount(program));
  adjoints[program.result] = 1;
  for (let index = program.steps.length - 1; index >= 0; index--) {
    const step = program.steps[index];
    const partial = partials[index];
    const adjoint = adjoints[firstStep + index] ?? 0;
    if (step === undefined || partial === undefined || adjoint === 0) continue;
    addTo(adjoints, step.left, adjoint * partial.byLeft);
    addTo(adjoints, rightOf(step), adjoint * partial.byRight);
  }
  return { values, partials, adjoints, firstStep };
}

function addTo(array: Float64Array, index: number, amount: number): void {
  array[index] = (array[index] ?? 0) + amount;
}

/** A tangent of zero cancels a partial that does not exist (log of 0 under a fixed exponent). */
const times = (partial: number, tangent: number): number => (tangent === 0 ? 0 : partial * tangent);

/** Gradient by reverse accumulation; one entry per variable. */
export function programGradient(program: TreeProgram, x: ArrayLike<number>): Float64Array {
  return sweep(program, x).adjoints.slice(0, program.variables.length);
}

/**
 * Hessian, row-major n x n: for every variable a forward sweep of tangents and a reverse sweep of
 * their adjoints (Griewank & Walther, Evaluating Derivatives, 2nd ed. 2008, chapter 5), which keeps
 * memory linear in the length of the program.
 */
export function programHessian(program: TreeProgram, x: ArrayLike<number>): Float64Array {
  const { partials, adjoints, firstStep } = sweep(program, x);
  const n = program.variables.length;
  const hessian = new Float64Array(n * n);
  for (let variable = 0; variable < n; variable++) {
    const tangents = new Float64Array(adjoints.length);
    tangents[variable] = 1;
    program.steps.forEach((step, index) => {
      const partial = partials[index];
      if (partial === undefined) return;
      const left = tangents[step.left] ?? 0;
      const right = tangents[rightOf(step)] ?? 0;
      tangents[firstStep + index] = times(partial.byLeft, left) + times(partial.byRight, right);
    });
    const rates = new Float64Array(adjoints.length);
    for (let index = program.steps.length - 1; index >= 0; index--) {
      const step = program.steps[index];
      const partial = partials[index];
      if (step === undefined || partial === undefined) continue;
      const adjoint = adjoints[firstStep + index] ?? 0;
      const rate = rates[firstStep + index] ?? 0;
      const left = tangents[step.left] ?? 0;
      const right = tangents[rightOf(step)] ?? 0;
      if (rate !== 0) {
        addTo(rates, step.left, rate * partial.byLeft);
        addTo(rates, rightOf(step), rate * partial.byRight);
      }
      if (adjoint !== 0 && (left !== 0 || right !== 0)) {
        const { byLeftLeft, byLeftRight, byRightRight } = partial;
        const toLeft = times(byLeftLeft, left) + times(byLeftRight, right);
        const toRight = times(byLeftRight, left) + times(byRightRight, right);
        addTo(rates, step.left, adjoint * toLeft);
        addTo(rates, rightOf(step), adjoint * toRight);
      }
    }
    for (let other = 0; other < n; other++) hessian[variable * n + other] = rates[other] ?? 0;
  }
  return hessian;
}
