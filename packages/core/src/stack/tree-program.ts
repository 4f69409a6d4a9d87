import { InputError, type Problem } from '../problems/problem.js';
import {
  type FunctionTree,
  operandCounts,
  postOrder,
  type TreeOperation,
  treeProblem,
} from './function-tree.js';

/** Largest size of a constant whole-number exponent; larger ones only overflow. */
export const exponentLimit = 100;

/**
 * One step of a program. `left` and `right` are slot numbers. `whole-power` raises `left` to the
 * fixed `exponent` by repeated multiplication, so that every engine gets the same bits.
 */
export type Step =
  | {
      readonly operation: TreeOperation;
      readonly left: number;
      /** Same as `left` for operations of one operand. */
      readonly right: number;
    }
  | { readonly operation: 'whole-power'; readonly left: number; readonly exponent: number };

/**
 * A tree flattened to a list of steps, equal subtrees only once. Slots hold, in this order, the
 * variables, the constants, and the result of each step. Plain data.
 */
export interface TreeProgram {
  readonly variables: readonly string[];
  readonly constants: readonly number[];
  readonly steps: readonly Step[];
  /** Slot of the result. */
  readonly result: number;
}

/** What a slot is known to be while the program is being built. */
type Known =
  | { readonly kind: 'variable'; readonly index: number }
  | { readonly kind: 'constant'; readonly value: number }
  | { readonly kind: 'step'; readonly index: number };

/**
 * Compiles a tree. Constant parts are computed, equal parts merged, and steps that change nothing
 * (x + 0, x * 1, x ^ 1, --x) dropped. Throws `InputError` for a malformed tree or a variable that
 * `variables` does not name.
 */
export function compileTree(
  tree: FunctionTree,
  variables: readonly string[],
  nodeLimit?: number,
): TreeProgram {
  const builder = programBuilder(variables);
  const found = new Map<FunctionTree, Known>();
  for (const node of postOrder(tree, nodeLimit)) {
    if (node.kind === 'apply') {
      const parts = node.operands.map((operand) => found.get(operand));
      found.set(node, builder.apply(node.operation, parts));
    } else {
      found.set(
        node,
        node.kind === 'number' ? builder.constant(node.value) : builder.variable(node.name),
      );
    }
  }
  const result = found.get(tree);
  if (result === undefined) throw new InputError([treeProblem('wrong-type', 'the tree is empty')]);
  return builder.finish(result);
}

function programBuilder(variables: readonly string[]) {
  const constants: number[] = [];
  const steps: {
    readonly operation: Step['operation'];
    left: Known;
    right: Known;
    exponent: number;
  }[] = [];
  const seen = new Map<string, Known>();

  const constant = (value: number): Known => {
    if (!Number.isFinite(value)) {
      fail('out-of-range', 'a constant part of the function is not a finite number');
    }
    return { kind: 'constant', value };
  };
  const variable = (name: string): Known => {
    const index = variables.indexOf(name);
    if (index < 0) fail('unknown-id', `the function uses "${name}", which is no variable of it`);
    return { kind: 'variable', index };
  };
  const step = (operation: Step['operation'], left: Known, right: Known, exponent = 0): Known => {
    const swap = commutes.has(operation) && keyOf(right) < keyOf(left);
    const [first, second] = swap ? [right, left] : [left, right];
    const key = `${operation} ${keyOf(first)} ${keyOf(second)} ${exponent}`;
    const before = seen.get(key);
    if (before !== undefined) return before;
    const made: Known = { kind: 'step', index: steps.length };
    steps.push({ operation, left: first, right: second, exponent });
    seen.set(key, made);
    return made;
  };
  const apply = (operation: TreeOperation, parts: readonly (Known | undefined)[]): Known => {
    const count: number | undefined = operandCounts[operation];
    if (count === undefined)
      fail('not-one-of', `the function uses the unknown operation "${operation}"`);
    const [left, second] = parts;
    if (left === undefined || parts.length !== count) {
      fail('wrong-type', `the operation "${operation}" takes ${count} operand(s)`);
    }
    const right = second ?? left;
    if (left.kind === 'constant' && right.kind === 'constant') {
      return constant(applyOperation(operation, left.value, right.value));
    }
    if (isNothing(operation, left, right)) return left;
    if (operation === 'add' && isNumber(left, 0)) return right;
    if (operation === 'multiply' && isNumber(left, 1)) return right;
    if (operation === 'negate' && left.kind === 'step') {
      const inner = steps[left.index];
      if (inner?.operation === 'negate') return inner.left;
    }
    if (operation === 'multiply' && keyOf(left) === keyOf(right)) {
      // one square keeps its sign in interval arithmetic, a product of two unrelated factors does not
      return step('whole-power', left, left, 2);
    }
    if (operation === 'power' && right.kind === 'constant') {
      if (right.value === 0.5) return step('sqrt', left, left);
      if (Number.isInteger(right.value)) {
        if (Math.abs(right.value) > exponentLimit) {
          fail('out-of-range', `the exponent ${right.value} is beyond ${exponentLimit}`);
        }
        return right.value === 0 ? constant(1) : step('whole-power', left, left, right.value);
      }
    }
    return step(operation, left, right);
  };
  const finish = (result: Known): TreeProgram => {
    const first = variables.length;
    const constantSlots = new Map<number, number>();
    const needed = neededSteps(steps, result);
    const constantSlot = (value: number) => {
      // -0 and 0 are one key of a Map; keep the first seen, the sign of a zero is not observable here
      const before = constantSlots.get(value);
      if (before !== undefined) return before;
      const slot = first + constants.push(value) - 1;
      constantSlots.set(value, slot);
      return slot;
    };
    for (const known of [result, ...needed.flatMap((index) => operandsOf(steps[index]))]) {
      if (known.kind === 'constant') constantSlot(known.value);
    }
    const stepSlots = new Map(
      needed.map((index, place) => [index, first + constants.length + place] as const),
    );
    const slotOf = (known: Known): number => {
      if (known.kind === 'variable') return known.index;
      if (known.kind === 'constant') return constantSlot(known.value);
      return stepSlots.get(known.index) ?? -1;
    };
    const out: Step[] = [];
    for (const index of needed) {
      const made = steps[index];
      if (made === undefined) continue;
      const left = slotOf(made.left);
      out.push(
        made.operation === 'whole-power'
          ? { operation: 'whole-power', left, exponent: made.exponent }
          : { operation: made.operation, left, right: slotOf(made.right) },
      );
    }
    return { variables: [...variables], constants, steps: out, result: slotOf(result) };
  };
  return { constant, variable, apply, finish };
}

interface BuiltStep {
  readonly left: Known;
  readonly right: Known;
}

const operandsOf = (step: BuiltStep | undefined): readonly Known[] =>
  step === undefined ? [] : [step.left, step.right];

/** Steps that the result depends on, in order: constant folding and `--x` leave some unused. */
function neededSteps(steps: readonly BuiltStep[], result: Known): readonly number[] {
  const needed = new Set<number>();
  if (result.kind === 'step') needed.add(result.index);
  for (let index = steps.length - 1; index >= 0; index--) {
    if (!needed.has(index)) continue;
    for (const known of operandsOf(steps[index])) {
      if (known.kind === 'step') needed.add(known.index);
    }
  }
  return [...needed].sort((a, b) => a - b);
}

const commutes: ReadonlySet<string> = new Set(['add', 'multiply', 'min', 'max']);

const keyOf = (known: Known): string =>
  known.kind === 'constant' ? `c${known.value}` : `${known.kind[0]}${known.index}`;

const isNumber = (known: Known, value: number): boolean =>
  known.kind === 'constant' && known.value === value;

/** Does the operation with this right operand leave the left one as it is? */
function isNothing(operation: TreeOperation, left: Known, right: Known): boolean {
  switch (operation) {
    case 'add':
    case 'subtract':
      return isNumber(right, 0);
    case 'multiply':
    case 'divide':
    case 'power':
      return isNumber(right, 1);
    case 'min':
    case 'max':
      return keyOf(left) === keyOf(right);
    default:
      return false;
  }
}

function fail(code: Problem['code'], message: string): never {
  throw new InputError([treeProblem(code, message)]);
}

/** `base` to a whole power by repeated multiplication. */
export function wholePower(base: number, exponent: number): number {
  let left = Math.abs(exponent);
  let square = base;
  let product = 1;
  for (;;) {
    if (left % 2 === 1) product *= square;
    left = Math.floor(left / 2);
    if (left === 0) break;
    square *= square;
  }
  return exponent < 0 ? 1 / product : product;
}

/** One operation on numbers; NaN outside its domain. */
export function applyOperation(operation: TreeOperation, a: number, b: number): number {
  switch (operation) {
    case 'add':
      return a + b;
    case 'subtract':
      return a - b;
    case 'multiply':
      return a * b;
    case 'divide':
      return a / b;
    case 'power':
      return a ** b;
    case 'negate':
      return -a;
    case 'sqrt':
      return Math.sqrt(a);
    case 'abs':
      return Math.abs(a);
    case 'sin':
      return Math.sin(a);
    case 'cos':
      return Math.cos(a);
    case 'tan':
      return Math.tan(a);
    case 'asin':
      return Math.asin(a);
    case 'acos':
      return Math.acos(a);
    case 'atan':
      return Math.atan(a);
    case 'atan2':
      return Math.atan2(a, b);
    case 'exp':
      return Math.exp(a);
    case 'log':
      return Math.log(a);
    case 'min':
      return Math.min(a, b);
    case 'max':
      return Math.max(a, b);
  }
}

/** Number of slots of a program. */
export function slotCount(program: TreeProgram): number {
  return program.variables.length + program.constants.length + program.steps.length;
}

/** Values of all slots at `x`. */
export function runProgram(program: TreeProgram, x: ArrayLike<number>): Float64Array {
  const values = new Float64Array(slotCount(program));
  let slot = program.variables.length;
  for (let i = 0; i < slot; i++) values[i] = x[i] ?? Number.NaN;
  for (const value of program.constants) values[slot++] = value;
  for (const step of program.steps) {
    const left = values[step.left] ?? Number.NaN;
    values[slot++] =
      step.operation === 'whole-power'
        ? wholePower(left, step.exponent)
        : applyOperation(step.operation, left, values[step.right] ?? Number.NaN);
  }
  return values;
}

/** The function's value at `x`; NaN outside its domain. */
export function evaluateProgram(program: TreeProgram, x: ArrayLike<number>): number {
  return runProgram(program, x)[program.result] ?? Number.NaN;
}
