import { InputError, type Problem } from '../problems/problem.js';

/** What an inner node of a function tree does. Angles are radians; `log` is the natural logarithm. */
export type TreeOperation =
  | 'add'
  | 'subtract'
  | 'multiply'
  | 'divide'
  | 'power'
  | 'negate'
  | 'sqrt'
  | 'abs'
  | 'sin'
  | 'cos'
  | 'tan'
  | 'asin'
  | 'acos'
  | 'atan'
  | 'atan2'
  | 'exp'
  | 'log'
  | 'min'
  | 'max';

/** A function of named variables as plain data (JSON), so that it can be stored and sent to workers. */
export type FunctionTree =
  | { readonly kind: 'number'; readonly value: number }
  | { readonly kind: 'variable'; readonly name: string }
  | {
      readonly kind: 'apply';
      readonly operation: TreeOperation;
      readonly operands: readonly FunctionTree[];
    };

/** How many operands each operation takes. */
export const operandCounts: Readonly<Record<TreeOperation, 1 | 2>> = {
  add: 2,
  subtract: 2,
  multiply: 2,
  divide: 2,
  power: 2,
  negate: 1,
  sqrt: 1,
  abs: 1,
  sin: 1,
  cos: 1,
  tan: 1,
  asin: 1,
  acos: 1,
  atan: 1,
  atan2: 2,
  exp: 1,
  log: 1,
  min: 2,
  max: 2,
};

/** A tree may hold this many nodes; as many as the longest expression needs. */
export const treeNodeLimit = 5000;

export function constantTree(value: number): FunctionTree {
  return { kind: 'number', value };
}

export function variableTree(name: string): FunctionTree {
  return { kind: 'variable', name };
}

export function applyTree(
  operation: TreeOperation,
  ...operands: readonly FunctionTree[]
): FunctionTree {
  return { kind: 'apply', operation, operands };
}

/**
 * The tree of a linear chain, sum(coefficient * variable) + constant.
 *
 * @example
 * treeText(linearTree([{ name: 'a', coefficient: 1 }, { name: 'b', coefficient: -2 }], 0)) // -> "a - 2 * b"
 */
export function linearTree(
  terms: readonly { readonly name: string; readonly coefficient: number }[],
  constant: number,
): FunctionTree {
  let sum: FunctionTree | undefined;
  for (const { name, coefficient } of terms) {
    if (coefficient === 0) continue;
    const size = Math.abs(coefficient);
    const variable = variableTree(name);
    const term = size === 1 ? variable : applyTree('multiply', constantTree(size), variable);
    if (sum === undefined) sum = coefficient < 0 ? applyTree('negate', term) : term;
    else sum = applyTree(coefficient < 0 ? 'subtract' : 'add', sum, term);
  }
  if (sum === undefined) return constantTree(constant);
  return constant === 0 ? sum : applyTree('add', sum, constantTree(constant));
}

/**
 * Nodes with operands before the operation that uses them, left to right, each node object once. A
 * walk with its own stack, because a long sum is as deep as it has terms.
 */
export function postOrder(
  tree: FunctionTree,
  nodeLimit: number = treeNodeLimit,
): readonly FunctionTree[] {
  const seen = new Set<FunctionTree>();
  const done: FunctionTree[] = [];
  const waiting: { readonly node: FunctionTree; readonly entered: boolean }[] = [
    { node: tree, entered: false },
  ];
  for (let next = waiting.pop(); next !== undefined; next = waiting.pop()) {
    const { node, entered } = next;
    if (entered) {
      done.push(node);
      continue;
    }
    if (seen.has(node)) continue;
    seen.add(node);
    if (seen.size > nodeLimit) {
      throw new InputError([
        treeProblem('too-large', `a function tree holds at most ${nodeLimit} nodes`),
      ]);
    }
    waiting.push({ node, entered: true });
    if (node.kind !== 'apply') continue;
    for (let i = node.operands.length - 1; i >= 0; i--) {
      const operand = node.operands[i];
      if (operand !== undefined) waiting.push({ node: operand, entered: false });
    }
  }
  return done;
}

/** The tree with some variables replaced by trees; equal parts stay shared. */
export function substituteTree(
  tree: FunctionTree,
  replacements: ReadonlyMap<string, FunctionTree>,
  nodeLimit: number = treeNodeLimit,
): FunctionTree {
  const made = new Map<FunctionTree, FunctionTree>();
  for (const node of postOrder(tree, nodeLimit)) {
    if (node.kind === 'variable') made.set(node, replacements.get(node.name) ?? node);
    else if (node.kind === 'number') made.set(node, node);
    else {
      const operands = node.operands.map((operand) => made.get(operand) ?? operand);
      const same = operands.every((operand, i) => operand === node.operands[i]);
      made.set(node, same ? node : applyTree(node.operation, ...operands));
    }
  }
  return made.get(tree) ?? tree;
}

/**
 * Names of the variables in the order in which they first occur in the text of the function.
 *
 * @example
 * treeVariables(compileExpression('b * a - b').tree) // -> ["b","a"]
 */
export function treeVariables(tree: FunctionTree): readonly string[] {
  const names = new Set<string>();
  for (const node of postOrder(tree)) if (node.kind === 'variable') names.add(node.name);
  return [...names];
}

const signs: Partial<Record<TreeOperation, { readonly sign: string; readonly rank: number }>> = {
  add: { sign: ' + ', rank: 1 },
  subtract: { sign: ' - ', rank: 1 },
  multiply: { sign: ' * ', rank: 2 },
  divide: { sign: ' / ', rank: 2 },
  negate: { sign: '-', rank: 3 },
  power: { sign: ' ^ ', rank: 4 },
};

/**
 * The tree as text in the expression grammar, with no more parentheses than it needs.
 *
 * @example
 * treeText(compileExpression('(a) + (b * c)').tree) // -> "a + b * c"
 */
export function treeText(tree: FunctionTree): string {
  const texts = new Map<FunctionTree, { readonly text: string; readonly rank: number }>();
  const of = (node: FunctionTree | undefined) => (node && texts.get(node)) ?? { text: '', rank: 9 };
  const within = (node: FunctionTree | undefined, rank: number) => {
    const part = of(node);
    return part.rank < rank ? `(${part.text})` : part.text;
  };
  for (const node of postOrder(tree)) {
    if (node.kind === 'number') {
      texts.set(node, { text: String(node.value), rank: node.value < 0 ? 3 : 9 });
    } else if (node.kind === 'variable') {
      texts.set(node, { text: node.name, rank: 9 });
    } else {
      const [first, second] = node.operands;
      const written = signs[node.operation];
      if (written === undefined) {
        const list = node.operands.map((operand) => of(operand).text).join(', ');
        texts.set(node, { text: `${node.operation}(${list})`, rank: 9 });
      } else if (node.operation === 'negate') {
        texts.set(node, { text: `-${within(first, 3)}`, rank: 3 });
      } else {
        const { sign, rank } = written;
        const right = node.operation === 'power';
        const text = `${within(first, right ? rank + 1 : rank)}${sign}${within(second, right ? rank - 1 : rank + 1)}`;
        texts.set(node, { text, rank });
      }
    }
  }
  return of(tree).text;
}

export function treeProblem(code: Problem['code'], message: string): Problem {
  return { code, place: { path: 'function' }, message };
}
