import type { Range } from '../numeric/interval.js';
import { type FunctionTree, treeText, treeVariables } from './function-tree.js';
import { programGradient, programHessian } from './tree-derivative.js';
import { type Enclosure, encloseProgram } from './tree-interval.js';
import { compileTree, evaluateProgram, type TreeProgram } from './tree-program.js';
import type { StackFunction } from './types.js';

/** A stack function whose values and derivatives can be enclosed over a box. */
export interface EnclosedFunction extends StackFunction {
  enclose(box: readonly Range[]): Enclosure;
}

/** A stack function that Monte Carlo can sample: a program without iteration, good near `centre`. */
export interface SampledFunction extends StackFunction {
  samplingProgram(centre: readonly number[]): TreeProgram;
}

/** A stack function given by a tree. */
export interface TreeFunction extends EnclosedFunction, SampledFunction {
  readonly kind: 'tree';
  readonly tree: FunctionTree;
  readonly program: TreeProgram;
}

/**
 * Makes a stack function of a tree: value, exact gradient and Hessian (automatic differentiation),
 * and enclosures by interval arithmetic. Angles are radians. `variables` gives the order of x; by
 * default the order in which the names occur. Throws `InputError` for a malformed tree.
 *
 * @example
 * treeFunction(compileExpression('x * y^2').tree).gradient([3, 2])[1] // -> 12
 */
export function treeFunction(
  tree: FunctionTree,
  options: { readonly variables?: readonly string[]; readonly text?: string } = {},
): TreeFunction {
  const variables = options.variables ?? treeVariables(tree);
  const program = compileTree(tree, variables);
  const enclose = (box: readonly Range[]) => encloseProgram(program, box);
  return {
    kind: 'tree',
    tree,
    program,
    variables,
    text: options.text ?? treeText(tree),
    value: (x) => evaluateProgram(program, x),
    gradient: (x) => programGradient(program, x),
    hessian: (x) => programHessian(program, x),
    bounds: (lower, upper) => enclose(boxOf(variables.length, lower, upper)).value,
    enclose,
    samplingProgram: () => program,
  };
}

export function boxOf(
  length: number,
  lower: ArrayLike<number>,
  upper: ArrayLike<number>,
): readonly Range[] {
  return Array.from({ length }, (_, i) => ({
    lower: lower[i] ?? Number.NaN,
    upper: upper[i] ?? Number.NaN,
  }));
}
