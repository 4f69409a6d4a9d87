import { InputError, type Problem } from '../problems/problem.js';
import { type FunctionTree, treeVariables } from '../stack/function-tree.js';
import { compileTree, evaluateProgram, exponentLimit } from '../stack/tree-program.js';
import { type ParsedPower, parseTokens } from './parse.js';
import { scanExpression } from './scan.js';

export type CompiledExpression =
  | {
      readonly ok: true;
      readonly tree: FunctionTree;
      /** Variables in the order in which they first occur. */
      readonly names: readonly string[];
      readonly text: string;
    }
  | { readonly ok: false; readonly problems: readonly Problem[] };

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
  const { tokens, problems } = scanExpression(text, path);
  if (problems.length > 0) return { ok: false, problems };
  const place = (column: number) => ({ column, ...(path === undefined ? {} : { path }) });
  const { tree, powers } = parseTokens(tokens);
  const tooLarge = powers.flatMap((power): Problem[] => {
    const value = excessExponent(power);
    return value === undefined
      ? []
      : [
          {
            code: 'bad-expression',
            place: place(power.column),
            message: 'the exponent is too large',
            value: String(value),
            accept: `-${exponentLimit} to ${exponentLimit}`,
          },
        ];
  });
  if (tooLarge.length > 0) return { ok: false, problems: tooLarge };
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

/** Value of a fixed exponent beyond the limit; one that varies is not known here. */
function excessExponent({ exponent }: ParsedPower): number | undefined {
  if (treeVariables(exponent).length > 0) return undefined;
  try {
    const value = evaluateProgram(compileTree(exponent, []), []);
    return Math.abs(value) <= exponentLimit ? undefined : value;
  } catch (error) {
    // something within the exponent is wrong, and reported there
    if (error instanceof InputError) return undefined;
    throw error;
  }
}
