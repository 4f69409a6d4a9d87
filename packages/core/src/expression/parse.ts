import {
  applyTree,
  constantTree,
  type FunctionTree,
  variableTree,
} from '../stack/function-tree.js';
import { constantNames, functionNames } from './limits.js';
import type { Token } from './scan.js';

/** A power in the text, for the check of its exponent. */
export interface ParsedPower {
  /** Column of the `^`, counts from 1. */
  readonly column: number;
  readonly exponent: FunctionTree;
}

const sums: ReadonlyMap<string, 'add' | 'subtract'> = new Map([
  ['+', 'add'],
  ['-', 'subtract'],
]);
const products: ReadonlyMap<string, 'multiply' | 'divide'> = new Map([
  ['*', 'multiply'],
  ['/', 'divide'],
]);

/**
 * Builds the tree of tokens that `scanExpression` has found in order: sums of products of signed
 * powers, by recursive descent. Sums and products group from the left, powers from the right; a sign
 * binds weaker than the power behind it and stronger than the product before it.
 */
export function parseTokens(tokens: readonly Token[]): {
  readonly tree: FunctionTree;
  readonly powers: readonly ParsedPower[];
} {
  const powers: ParsedPower[] = [];
  let position = 0;

  const fromTheLeft = <T extends 'add' | 'subtract' | 'multiply' | 'divide'>(
    operations: ReadonlyMap<string, T>,
    operand: () => FunctionTree,
  ): FunctionTree => {
    let left = operand();
    for (;;) {
      const operation = operations.get(tokens[position]?.text ?? '');
      if (operation === undefined) return left;
      position++;
      left = applyTree(operation, left, operand());
    }
  };
  const sum = (): FunctionTree => fromTheLeft(sums, product);
  const product = (): FunctionTree => fromTheLeft(products, signed);

  const signed = (): FunctionTree => {
    const sign = tokens[position]?.text;
    if (sign !== '-' && sign !== '+') return power();
    position++;
    const operand = signed();
    return sign === '-' ? applyTree('negate', operand) : operand;
  };

  const power = (): FunctionTree => {
    const base = primary();
    const token = tokens[position];
    if (token?.text !== '^') return base;
    position++;
    const exponent = signed();
    powers.push({ column: token.column, exponent });
    return applyTree('power', base, exponent);
  };

  const primary = (): FunctionTree => {
    const token = tokens[position++];
    if (token?.kind === 'number') return constantTree(Number(token.text));
    if (token?.kind === 'name' && tokens[position]?.kind !== 'open') {
      const value = constantNames.get(token.text);
      return value === undefined ? variableTree(token.text) : constantTree(value);
    }
    if (token?.kind === 'name') position++;
    const operands = [sum()];
    while (tokens[position]?.kind === 'comma') {
      position++;
      operands.push(sum());
    }
    // the closing parenthesis
    position++;
    const [only] = operands;
    return token?.kind === 'open' && only !== undefined ? only : call(token?.text ?? '', operands);
  };

  return { tree: sum(), powers };
}

function call(name: string, operands: readonly FunctionTree[]): FunctionTree {
  const operation = functionNames.get(name)?.operation;
  if (operation === undefined) throw new RangeError(`no function ${name}`);
  if (operation === 'hypot') {
    const squares = operands.map((operand) => applyTree('power', operand, constantTree(2)));
    return applyTree(
      'sqrt',
      squares.reduce((whole, next) => applyTree('add', whole, next)),
    );
  }
  // min and max of many become pairs
  return operands.length > 2
    ? operands.reduce((whole, next) => applyTree(operation, whole, next))
    : applyTree(operation, ...operands);
}
