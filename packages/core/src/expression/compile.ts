import { create, parseDependencies } from 'mathjs/number';
import { InputError, type Problem } from '../problems/problem.js';
import {
  applyTree,
  constantTree,
  type FunctionTree,
  treeVariables,
  variableTree,
} from '../stack/function-tree.js';
import { compileTree, evaluateProgram, exponentLimit } from '../stack/tree-program.js';
import { constantNames, functionNames } from './limits.js';
import { type Call, scanExpression } from './scan.js';

export type CompiledExpression =
  | {
      readonly ok: true;
      readonly tree: FunctionTree;
      /** Variables in the order in which they first occur. */
      readonly names: readonly string[];
      readonly text: string;
    }
  | { readonly ok: false; readonly problems: readonly Problem[] };

/** What the conversion reads of a parsed node. */
interface ParsedNode {
  readonly type: string;
  readonly value?: unknown;
  readonly name?: string;
  readonly op?: string;
  readonly fn?: unknown;
  readonly content?: ParsedNode;
  readonly args?: readonly ParsedNode[];
}

// only the parser: none of the functions that could evaluate
const { parse } = /* @__PURE__ */ create({ ...parseDependencies });

/**
 * Turns the text of a function into a tree; nothing is ever evaluated. Grammar: numbers, names
 * (Latin and Greek letters, digits, `_`), `+ - * / ^`, parentheses, signs, the constants `pi` and
 * `deg` (pi/180, so `cos(60 * deg)` and `acos(x) / deg`), and sqrt abs sin cos tan asin acos atan
 * atan2 exp log min max hypot. Angles are radians, `log` is natural, `-x^2` is `-(x^2)`, `^` groups
 * from the right. Every operator must be written. Limits: 4096 characters, 64 levels of nesting,
 * fixed exponents up to 100. Never throws: anything else comes back as problems with their column.
 *
 * `path` names the field that holds the text, for the problems.
 *
 * @example
 * compileExpression('a - 2 * b').ok // -> true
 */
export function compileExpression(text: string, path?: string): CompiledExpression {
  const { calls, powers, problems } = scanExpression(text, path);
  if (problems.length > 0) return { ok: false, problems };
  const place = (column: number) => ({ column, ...(path === undefined ? {} : { path }) });
  let parsed: ParsedNode;
  try {
    // a line break would start a new expression
    parsed = parse(text.replace(/[\r\n\t]/g, ' '));
  } catch (error) {
    return { ok: false, problems: [{ code: 'bad-expression', ...syntaxError(error, place) }] };
  }
  const found: Problem[] = [];
  const report: Report = (column, message, value, accept) => {
    found.push({ code: 'bad-expression', place: place(column), message, value, accept });
  };
  const tree = convert(parsed, { calls: [...calls], powers: [...powers], report });
  if (found.length > 0) return { ok: false, problems: found };
  try {
    const names = treeVariables(tree);
    compileTree(tree, names);
    return { ok: true, tree, names, text };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {
      ok: false,
      problems: error.problems.map((problem) => ({ ...problem, place: place(1) })),
    };
  }
}

function syntaxError(
  error: unknown,
  place: (column: number) => Problem['place'],
): { readonly place: Problem['place']; readonly message: string } {
  const column = error instanceof Error && 'char' in error ? Number(error.char) : 1;
  const said =
    error instanceof Error ? error.message.replace(/ \(char \d+\)$/, '') : 'not readable';
  return {
    place: place(Number.isFinite(column) ? column : 1),
    message: `${said.charAt(0).toLowerCase()}${said.slice(1)}`,
  };
}

type Report = (column: number, message: string, value: string, accept: string) => void;

const binary: ReadonlyMap<string, 'add' | 'subtract' | 'multiply' | 'divide' | 'power'> = new Map([
  ['+', 'add'],
  ['-', 'subtract'],
  ['*', 'multiply'],
  ['/', 'divide'],
  ['^', 'power'],
]);

/** Places in the text, in the order in which a walk from left to right meets them. */
interface Walk {
  readonly calls: Call[];
  /** Columns of the `^`. */
  readonly powers: number[];
  readonly report: Report;
}

function convert(node: ParsedNode, walk: Walk): FunctionTree {
  const { calls, powers, report } = walk;
  const args = node.args ?? [];
  const [first, second] = args;
  switch (node.type) {
    case 'ConstantNode':
      if (typeof node.value === 'number') return constantTree(node.value);
      break;
    case 'SymbolNode': {
      const name = node.name ?? '';
      const value = constantNames.get(name);
      return value === undefined ? variableTree(name) : constantTree(value);
    }
    case 'ParenthesisNode':
      if (node.content !== undefined) return convert(node.content, walk);
      break;
    case 'OperatorNode': {
      if (first === undefined) break;
      const left = convert(first, walk);
      if (second === undefined) return node.op === '-' ? applyTree('negate', left) : left;
      const operation = binary.get(node.op ?? '');
      if (operation === undefined) break;
      const column = operation === 'power' ? (powers.shift() ?? 1) : 1;
      const right = convert(second, walk);
      if (operation === 'power') checkExponent(right, column, report);
      return applyTree(operation, left, right);
    }
    case 'FunctionNode': {
      const call = calls.shift();
      const known = functionNames.get(call?.name ?? '');
      if (call === undefined || known === undefined) break;
      const operands = args.map((arg) => convert(arg, walk));
      const { operation } = known;
      if (operation === 'hypot') {
        const squares = operands.map((operand) => applyTree('power', operand, constantTree(2)));
        return applyTree(
          'sqrt',
          squares.reduce((sum, next) => applyTree('add', sum, next)),
        );
      }
      // min and max of many become pairs
      return operands.length > 2
        ? operands.reduce((whole, next) => applyTree(operation, whole, next))
        : applyTree(operation, ...operands);
    }
  }
  report(
    calls[0]?.column ?? 1,
    'this construct has no place in an expression',
    node.type,
    'arithmetic',
  );
  return constantTree(0);
}

/** A fixed exponent is bounded; one that varies is not known here. */
function checkExponent(exponent: FunctionTree, column: number, report: Report): void {
  if (treeVariables(exponent).length > 0) return;
  let value: number;
  try {
    value = evaluateProgram(compileTree(exponent, []), []);
  } catch (error) {
    // something within the exponent is wrong, and reported there
    if (error instanceof InputError) return;
    throw error;
  }
  if (Math.abs(value) <= exponentLimit) return;
  report(
    column,
    'the exponent is too large',
    String(value),
    `-${exponentLimit} to ${exponentLimit}`,
  );
}
