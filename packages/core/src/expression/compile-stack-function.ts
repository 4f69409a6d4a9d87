import { InputError, type Problem } from '../problems/problem.js';
import { type LoopFunction, loopFunction } from '../stack/loop.js';
import type { StackFormula } from '../stack/stack-file.js';
import { type TreeFunction, treeFunction } from '../stack/tree-function.js';
import { compileExpression } from './compile.js';
import { compileLoop } from './compile-loop.js';

/**
 * Turns the formula of a stack file into the function of a stack. Problems stand at `function` or
 * below `loop`; the column of one is the character of its text, counted from 1.
 *
 * @example
 * compileStackFunction({ kind: 'expression', text: 'B - A' }).function.variables // -> ["B","A"]
 */
export function compileStackFunction(
  formula: StackFormula,
):
  | { readonly ok: true; readonly function: TreeFunction | LoopFunction }
  | { readonly ok: false; readonly problems: readonly Problem[] } {
  if (formula.kind === 'expression') {
    const { text } = formula;
    const compiled = compileExpression(text, 'function');
    return compiled.ok
      ? { ok: true, function: treeFunction(compiled.tree, { text }) }
      : { ok: false, problems: compiled.problems };
  }
  const compiled = compileLoop(formula.loop, 'loop');
  if (!compiled.ok) return compiled;
  try {
    return { ok: true, function: loopFunction(compiled.system) };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    const problems = error.problems.map((problem) => ({ ...problem, place: { path: 'loop' } }));
    return { ok: false, problems };
  }
}
