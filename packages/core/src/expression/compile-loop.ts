import type { Problem } from '../problems/problem.js';
import { constantTree, type FunctionTree } from '../stack/function-tree.js';
import type { LoopSystem, LoopUnknown } from '../stack/loop-equations.js';
import { compileExpression } from './compile.js';

/** Closed vector loops as people write them: expressions as text, plain numbers as they are. */
export interface LoopText {
  readonly loops: readonly (readonly {
    readonly length: string | number;
    /** Radians from +x; `90 * deg` for degrees. */
    readonly direction: string | number;
  }[])[];
  readonly conditions?: readonly string[];
  readonly unknowns: readonly LoopUnknown[];
  readonly result: string;
}

/**
 * Turns the texts of closed vector loops into trees for `loopFunction`, with every problem of every
 * text. `path` names the field that holds the loops.
 *
 * @example
 * compileLoop({ loops: [[{ length: 'a', direction: 0 }, { length: 'b', direction: 'turn' }]], unknowns: [{ name: 'b', start: 1 }, { name: 'turn', start: 3 }], result: 'b' }).ok // -> true
 */
export function compileLoop(
  text: LoopText,
  path = 'function',
):
  | { readonly ok: true; readonly system: LoopSystem }
  | { readonly ok: false; readonly problems: readonly Problem[] } {
  const problems: Problem[] = [];
  const tree = (part: string | number, at: string): FunctionTree => {
    if (typeof part === 'number') return constantTree(part);
    const compiled = compileExpression(part, `${path}.${at}`);
    if (compiled.ok) return compiled.tree;
    problems.push(...compiled.problems);
    return constantTree(0);
  };
  const loops = text.loops.map((vectors, k) =>
    vectors.map(({ length, direction }, i) => ({
      length: tree(length, `loops[${k}][${i}].length`),
      direction: tree(direction, `loops[${k}][${i}].direction`),
    })),
  );
  const conditions = (text.conditions ?? []).map((part, i) => tree(part, `conditions[${i}]`));
  const system = {
    loops,
    conditions,
    unknowns: text.unknowns,
    result: tree(text.result, 'result'),
  };
  return problems.length > 0 ? { ok: false, problems } : { ok: true, system };
}
