import { type FunctionTree, postOrder } from './function-tree.js';

/** A function that is a sum of multiples of its variables and a constant. */
export interface LinearFunction {
  readonly coefficients: ReadonlyMap<string, number>;
  readonly constant: number;
}

/**
 * The tree as a linear function, when it is one by its form: sums, signs, and products and quotients
 * with constants. Undefined for any other tree.
 *
 * @example
 * linearFunction(compileExpression('(a - b) / 2 + 1').tree).constant // -> 1
 */
export function linearFunction(tree: FunctionTree): LinearFunction | undefined {
  const forms = new Map<FunctionTree, LinearFunction>();
  for (const node of postOrder(tree)) {
    const form = formOf(node, forms);
    if (form === undefined) return undefined;
    forms.set(node, form);
  }
  return forms.get(tree);
}

const fixed = (constant: number): LinearFunction => ({ coefficients: new Map(), constant });

function formOf(
  node: FunctionTree,
  forms: ReadonlyMap<FunctionTree, LinearFunction>,
): LinearFunction | undefined {
  if (node.kind === 'number') return fixed(node.value);
  if (node.kind === 'variable') return { coefficients: new Map([[node.name, 1]]), constant: 0 };
  const [left, right] = node.operands.map((operand) => forms.get(operand));
  if (left === undefined) return undefined;
  if (node.operation === 'negate') return scaled(left, -1);
  if (right === undefined) return undefined;
  switch (node.operation) {
    case 'add':
      return added(left, right, 1);
    case 'subtract':
      return added(left, right, -1);
    case 'multiply':
      if (right.coefficients.size === 0) return scaled(left, right.constant);
      return left.coefficients.size === 0 ? scaled(right, left.constant) : undefined;
    case 'divide':
      return right.coefficients.size === 0 && right.constant !== 0
        ? scaled(left, 1 / right.constant)
        : undefined;
    default:
      return undefined;
  }
}

function scaled({ coefficients, constant }: LinearFunction, factor: number): LinearFunction {
  return {
    coefficients: new Map([...coefficients].map(([name, value]) => [name, factor * value])),
    constant: factor * constant,
  };
}

function added(left: LinearFunction, right: LinearFunction, sign: 1 | -1): LinearFunction {
  const coefficients = new Map(left.coefficients);
  for (const [name, value] of right.coefficients)
    coefficients.set(name, (coefficients.get(name) ?? 0) + sign * value);
  return { coefficients, constant: left.constant + sign * right.constant };
}
